"""How long a session lasts: it ends after a while without a request, and after the longest time in any case.

Django ends it SESSION_COOKIE_AGE after it was last written; this writes it now and then while it is in use, and ends
what is older than SESSION_LONGEST.
"""

import time
from collections.abc import Callable
from typing import Any

from allauth.usersessions.models import UserSession
from django.conf import settings
from django.contrib.auth import SESSION_KEY, logout
from django.http import HttpRequest, HttpResponse

from teamroom.common.live.announcing import announce, person_topic
from teamroom.members.models import Member

BEGAN, SEEN = "session began", "session seen"
"""Seconds since the epoch."""
NOW_AND_THEN = 5 * 60
LIVE = "/live/"
BY_ITSELF = "X-By-Itself"
"""The address and the header of what an open page asks without anybody's doing. It keeps no session alive."""


class SessionLimits:
    """Middleware after those of sessions and authentication."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        member = request.session.get(SESSION_KEY)
        if member is not None:
            now = time.time()
            if now - request.session.get(BEGAN, 0) > settings.SESSION_LONGEST.total_seconds():
                logout(request)
            elif not request.user.is_authenticated:
                # Closed, or its passphrase changed: what such a session holds must not come back to life.
                request.session.flush()
            elif now - request.session.get(SEEN, 0) > NOW_AND_THEN and not _by_itself(request):
                request.session[SEEN] = now
        response = self.get_response(request)
        if member is not None and request.session.get(SESSION_KEY) != member:
            # Signed out, and only now is the session gone: the streams of its pages end.
            announce(person_topic(member))
        return response


def tell_streams(sender: object, user: Member, **rest: Any) -> None:
    """What the accounts library's signals of a new passphrase call: it has ended other sessions."""
    announce(person_topic(user.pk))


def _by_itself(request: HttpRequest) -> bool:
    return request.path.startswith(LIVE) or BY_ITSELF in request.headers


def begin_session(sender: object, request: HttpRequest, **rest: Any) -> None:
    """What Django's signal of signing in calls, whichever way somebody came in: the time runs from here."""
    request.session[BEGAN] = request.session[SEEN] = time.time()
    if "REMOTE_ADDR" in request.META:
        # The list of one's sessions has it, and whoever closes the account can end it.
        UserSession.objects.create_from_request(request)


def renew_session(sender: object, request: HttpRequest, reauthenticated: bool = False, **rest: Any) -> None:
    """What the accounts library's signal of a step done calls: a new key for a session that may now do more."""
    before = request.session.session_key
    if reauthenticated and before:
        request.session.cycle_key()
        UserSession.objects.filter(session_key=before).update(session_key=request.session.session_key)
