"""Requests of somebody who has signed in."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, cast
from urllib.parse import urlencode, urlsplit

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, resolve_url
from django.utils.cache import add_never_cache_headers

from teamroom.common.http import is_fragment
from teamroom.members.models import Member

P = ParamSpec("P")


class MemberRequest(HttpRequest):
    """A request whose user is a member, which `signed_in` has made sure of."""

    user: Member


def signed_in(
    view: Callable[Concatenate[MemberRequest, P], HttpResponse],
) -> Callable[Concatenate[HttpRequest, P], HttpResponse]:
    """Send strangers to the sign-in page and back here afterwards. Nothing a member sees is kept by caches."""

    @wraps(view)
    def asked(request: HttpRequest, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if isinstance(request.user, Member):
            response = view(request, *args, **kwargs)  # type: ignore[arg-type]  # its user is known now
            add_never_cache_headers(response)
            return response
        if not is_fragment(request):
            return redirect(_sign_in(request.get_full_path()))
        # A fragment cannot be a sign-in page: the browser goes there, and afterwards back to the page it showed.
        shown = urlsplit(request.headers.get("HX-Current-URL", "/"))
        back = f"{shown.path}?{shown.query}" if shown.query else shown.path
        return HttpResponse(status=204, headers={"HX-Redirect": _sign_in(back)})

    return cast(Callable[Concatenate[HttpRequest, P], HttpResponse], asked)


def _sign_in(back: str) -> str:
    return f"{resolve_url(settings.LOGIN_URL)}?{urlencode({'next': back})}"
