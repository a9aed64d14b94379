"""Letters, for whoever looks after the installation."""

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from teamroom.common.nudge import nudge
from teamroom.members.access import require_in_district
from teamroom.members.mail import SWEEP
from teamroom.members.selectors.letters import kept_letters, unsent_letters
from teamroom.members.services.letters import WAITS, mail_folder, try_again
from teamroom.members.signed_in import MemberRequest, signed_in


@require_safe
@signed_in
def letters(request: MemberRequest) -> HttpResponse:
    """What waits to be sent, and the letters of the data folder where there is no mail server."""
    require_in_district(request.user, "read letters")
    kept = [] if settings.EMAIL_URL else kept_letters(mail_folder())
    told = {"unsent": unsent_letters(), "kept": kept, "by_mail": bool(settings.EMAIL_URL), "last_try": len(WAITS)}
    return render(request, "members/letters.html", told)


@require_POST
@signed_in
def send_again(request: MemberRequest) -> HttpResponse:
    """Try at once what waits or was given up."""
    require_in_district(request.user, "read letters")
    count = try_again()
    nudge(SWEEP)
    messages.success(request, f"{count} {'letter is' if count == 1 else 'letters are'} being tried again now.")
    return redirect("members:letters")
