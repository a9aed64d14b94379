"""What the classes of a school share: the list, one of them with who has it when, and adding, changing, removing."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from scheduling.forms.shared_resources import ResourceForm
from scheduling.models import SharedResource
from scheduling.selectors.shared_resources import at_once_said, resource_in, resource_lines, resource_week
from scheduling.services import shared_resources as services
from scheduling.views.as_of import as_of
from teamroom.common.errors import RuleBroken
from teamroom.common.forms import attempt
from teamroom.common.http import UNPROCESSABLE
from teamroom.members.access import YearPlace, year_for
from teamroom.members.selectors.readable import readable_in
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

form_methods = require_http_methods(["GET", "HEAD", "POST"])
HERE = {"here": "shared"}


@require_safe
@signed_in
def sheet(request: MemberRequest, year: int) -> HttpResponse:
    """Every shared resource, as of today; whoever has a part in the year reads it."""
    place = year_for(request.user, year)
    on, _ = as_of(place.year, "")
    context = {**HERE, "lines": resource_lines(place.year, on)}
    return year_page(request, place, "scheduling/shared_resources.html", context)


@require_safe
@signed_in
def resource(request: MemberRequest, year: int, resource: int) -> HttpResponse:
    """Who has one thing when, and when it is free, as of today or of `?on=`."""
    place = year_for(request.user, year)
    return _shown(request, place, resource_in(place.year, resource))


@form_methods
@signed_in
def add(request: MemberRequest, year: int) -> HttpResponse:
    """Something more to share."""
    place = year_for(request.user, year, "set up year")
    form = ResourceForm(request.POST if request.method == "POST" else None)
    if form.is_bound:
        made = attempt(form, lambda: services.add_resource(place.year, **form.cleaned_data))
        if made is not None:
            messages.success(request, f"{made}: {at_once_said(made.capacity)}. Blocks can say now that they need it.")
            return redirect("scheduling:shared-resources", place.year.pk)
    return _form_page(request, place, form, heading="Add something shared", send="Add it")


@form_methods
@signed_in
def change(request: MemberRequest, year: int, resource: int) -> HttpResponse:
    """Another name, or another number of classes at once."""
    place = year_for(request.user, year, "set up year")
    found = resource_in(place.year, resource)
    was = {"name": found.name, "capacity": found.capacity}
    form = ResourceForm(request.POST if request.method == "POST" else None, initial=was)
    if form.is_bound and attempt(form, lambda: services.change_resource(found, **form.cleaned_data)) is not None:
        messages.success(request, f"{found}: {at_once_said(found.capacity)}.")
        return redirect("scheduling:shared-resource", year, found.pk)
    return _form_page(request, place, form, heading=f"Change {was['name']}", send="Save")


@require_POST
@signed_in
def remove(request: MemberRequest, year: int, resource: int) -> HttpResponse:
    """Take away what no block needs; otherwise say how many do."""
    place = year_for(request.user, year, "set up year")
    found = resource_in(place.year, resource)
    try:
        services.remove_resource(found)
    except RuleBroken as broken:
        return _shown(request, place, found, refused=broken.message)
    messages.success(request, f"{found.name} is gone; no block needed it. To have it back, add it again.")
    return redirect("scheduling:shared-resources", year)


def _shown(request: MemberRequest, place: YearPlace, found: SharedResource, refused: str = "") -> HttpResponse:
    on, outside = as_of(place.year, request.GET.get("on", ""))
    readable = readable_in(place.year, request.user, place.roles)
    context = {
        **HERE,
        "resource": found,
        "at_once": at_once_said(found.capacity),
        "week": resource_week(place.year, found.pk, on, readable),
        "used": found.pk in {line.pk for line in resource_lines(place.year, on) if line.used},
        "on": on,
        "outside": outside,
        "refused": refused,
    }
    status = UNPROCESSABLE if refused else 200
    return year_page(request, place, "scheduling/shared_resource.html", context, status=status)


def _form_page(
    request: MemberRequest, place: YearPlace, form: ResourceForm, *, heading: str, send: str
) -> HttpResponse:
    back = reverse("scheduling:shared-resources", args=[place.year.pk])
    context = {**HERE, "form": form, "heading": heading, "send": send, "back": back}
    status = UNPROCESSABLE if form.is_bound else 200
    return year_page(request, place, "scheduling/shared_resource_form.html", context, status=status)
