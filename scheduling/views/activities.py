"""A year's activities: the list, where one is used, and adding, renaming and removing them."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from scheduling.forms.activities import AddForm, RenameForm, UsualForm
from scheduling.minutes.figures import listed
from scheduling.models import Activity
from scheduling.selectors.activity_uses import activity_in, activity_lines, places_of, uses_of, usual_activities
from scheduling.selectors.year_words import year_words
from scheduling.services import activities as services
from teamroom.common.errors import RuleBroken
from teamroom.common.forms import attempt
from teamroom.common.http import UNPROCESSABLE
from teamroom.common.wording import counted
from teamroom.members.access import YearPlace, year_for
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])
HERE = {"here": "activities"}


@require_safe
@signed_in
def activities(request: MemberRequest, year: int) -> HttpResponse:
    """Every activity of the year, how it looks on the week and how much it is used."""
    place = year_for(request.user, year)
    return year_page(request, place, "scheduling/activities.html", {**HERE, "lines": activity_lines(place.year)})


@require_safe
@signed_in
def activity(request: MemberRequest, year: int, activity: int) -> HttpResponse:
    """Where one activity is used."""
    place = year_for(request.user, year)
    return _shown(request, place, activity_in(place.year, activity))


@form_methods
@signed_in
def add(request: MemberRequest, year: int) -> HttpResponse:
    """Add activities by their names, several at once."""
    place = year_for(request.user, year, "set up year")
    form = AddForm(request.POST if request.method == "POST" else None)
    if form.is_bound and (done := attempt(form, lambda: services.add_activities(place.year, form.lines))):
        return _added(request, place, done)
    status = UNPROCESSABLE if form.is_bound else 200
    return year_page(request, place, "scheduling/activity_add.html", {**HERE, "form": form}, status=status)


@form_methods
@signed_in
def usual(request: MemberRequest, year: int) -> HttpResponse:
    """Add activities that published rules speak of, by ticks."""
    place = year_for(request.user, year, "set up year")
    offered = usual_activities(place.year)
    ticked = request.POST.getlist("keys") if request.method == "POST" else [one.key for one in offered if one.ticked]
    form = UsualForm(
        request.POST if request.method == "POST" else None, offered=[(one.key, one.name) for one in offered]
    )
    if form.is_bound:
        done = attempt(form, lambda: services.add_usual_activities(place.year, form.cleaned_data["keys"]))
        if done:
            return _added(request, place, done)
    context = {**HERE, "form": form, "offered": offered, "ticked": ticked}
    status = UNPROCESSABLE if form.is_bound else 200
    return year_page(request, place, "scheduling/activity_usual.html", context, status=status)


@form_methods
@signed_in
def rename(request: MemberRequest, year: int, activity: int) -> HttpResponse:
    """Give an activity another name."""
    place = year_for(request.user, year, "set up year")
    found = activity_in(place.year, activity)
    was = found.name
    form = RenameForm(request.POST if request.method == "POST" else None, initial={"name": was})
    done = attempt(form, lambda: services.rename_activity(found, form.cleaned_data["name"]))
    if done:
        messages.success(request, f"{was} is now called {found.name}, on every week and in every rule.")
        return redirect("scheduling:activities", year)
    context = {**HERE, "form": form, "was": was, "activity": found}
    status = UNPROCESSABLE if form.is_bound else 200
    return year_page(request, place, "scheduling/activity_rename.html", context, status=status)


@require_POST
@signed_in
def frees(request: MemberRequest, year: int, activity: int) -> HttpResponse:
    """Say that the class's own teacher is free during an activity (`frees` sent), or not."""
    place = year_for(request.user, year, "set up year")
    found = services.set_frees_teacher(activity_in(place.year, activity), frees="frees" in request.POST)
    if found.frees_teacher:
        said = "Somebody else has the class then: teams see when all of them are free at once."
    else:
        said = "The class\N{RIGHT SINGLE QUOTATION MARK}s own teacher has the class then."
    messages.success(request, f"{found.name}: {said}")
    return redirect("scheduling:activity", year, found.pk)


@require_POST
@signed_in
def remove(request: MemberRequest, year: int, activity: int) -> HttpResponse:
    """Take away an activity that is used nowhere; otherwise say where it is used."""
    place = year_for(request.user, year, "set up year")
    found = activity_in(place.year, activity)
    try:
        services.remove_activity(found)
    except RuleBroken as broken:
        return _shown(request, place, found, refused=broken.message)
    messages.success(request, f"{found.name} is gone; it was used nowhere. To have it back, add it again.")
    return redirect("scheduling:activities", year)


def _added(request: MemberRequest, place: YearPlace, done: services.Added) -> HttpResponse:
    names = [one.name for one in done.made]
    shown = listed(names) if len(names) <= 5 else f"{counted(len(names), 'activity', 'activities')}"
    there = (
        f" {listed(list(done.there))} {'was' if len(done.there) == 1 else 'were'} there already." if done.there else ""
    )
    messages.success(
        request, f"Added {shown}. Bells, rules and blocks can use {'it' if len(names) == 1 else 'them'} now.{there}"
    )
    return redirect("scheduling:activities", place.year.pk)


def _shown(request: MemberRequest, place: YearPlace, found: Activity, refused: str = "") -> HttpResponse:
    context = {
        **HERE,
        "activity": found,
        "look": year_words(place.year).activities[found.pk].look,
        "used": uses_of(place.year).get(found.pk),
        "places": places_of(found),
        "refused": refused,
    }
    status = UNPROCESSABLE if refused else 200
    return year_page(request, place, "scheduling/activity.html", context, status=status)
