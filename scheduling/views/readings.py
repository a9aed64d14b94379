"""A reading spelled out: its addends, its windows, and the rule with its source."""

import datetime as dt

from django.http import Http404, HttpResponse
from django.views.decorators.http import require_safe

from scheduling import access
from scheduling.selectors.trace_page import trace_page
from teamroom.common.http import page_or_fragment
from teamroom.members.signed_in import MemberRequest, signed_in


@require_safe
@signed_in
def trace(request: MemberRequest, classroom: int, rule: int, part: int) -> HttpResponse:
    """One part of a rule in one window: the one that begins on `?from=`, else the tightest."""
    found = access.classroom_for_reading(request.user, classroom)
    page = trace_page(found, rule, part, _date(request.GET.get("from", "")))
    if page is None:
        raise Http404
    return page_or_fragment(request, "scheduling/trace.html", "scheduling/_trace.html", {"page": page})


def _date(written: str) -> dt.date | None:
    try:
        return dt.date.fromisoformat(written)
    except ValueError:
        return None
