"""The trail of a year: its page, one moment of it whole, and the sheet."""

from typing import cast
from urllib.parse import urlencode

from django.http import Http404, HttpResponse, StreamingHttpResponse
from django.urls import reverse
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from teamroom.members.access import YearPlace, year_for
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page
from teamroom.trail.entries import one_moment, page_of
from teamroom.trail.forms import TrailForm, moment_in, place_in, whole_moment_in
from teamroom.trail.reading import Asked
from teamroom.trail.sheet import sheet_of

FILTERS = ("sort", "by", "first", "last")


@require_safe
@signed_in
def trail(request: MemberRequest, year: int) -> HttpResponse:
    """What happened, newest first; `?before=` goes on from a moment."""
    place, form, asked = _asked(request, year)
    before = moment_in(request.GET.get("before", ""))
    page = page_of(asked, before)
    context = {
        "here": "trail",
        "form": form,
        "page": page,
        "query": _filters(request),
        "is_later_page": before is not None,
        "is_filtered": bool(_filters(request)),
    }
    return year_page(request, place, "trail/trail.html", context)


@require_safe
@signed_in
def moment(request: MemberRequest, year: int) -> HttpResponse:
    """Everything that one moment did: what a file brought, record by record."""
    place, _, asked = _asked(request, year)
    found = whole_moment_in(request.GET.get("at", ""), request.GET.get("of", ""))
    shown = found and one_moment(asked, found, place_in(request.GET.get("after", "")))
    if not found or not shown:
        raise Http404
    this = {"at": found.at.isoformat(), "of": str(found.context or "")}
    further = {**this, "after": f"{shown.next[0]}-{shown.next[1]}"} if shown.next else None
    back = reverse("trail", args=[year])
    filters = _filters(request)
    context = {
        "here": "trail",
        "shown": shown,
        "further": "&".join(filter(None, [urlencode(further), filters])) if further else "",
        "back": f"{back}?{filters}" if filters else back,
    }
    return year_page(request, place, "trail/moment.html", context)


@require_safe
@signed_in
def sheet(request: MemberRequest, year: int) -> HttpResponse:
    """What the page shows, all pages of it, as a sheet."""
    place, _, asked = _asked(request, year)
    name = f"trail-{slugify(place.year.school.name)[:60] or 'school'}-{slugify(place.year.name) or 'year'}.csv"
    answer = StreamingHttpResponse(
        sheet_of(asked),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
    # A streamed answer shares the header's ways, and those are all that is asked of it on its way out.
    return cast(HttpResponse, answer)


def _asked(request: MemberRequest, year: int) -> tuple[YearPlace, TrailForm, Asked]:
    place = year_for(request.user, year, "read trail")
    form = TrailForm(request.GET, year=place.year)
    return place, form, form.asked(of_district="district administrator" in place.roles)


def _filters(request: MemberRequest) -> str:
    return urlencode([(name, value) for name in FILTERS if (value := request.GET.get(name, ""))])
