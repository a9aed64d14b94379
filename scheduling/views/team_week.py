"""The week of a team: its classrooms side by side, and when all of their teachers are free at once."""

from typing import Any

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import render
from django.views.decorators.http import require_safe

from scheduling import access
from scheduling.common_time import SHORTEST
from scheduling.selectors.live_week import where_stand
from scheduling.selectors.team_time import CHOICES
from scheduling.selectors.team_week import TeamWeek, team_week
from scheduling.views.as_of import as_of
from teamroom.common.http import is_fragment
from teamroom.common.live.announcing import classroom_topic, year_topic
from teamroom.members.access import team_for, year_place
from teamroom.members.models import Classroom, Team
from teamroom.members.signed_in import MemberRequest, signed_in
from teamroom.members.year_pages import year_page

VIEWS = {"day": "One day", "classroom": "One classroom", "small": "Every day, small", "paper": "Every day, large"}
MOST_FOLLOWED = 59
"""Classrooms of which an open page hears at once: beside the year as many as a stream takes."""
ASKED = ("view", "day", "room", "on", "shortest")


@require_safe
@signed_in
def week(request: MemberRequest, team: int) -> HttpResponse:
    """A team's week: `?view=`, `day`, `room`, `on` and `shortest` say what of it; for an open page that asks
    again with its `topics`, only what it shows, or 204 where that is current."""
    found = team_for(request.user, team, "read week")
    rooms = list(found.classrooms.filter(retired=False).select_related("team").order_by("name", "key"))
    # Before the rows: the page is then never behind what it says it knows.
    topics = _topics(found, rooms)
    if is_fragment(request) and request.GET.get("topics") == topics:
        return HttpResponse(status=204)
    on, outside = as_of(found.year, request.GET.get("on", ""))
    shortest = _shortest(request.GET.get("shortest", ""))
    told = team_week(found, on, access.editable(request.user, rooms), shortest)
    context: dict[str, Any] = {
        "team": found,
        "place": year_place(request.user, found.year),
        "week": told,
        "topics": topics,
        "on": on,
        "outside": outside,
        "asked": _asked(request),
        "choices": CHOICES,
        "views": VIEWS.items(),
        **(_shown(request, told, on) if told.rooms else {}),
    }
    if is_fragment(request):
        return render(request, "scheduling/_team_week.html", {**context, "year": found.year, "oob": True})
    return year_page(request, context["place"], "scheduling/team_week.html", {**context, "here": "teams"})


def _shown(request: HttpRequest, told: TeamWeek, on: Any) -> dict[str, Any]:
    """What the chosen view shows; a view that there is not is the one of a day."""
    asked = request.GET
    view = asked.get("view", "") if asked.get("view") in VIEWS else "day"
    place = told.chosen_day(asked.get("day", ""), on)
    room = told.chosen_room(asked.get("room", ""))
    days = list(told.days()) if view in ("small", "paper") else [told.day(place)] if view == "day" else []
    return {
        "view": view,
        "day_key": told.key_of(place),
        "usual_days": told.usual_choices(place),
        "other_days": told.other_choices(place),
        "room": room.room,
        "days": days,
        "room_days": told.days_of(room) if view == "classroom" else (),
    }


def _asked(request: HttpRequest) -> QueryDict:
    """What of the address says what to show, to be kept by its links."""
    asked = QueryDict(mutable=True)
    for name in ASKED:
        if value := request.GET.get(name):
            asked[name] = value
    return asked


def _topics(team: Team, rooms: list[Classroom]) -> str:
    return where_stand(*(classroom_topic(room.pk) for room in rooms[:MOST_FOLLOWED]), year_topic(team.year_id))


def _shortest(written: str) -> int:
    return int(written) if written in map(str, CHOICES) else SHORTEST
