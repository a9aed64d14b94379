"""The way back from many closures at once: the session knows what was written last, and offers to take it back."""

import datetime as dt

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from scheduling.calendar_reading.spans import Span
from scheduling.services.asked_first import readings_said
from scheduling.services.closures import Written, still_there, take_back
from scheduling.services.preview import previewed
from teamroom.common.wording import counted
from teamroom.dates.models import SchoolYear
from teamroom.members.access import year_for
from teamroom.members.signed_in import MemberRequest, signed_in


def remember(request: HttpRequest, year: SchoolYear, written: Written) -> None:
    """Keep what was written, for the session that wrote it."""
    request.session[_key(year)] = [
        [[pk, str(span.first), str(span.last), span.name] for pk, span in written.closures],
        [[str(date), kind] for date, kind in written.dates],
    ]


def written_last(request: HttpRequest, year: SchoolYear) -> Written:
    """What this session wrote last into a year, as far as it still stands."""
    closures, dates = request.session.get(_key(year)) or ([], [])
    kept = Written(
        tuple((pk, Span(_date(first), _date(last), name)) for pk, first, last, name in closures),
        tuple((_date(date), kind) for date, kind in dates),
    )
    return still_there(year, kept) if closures or dates else kept


def amount_said(written: Written) -> str:
    """`9 closures and 3 dates of another kind`; empty for nothing."""
    told = [counted(len(written.closures), "closure")] if written.closures else []
    if written.dates:
        told.append(f"{counted(len(written.dates), 'date')} of another kind")
    return " and ".join(told)


@require_POST
@signed_in
def take_all_back(request: MemberRequest, year: int) -> HttpResponse:
    """Take off the calendar what was written last."""
    place = year_for(request.user, year, "set up year")
    written = written_last(request, place.year)
    if said := amount_said(written):
        preview = previewed(place.year, lambda: take_back(place.year, written))
        take_back(place.year, written)
        messages.success(request, f"Taken back: {said}. {readings_said(preview, place.year)}".strip())
    else:
        messages.error(request, "There is nothing left to take back.")
    request.session.pop(_key(place.year), None)
    return redirect("scheduling:closures", year)


def _date(written: str) -> dt.date:
    return dt.date.fromisoformat(written)


def _key(year: SchoolYear) -> str:
    return f"calendar written {year.pk}"
