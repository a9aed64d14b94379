"""A fitting: how far it is, what was found beside its source, deciding about it, and making a draft of it."""

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.cache import patch_vary_headers
from django.views.decorators.http import require_POST, require_safe

from scheduling.fitting_access import fitting_for, fitting_for_taking
from scheduling.forms.fittings import DecideForm, TakeForm
from scheduling.models import Fitting
from scheduling.selectors.fitting_words import fitting_told, keys_of
from scheduling.services import fittings
from scheduling.services.proposed import beside_its_source, drawn, would_do
from scheduling.views.answers import refused_status, week_url
from scheduling.views.weeks import to_page
from teamroom.common.forms import EditForm, attempt
from teamroom.common.http import is_fragment
from teamroom.members.access import year_place
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page


@require_safe
@signed_in
def fitting(request: MemberRequest, fitting: int) -> HttpResponse:
    """How far it is; then what was found, or why nothing was. One week found is shown at once."""
    found = fitting_for(request.user, fitting)
    if found.state == "done" and len(found.ways) == 1:
        return to_page(request, reverse("scheduling:fitting-way", args=[found.pk, 0]))
    told = fitting_told(found)
    context: dict[str, object] = {"fitting": found, "told": told}
    if found.state == "done":
        context["ways"] = [(way, would_do(found, way.number)) for way in told.ways]
    template = "scheduling/_fitting.html" if is_fragment(request) else "scheduling/fitting.html"
    response = _page(request, found, template, context)
    patch_vary_headers(response, ["HX-Request"])
    return response


@require_POST
@signed_in
def stop(request: MemberRequest, fitting: int) -> HttpResponse:
    """End the search with the best found so far."""
    found = fitting_for(request.user, fitting)
    fittings.stop(found)
    return redirect("scheduling:fitting", found.pk)


@require_safe
@signed_in
def way(request: MemberRequest, fitting: int, way: int) -> HttpResponse:
    """One week that was found, beside its source, with every change to decide about."""
    return _way(request, fitting_for(request.user, fitting), way)


@require_POST
@signed_in
def again(request: MemberRequest, fitting: int, way: int) -> HttpResponse:
    """Fit the rest anew around what was decided."""
    found = fitting_for(request.user, fitting)
    form = DecideForm(request.POST, fields=_fields(found, way))
    done = attempt(form, lambda: fittings.ask_again(found, way=way, decided=form.decided, member=request.user))
    if done is None:
        return _way(request, found, way, decide=form)
    return redirect("scheduling:fitting", done.pk)


@require_POST
@signed_in
def take(request: MemberRequest, fitting: int, way: int) -> HttpResponse:
    """Make a draft of a week that was found; with `effect` on to the page that puts it in effect."""
    form = TakeForm(request.POST)
    with transaction.atomic():
        found = fitting_for_taking(request.user, fitting)
        draft = attempt(form, lambda: fittings.take(found, way=way, member=request.user, **form.cleaned_data))
    if draft is None:
        return _way(request, found, way, take=form)
    messages.success(request, "This is your draft: it counts for nothing until it is put in effect.")
    if "effect" in request.POST:
        return redirect(reverse("scheduling:week-put-in-effect", args=[draft.pk]))
    return redirect(week_url(draft))


def _fields(fitting: Fitting, way: int) -> list[tuple[str, str]]:
    ways = fitting_told(fitting).ways
    if fitting.state != "done" or way >= len(ways):
        raise Http404
    return list(keys_of(ways[way]))


def _way(
    request: MemberRequest,
    found: Fitting,
    number: int,
    *,
    decide: DecideForm | None = None,
    take: TakeForm | None = None,
) -> HttpResponse:
    fields = _fields(found, number)
    told = fitting_told(found)
    refused: EditForm | None = next((form for form in (decide, take) if form is not None), None)
    held = found.asked.get("decided", {})
    decide = decide or DecideForm(fields=fields, initial={name: "stay" for name, key in fields if key in held})
    context = {
        "fitting": found,
        "told": told,
        "way": told.ways[number],
        "changes": [(change, decide[change.field]) for change in told.ways[number].changes],
        "decide": decide,
        "take": take or TakeForm(),
        "refused": refused,
        "comparison": beside_its_source(found, number),
        "drawn": drawn(found, number),
        "effect": would_do(found, number),
    }
    status = refused_status(refused) if refused is not None else 200
    return _page(request, found, "scheduling/fitting_way.html", context, status=status)


def _page(
    request: MemberRequest, found: Fitting, template: str, context: dict[str, object], *, status: int = 200
) -> HttpResponse:
    place = year_place(request.user, found.classroom.year)
    own = {"classroom": found.classroom, "back": reverse("scheduling:week", args=[found.classroom_id])}
    return year_page(request, place, template, {**own, **context}, status=status)
