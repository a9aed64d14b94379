"""Beginning a school: on the screens, from a file, or with the demo."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from teamroom.common.errors import RuleBroken
from teamroom.common.forms import attempt
from teamroom.common.http import UNPROCESSABLE
from teamroom.dates.models import School, SchoolYear
from teamroom.members.access import require_in_district
from teamroom.members.models import Member
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.setup.forms.begin import BeginForm, first_guess
from teamroom.setup.services import begin_demo, begin_school


@require_http_methods(["GET", "HEAD", "POST"])
@signed_in
def begin(request: MemberRequest) -> HttpResponse:
    """The three ways to a school; the form of the first stands on the page itself."""
    require_in_district(request.user, "found school")
    if request.method == "POST":
        form = BeginForm(request.POST)
        year = attempt(form, lambda: _begun(form, request.user))
        if year is not None:
            messages.success(request, f"{year.school.name} has begun, and you are its administrator.")
            return redirect("setup", year.pk)
    else:
        form = BeginForm(initial=first_guess(timezone.localdate()))
    context = {"form": form, "is_new": not School.objects.exists()}
    return render(request, "setup/begin.html", context, status=UNPROCESSABLE if form.errors else 200)


def _begun(form: BeginForm, member: Member) -> SchoolYear:
    given = form.cleaned_data
    return begin_school(
        member,
        name=given["name"],
        place=given["place"],
        time_zone=given["time_zone"],
        year_name=given["year_name"],
        first_day=given["first_day"],
        last_day=given["last_day"],
    )


@require_POST
@signed_in
def demo(request: MemberRequest) -> HttpResponse:
    """The invented school, only while there is no other."""
    require_in_district(request.user, "found school")
    try:
        loaded = begin_demo(request.user)
    except RuleBroken as refused:
        messages.error(request, refused.message)
        return redirect("begin")
    messages.success(
        request,
        f"The demo school is loaded, and you are its administrator. Its {len(loaded.people)} people are invented too: "
        f"their addresses and passphrase stand on the server, in {loaded.kept_in}.",
    )
    return redirect("home")
