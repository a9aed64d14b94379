"""The app's addresses, and the bare write that an edit is held against."""

from django.db import connection, transaction
from django.http import HttpResponse
from django.urls import path

from scheduling.models import WeekChange
from teamroom.common.live.announcing import CHANNEL
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.urls import urlpatterns as app_urls

FAR = 1_000_000
"""Revisions no edit comes to."""


@signed_in
@transaction.atomic
def control(request: MemberRequest, week: int) -> HttpResponse:
    """Somebody signed in writes one row and those who follow a topic are told: the least an edit could do."""
    number = int(request.POST["number"])
    WeekChange.objects.create(
        week_id=week, revision=FAR + number, member=request.user, deed="none", summary="-", before=[], after=[]
    )
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_notify(%s, %s)", [CHANNEL, f"{request.POST['topic']} {number}"])
    return HttpResponse("done")


urlpatterns = [*app_urls, path("control/<int:week>/", control)]
