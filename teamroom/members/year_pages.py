"""Pages of a school year, which all show the way round it."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from teamroom.members.access import YearPlace


def year_page(
    request: HttpRequest,
    place: YearPlace,
    template: str,
    context: Mapping[str, Any] | None = None,
    *,
    status: int = 200,
) -> HttpResponse:
    """A page inside a school year: its template has `place`, `year` and `school` besides its own."""
    around = {"place": place, "year": place.year, "school": place.year.school}
    return render(request, template, {**around, **(context or {})}, status=status)
