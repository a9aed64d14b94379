"""Beginning a school's next year with what it has of this one."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from teamroom.common.forms import attempt
from teamroom.common.http import UNPROCESSABLE
from teamroom.dates.models import SchoolYear
from teamroom.members.access import year_for
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page
from teamroom.setup.forms.next_year import NextYearForm
from teamroom.setup.next_year import begin_next_year


@require_http_methods(["GET", "HEAD", "POST"])
@signed_in
def next_year(request: MemberRequest, year: int) -> HttpResponse:
    """The new year's name and dates, and what it takes along."""
    place = year_for(request.user, year, "set up year")
    form = NextYearForm(request.POST if request.method == "POST" else None, old=place.year)
    if request.method == "POST":
        new = attempt(form, lambda: _begun(place.year, form))
        if new is not None:
            messages.success(
                request,
                f"{new.name} has begun with what you took along. Its closures and its weeks are new: none came along.",
            )
            return redirect("setup", new.pk)
    context = {"form": form, "here": "setup", "back": reverse("setup", args=[year])}
    return year_page(request, place, "setup/next_year.html", context, status=UNPROCESSABLE if form.errors else 200)


def _begun(old: SchoolYear, form: NextYearForm) -> SchoolYear:
    given = form.cleaned_data
    return begin_next_year(
        old,
        name=given["year_name"],
        first_day=given["first_day"],
        last_day=given["last_day"],
        take=given["take"],
    )
