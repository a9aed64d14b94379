"""Bell schedules: the page of them all, giving times to grades and kinds of day, and taking them away."""

from functools import partial
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_http_methods, require_safe

from scheduling.forms.bells import TimesForm, begun_with
from scheduling.selectors.bell_clashes import blocks_in_the_way
from scheduling.selectors.bells_page import BellLine, BellsPage, bell_in, bells_page, places_said
from scheduling.selectors.preview_words import Preview, preview_told
from scheduling.selectors.year_words import capital, year_words
from scheduling.services import school_times
from scheduling.services.asked_first import Answer, do_if_seen, readings_said
from scheduling.services.preview import previewed
from teamroom.common.errors import Stale
from teamroom.common.forms import attempt
from teamroom.common.http import CONFLICT, UNPROCESSABLE
from teamroom.members.access import YearPlace, year_for
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])
HERE = {"here": "bells"}


@require_safe
@signed_in
def bells(request: MemberRequest, year: int) -> HttpResponse:
    """Every grade's times on every kind of day, and where some are missing."""
    place = year_for(request.user, year)
    return year_page(request, place, "scheduling/bells.html", {**HERE, "bells": bells_page(place.year)})


@form_methods
@signed_in
def set_times(request: MemberRequest, year: int) -> HttpResponse:
    """Give times to grades and kinds of day. `?for=4:12` ticks one, `?like=<schedule>` begins with its times."""
    place = year_for(request.user, year, "set up year")
    page = bells_page(place.year)
    if request.method != "POST":
        return _form_page(request, place, page, _begun(request, place, page))
    form = TimesForm(request.POST, page=page, words=year_words(place.year))
    answer = attempt(form, lambda: _save(place, page, form))
    if answer is None:
        return _form_page(request, place, page, form, status=CONFLICT if form.stale else UNPROCESSABLE)
    if not answer.done:
        return _form_page(request, place, page, form, preview=answer.preview)
    messages.success(request, _saved_said(place, form, answer.preview))
    return redirect("scheduling:bells", year)


def _save(place: YearPlace, page: BellsPage, form: TimesForm) -> Answer:
    """Save the times, unless a verdict turns by them that was not shown before."""
    year = place.year
    if form.cleaned_data["seen"] != page.seal:
        raise Stale(
            "Somebody changed the bell schedules while you were at it, and nothing was overwritten. What each grade "
            "has now stands beside its tick: save again to put your times in their place."
        )
    places = form.places_asked(year.day_kinds.in_bulk())
    deed = partial(school_times.set_bell_schedule, year, places, form.times(year.activities.in_bulk()))
    return do_if_seen(year, deed, seal=form.cleaned_data["seal"])


def _saved_said(place: YearPlace, form: TimesForm, preview: Preview) -> str:
    """`Grade 4 on a regular day: 8:00-2:30, 6 h 30, of which 6 h for blocks.` and what that did to readings."""
    year = place.year
    year.refresh_from_db()
    places = form.places_asked(year.day_kinds.in_bulk())
    grade, kind = places[0]
    line = next(line for line in bells_page(year).lines if line.place == f"{grade}:{kind.pk}")
    named = capital(places_said([(grade, kind.name) for grade, kind in places]))
    clashes = blocks_in_the_way(year, {grade for grade, _ in places}, {kind.pk for _, kind in places})
    told = [f"{named}: {line.bell}, {line.said}.", readings_said(preview, year), clashes.said]
    return " ".join(filter(None, told))


def _begun(request: MemberRequest, place: YearPlace, page: BellsPage) -> TimesForm:
    """The form as an address asks for it; what is not of this year is passed over."""
    asked = request.GET.getlist("for")
    ticked = [line.place for kind in page.kinds for line in kind.lines if line.place in asked]
    like = next((line for line in page.lines if str(line.pk) == request.GET.get("like")), None)
    begun = like or next((line for line in page.lines if line.place in ticked), None)
    regular = [str(kind.pk) for kind in page.kinds if kind.regular]
    initial = {**begun_with(begun), "places": ticked, "more_kinds": regular, "seen": page.seal}
    return TimesForm(page=page, words=year_words(place.year), initial=initial)


def _form_page(
    request: MemberRequest,
    place: YearPlace,
    page: BellsPage,
    form: TimesForm,
    *,
    preview: Preview | None = None,
    status: int = 200,
) -> HttpResponse:
    context: dict[str, Any] = {
        **HERE,
        "bells": page,
        "form": form,
        "told": preview and preview_told(preview, place.year),
        "likes": _likes(page),
        "whose": _whose(page, form),
    }
    return year_page(request, place, "scheduling/bell_set.html", context, status=status)


def _whose(page: BellsPage, form: TimesForm) -> str:
    """The one grade and kind of day that is ticked; empty for none or several."""
    ticked = [line for kind in page.kinds for line in kind.lines if line.place in form.ticked]
    return places_said([(ticked[0].grade, ticked[0].kind_name)]) if len(ticked) == 1 else ""


def _likes(page: BellsPage) -> list[tuple[int, str]]:
    """Schedules to begin with, those that say the same under one name: a schedule's id and whose it is."""
    alike: dict[Any, list[BellLine]] = {}
    for line in page.lines:
        alike.setdefault((line.kind, line.bell, line.said, line.strips), []).append(line)
    return [
        (lines[0].pk, f"{places_said([(line.grade, line.kind_name) for line in lines])}, {lines[0].bell}")
        for lines in alike.values()
    ]


@form_methods
@signed_in
def remove(request: MemberRequest, year: int, bell: int) -> HttpResponse:
    """Take a grade's times for a kind of day away, having shown what goes with them."""
    place = year_for(request.user, year, "set up year")
    found = bell_in(place.year, bell)
    named = places_said([(found.grade, found.kind.name)])
    if request.method == "POST":
        school_times.retire_bell_schedule(found)
        messages.success(request, f"{capital(named)} has no times of its own any more. To have some again, add them.")
        return redirect("scheduling:bells", year)
    line = next(line for line in bells_page(place.year).lines if line.pk == found.pk)
    told = preview_told(previewed(place.year, partial(school_times.retire_bell_schedule, found)), place.year)
    context = {**HERE, "named": named, "line": line, "told": told}
    return year_page(request, place, "scheduling/bell_remove.html", context)
