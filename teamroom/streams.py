"""Who may follow what, and the two ways to hear of it: a stream, and asking every few seconds."""

import json
from functools import cache
from io import BytesIO

from asgiref.sync import sync_to_async
from asgiref.typing import HTTPScope
from django.core.handlers.asgi import ASGIRequest
from django.core.handlers.base import BaseHandler
from django.core.signals import request_started
from django.db import connections
from django.http import Http404, HttpResponse, JsonResponse
from django.views.decorators.http import require_safe

from scheduling.access import classroom_for_reading
from teamroom.common.live.announcing import person_topic
from teamroom.common.live.hub import Hub
from teamroom.common.live.models import Topic
from teamroom.common.live.stream import Opened, Streams
from teamroom.common.numbers import whole_number
from teamroom.members.access import year_for
from teamroom.members.models import Member
from teamroom.members.signed_in import MemberRequest, signed_in

MOST_TOPICS = 60
"""Topics of one page: the classrooms of the largest team many times over."""


@require_safe
@signed_in
def positions(request: MemberRequest) -> HttpResponse:
    """Where the topics asked for stand, as `{"classroom-12": 18}`; 404 if one may not be followed."""
    topics = list(dict.fromkeys(request.GET.getlist("topic")))
    if not topics or len(topics) > MOST_TOPICS:
        raise Http404
    for topic in topics:
        permit(request.user, topic)
    stand = dict(Topic.objects.filter(name__in=topics).values_list("name", "edition"))
    return JsonResponse({topic: stand.get(topic, 0) for topic in topics})


def permit(member: Member, topic: str) -> None:
    """Raise Http404 unless the member may read what the topic is about."""
    kind, _, number = topic.partition("-")
    pk = whole_number(number)
    if kind == "classroom":
        classroom_for_reading(member, pk)
    elif kind == "year":
        year_for(member, pk, "read year")
    else:
        raise Http404


class Pages(BaseHandler):
    """The pages with all their middleware, asked from within: what they answer strangers, streams answer them too."""

    def __init__(self) -> None:
        super().__init__()
        self.load_middleware()

    def opened(self, scope: HTTPScope) -> Opened:
        """What the page of positions says to the one who asks for a stream."""
        request_started.send(sender=self.__class__, scope=scope)
        request = ASGIRequest({**scope, "path": "/live/positions/"}, BytesIO())
        response = self.get_response(request)
        status = 401 if response.status_code in (204, 302) else response.status_code
        stand = json.loads(response.content) if isinstance(response, JsonResponse) else {}
        # Gives the connection back, as after every request.
        response.close()
        reader = person_topic(request.user.pk) if isinstance(request.user, Member) else ""
        return Opened(status, stand, reader)


def connection_parameters() -> dict[str, object]:
    """How Django connects, for a connection that is not Django's."""
    parameters = connections["default"].get_connection_params()
    for name in ("cursor_factory", "prepare_threshold", "context"):
        parameters.pop(name, None)
    return parameters | {"application_name": "teamroom listener"}


@cache
def pages() -> Pages:
    return Pages()


async def ask(scope: HTTPScope) -> Opened:
    """Ask in a thread, as all pages are answered."""
    return await sync_to_async(lambda: pages().opened(scope), thread_sensitive=False)()


hub = Hub(connection_parameters)


streams = Streams(hub, ask)
