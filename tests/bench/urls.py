"""The app's addresses, and the bare write that an edit is held against."""

from django.db import transaction
from django.http import HttpResponse
from django.urls import path

from scheduling.models import WeekChange
from teamroom.common.live import announce
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.urls import urlpatterns as app_urls


@signed_in
@transaction.atomic
def control(request: MemberRequest, week: int) -> HttpResponse:
    """Somebody signed in writes one row and other processes are told: the least an edit could do."""
    revision = int(request.POST["revision"])
    WeekChange.objects.create(
        week_id=week, revision=revision, member=request.user, deed="none", summary="-", before=[], after=[]
    )
    announce(f"week-{week}", revision)
    return HttpResponse("done")


urlpatterns = [*app_urls, path("control/<int:week>/", control)]
