"""Deeds of the calendar itself: closures, and dates with a kind of their own."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from scheduling.services import calendar
from scheduling.services.calendar import Picture
from scheduling.services.deeds.base import Deed, Written, as_date
from teamroom.common.clock import said_date
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import SchoolYear


def span_said(first: dt.date, last: dt.date) -> str:
    return said_date(first) if first == last else f"{said_date(first)} to {said_date(last)}"


@dataclass(frozen=True)
class Close(Deed):
    """Close a span of dates; dates in it lose a kind of their own."""

    first: dt.date
    last: dt.date
    name: str
    verb = "close"

    @property
    def title(self) -> str:
        return f"Close {span_said(self.first, self.last)} ({self.name})"

    @property
    def told(self) -> str:
        return f"{span_said(self.first, self.last)} {_is(self.first, self.last)} closed: {self.name}."

    @property
    def date(self) -> dt.date:
        return self.first

    def written(self) -> Written:
        return {"first": str(self.first), "last": str(self.last), "name": self.name}

    @classmethod
    def read(cls, written: Mapping[str, Any]) -> "Close":
        return cls(as_date(written["first"]), as_date(written["last"]), written["name"])

    def do(self, year: SchoolYear) -> "PutBack":
        before = PutBack(calendar.picture_of(year, self.first, self.last))
        calendar.close_dates(year, self.first, self.last, self.name, over_named=True)
        return before


@dataclass(frozen=True)
class Reopen(Deed):
    """Open a span of dates again; a closure that reaches beyond keeps the rest."""

    first: dt.date
    last: dt.date
    verb = "reopen"

    @property
    def title(self) -> str:
        return f"Reopen {span_said(self.first, self.last)}"

    @property
    def told(self) -> str:
        return f"{span_said(self.first, self.last)} {_is(self.first, self.last)} open again."

    @property
    def date(self) -> dt.date:
        return self.first

    def written(self) -> Written:
        return {"first": str(self.first), "last": str(self.last)}

    @classmethod
    def read(cls, written: Mapping[str, Any]) -> "Reopen":
        return cls(as_date(written["first"]), as_date(written["last"]))

    def do(self, year: SchoolYear) -> "PutBack":
        before = PutBack(calendar.picture_of(year, self.first, self.last))
        calendar.reopen_dates(year, self.first, self.last)
        return before


@dataclass(frozen=True)
class ChangeClosure(Deed):
    """Give the closure that covers a date other dates or another name."""

    on: dt.date
    first: dt.date
    last: dt.date
    name: str
    verb = "change closure"

    @property
    def title(self) -> str:
        return f"Have {self.name} on {span_said(self.first, self.last)}"

    @property
    def told(self) -> str:
        return f"{self.name} is now on {span_said(self.first, self.last)}."

    @property
    def date(self) -> dt.date:
        return self.first

    def written(self) -> Written:
        dates = {"on": str(self.on), "first": str(self.first), "last": str(self.last)}
        return {"name": self.name, **dates}

    @classmethod
    def read(cls, written: Mapping[str, Any]) -> "ChangeClosure":
        return cls(as_date(written["on"]), as_date(written["first"]), as_date(written["last"]), written["name"])

    def do(self, year: SchoolYear) -> "PutBack":
        closure = calendar.closure_on(year, self.on)
        if closure is None:
            raise RuleBroken("The school is no longer closed on that date: close it first.", field="first_day")
        hull = min(self.first, closure.first_day), max(self.last, closure.last_day)
        before = PutBack(calendar.picture_of(year, *hull))
        calendar.change_closure(closure, self.first, self.last, self.name, over_named=True)
        return before


@dataclass(frozen=True)
class SetKind(Deed):
    """Give a date a day kind of its own, by its key; with an empty one the date follows its weekday."""

    on: dt.date
    kind: str
    kind_name: str
    verb = "set kind"

    @property
    def title(self) -> str:
        if not self.kind:
            return f"Let {said_date(self.on)} follow its weekday"
        return f"Make {said_date(self.on)} a day of its own kind: {self.kind_name}"

    @property
    def told(self) -> str:
        if not self.kind:
            return f"{said_date(self.on)} follows its weekday again."
        return f"{said_date(self.on)} is now: {self.kind_name}."

    @property
    def date(self) -> dt.date:
        return self.on

    def written(self) -> Written:
        return {"on": str(self.on), "kind": self.kind, "kind_name": self.kind_name}

    @classmethod
    def read(cls, written: Mapping[str, Any]) -> "SetKind":
        return cls(as_date(written["on"]), written["kind"], written["kind_name"])

    def do(self, year: SchoolYear) -> "PutBack":
        kind = None
        if self.kind:
            kind = year.day_kinds.filter(key=self.kind).first()
            if kind is None:
                raise RuleBroken("That day kind is gone: choose one of this year's.", field="kind")
        before = PutBack(calendar.picture_of(year, self.on, self.on))
        calendar.set_day_kind(year, self.on, kind)
        return before


@dataclass(frozen=True)
class PutBack(Deed):
    """Make a stretch of the calendar what it was: what takes back the deeds above, and itself."""

    picture: Picture
    verb = "put back"

    @property
    def title(self) -> str:
        return f"Put {span_said(self.picture.first, self.picture.last)} back as it was"

    @property
    def told(self) -> str:
        span = span_said(self.picture.first, self.picture.last)
        return f"{span} {_is(self.picture.first, self.picture.last)} as before."

    @property
    def date(self) -> dt.date:
        return self.picture.first

    def written(self) -> Written:
        return {
            "first": str(self.picture.first),
            "last": str(self.picture.last),
            "closures": [[str(first), str(last), name] for first, last, name in self.picture.closures],
            "named": [[str(date), kind] for date, kind in self.picture.named],
        }

    @classmethod
    def read(cls, written: Mapping[str, Any]) -> "PutBack":
        closures = tuple((as_date(first), as_date(last), name) for first, last, name in written["closures"])
        named = tuple((as_date(date), kind) for date, kind in written["named"])
        return cls(Picture(as_date(written["first"]), as_date(written["last"]), closures, named))

    def do(self, year: SchoolYear) -> "PutBack":
        before = PutBack(calendar.picture_of(year, self.picture.first, self.picture.last))
        calendar.put_back(year, self.picture)
        return before


def _is(first: dt.date, last: dt.date) -> str:
    return "is" if first == last else "are"
