"""Answers that are a page for a browser's own request and a fragment for htmx."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers

UNPROCESSABLE = 422
CONFLICT = 409


def is_fragment(request: HttpRequest) -> bool:
    """Whether htmx asks, which wants only the piece of the page that it swaps in."""
    return request.headers.get("HX-Request") == "true" and request.headers.get("HX-Boosted") != "true"


def page_or_fragment(
    request: HttpRequest, page: str, fragment: str, context: Mapping[str, Any], *, status: int = 200
) -> HttpResponse:
    """The fragment's template for htmx, else the page's, which includes that same fragment."""
    response = render(request, fragment if is_fragment(request) else page, dict(context), status=status)
    patch_vary_headers(response, ["HX-Request"])
    return response
