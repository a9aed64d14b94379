"""Changes of one year's calendar as values: each can be written down as JSON, done, said, and taken back.

A deed that waits for a yes, or for the background work, is kept as what `deed_written` gives.
"""

from collections.abc import Mapping
from typing import Any

from scheduling.services.deeds.base import Deed, Written
from scheduling.services.deeds.changes import LiftChange, MoveChange, PlaceChange, Plan
from scheduling.services.deeds.closings import ChangeClosure, Close, PutBack, Reopen, SetKind

__all__ = [
    "ChangeClosure",
    "Close",
    "Deed",
    "LiftChange",
    "MoveChange",
    "PlaceChange",
    "Plan",
    "PutBack",
    "Reopen",
    "SetKind",
    "deed_from",
    "deed_written",
]

DEEDS: dict[str, type[Deed]] = {
    deed.verb: deed for deed in (Close, Reopen, ChangeClosure, SetKind, PutBack, PlaceChange, MoveChange, LiftChange)
}


def deed_written(deed: Deed) -> Written:
    return {"verb": deed.verb, **deed.written()}


def deed_from(written: Mapping[str, Any]) -> Deed:
    """The deed that was written down."""
    return DEEDS[written["verb"]].read(written)
