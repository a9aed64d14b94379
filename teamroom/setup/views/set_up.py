"""The set-up list of a year, and saying that a school is set up."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST, require_safe

from teamroom.members.access import year_for
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page
from teamroom.setup.services import end_setting_up, set_up_again
from teamroom.setup.steps import lines_of


@require_safe
@signed_in
def setup(request: MemberRequest, year: int) -> HttpResponse:
    """What of the year is there and what is missing, each line with the page that serves it."""
    place = year_for(request.user, year, "set up year")
    lines = lines_of(place.year)
    return year_page(
        request,
        place,
        "setup/list.html",
        {
            "here": "setup",
            "lines": lines,
            "open": sum(line.state in ("next", "to do") for line in lines),
            "done": sum(line.state == "done" for line in lines),
        },
    )


@require_POST
@signed_in
def setup_end(request: MemberRequest, year: int) -> HttpResponse:
    """The school is set up: the list stays, the reminders go."""
    place = year_for(request.user, year, "set up year")
    end_setting_up(place.year)
    messages.success(
        request, f"{place.year.school.name} {place.year.name} is set up. This list stays here, and so do its pages."
    )
    return redirect("setup", year)


@require_POST
@signed_in
def setup_again(request: MemberRequest, year: int) -> HttpResponse:
    """Take that back."""
    place = year_for(request.user, year, "set up year")
    set_up_again(place.year)
    messages.success(request, "It is being set up again: each page leads to the next step.")
    return redirect("setup", year)
