"""Deeds of day changes: an early release, an assembly, a class kept at home."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Self

from scheduling.models import DayChange
from scheduling.services import day_changes
from scheduling.services.day_changes import Happening
from scheduling.services.deeds.base import Deed, Written, as_date
from teamroom.common.clock import said_date, said_span
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import SchoolYear


@dataclass(frozen=True)
class Plan:
    """A day change to be, with ids in the place of rows. Times are minutes since midnight."""

    date: dt.date
    name: str
    closed: bool
    start: int
    end: int
    credits: tuple[tuple[int, int], ...] = ()
    classrooms: tuple[int, ...] = ()
    teams: tuple[int, ...] = ()

    @property
    def said(self) -> str:
        """`Assembly, 9:00-9:50 on Thu 14 Jan`."""
        when = "closed all day" if self.closed else said_span(self.start, self.end)
        return f"{self.name}, {when} on {said_date(self.date)}"

    def written(self) -> Written:
        return {
            "date": str(self.date),
            "name": self.name,
            "closed": self.closed,
            "start": self.start,
            "end": self.end,
            "credits": [list(credit) for credit in self.credits],
            "classrooms": list(self.classrooms),
            "teams": list(self.teams),
        }

    @classmethod
    def read(cls, written: Mapping[str, Any]) -> "Plan":
        return cls(
            date=as_date(written["date"]),
            name=written["name"],
            closed=written["closed"],
            start=written["start"],
            end=written["end"],
            credits=tuple((activity, minutes) for activity, minutes in written["credits"]),
            classrooms=tuple(written["classrooms"]),
            teams=tuple(written["teams"]),
        )

    @classmethod
    def of(cls, change: DayChange) -> "Plan":
        """A day change as it stands."""
        return cls(
            date=change.date,
            name=change.name,
            closed=change.closed,
            start=change.start,
            end=change.end,
            credits=tuple(change.credits.values_list("activity_id", "minutes")),
            classrooms=tuple(change.classrooms.order_by("pk").values_list("pk", flat=True)),
            teams=tuple(change.teams.order_by("pk").values_list("pk", flat=True)),
        )

    def happening(self, year: SchoolYear) -> Happening:
        """With the year's own rows; RuleBroken where one of them is not (or no longer) the year's."""
        rooms = tuple(year.classrooms.filter(pk__in=self.classrooms).order_by("pk"))
        teams = tuple(year.teams.filter(pk__in=self.teams).order_by("pk"))
        if len(rooms) < len(set(self.classrooms)):
            raise RuleBroken("Choose among this year's classrooms.", field="classrooms")
        if len(teams) < len(set(self.teams)):
            raise RuleBroken("Choose among this year's teams.", field="teams")
        return Happening(
            self.date, self.name, self.closed, self.start, self.end, self.credits, classrooms=rooms, teams=teams
        )


@dataclass(frozen=True)
class PlaceChange(Deed):
    """Put a day change in the calendar."""

    plan: Plan
    verb = "place"

    @property
    def title(self) -> str:
        return f"Add {self.plan.said}"

    @property
    def told(self) -> str:
        return f"{self.plan.said} is in the calendar."

    @property
    def date(self) -> dt.date:
        return self.plan.date

    def written(self) -> Written:
        return {"plan": self.plan.written()}

    @classmethod
    def read(cls, written: Mapping[str, Any]) -> "PlaceChange":
        return cls(Plan.read(written["plan"]))

    def do(self, year: SchoolYear) -> "LiftChange":
        change, _ = day_changes.place(year, self.plan.happening(year))
        return LiftChange(change.pk, self.plan)


@dataclass(frozen=True)
class _OfChange(Deed):
    """What moving and lifting share: the day change meant, and the plan of it that the words tell."""

    change: int
    plan: Plan

    @property
    def date(self) -> dt.date:
        return self.plan.date

    def written(self) -> Written:
        return {"change": self.change, "plan": self.plan.written()}

    @classmethod
    def read(cls, written: Mapping[str, Any]) -> Self:
        return cls(written["change"], Plan.read(written["plan"]))


@dataclass(frozen=True)
class MoveChange(_OfChange):
    """Give a day change another date, time, audience or credits."""

    verb = "move"

    @property
    def title(self) -> str:
        return f"Have {self.plan.said}"

    @property
    def told(self) -> str:
        return f"Now: {self.plan.said}."

    def do(self, year: SchoolYear) -> "MoveChange":
        change = _change(year, self.change)
        before = MoveChange(change.pk, Plan.of(change))
        day_changes.move(change, self.plan.happening(year))
        return before


@dataclass(frozen=True)
class LiftChange(_OfChange):
    """Take a day change away: the weeks it interrupted heal. `plan` is what it was, for the words."""

    verb = "lift"

    @property
    def title(self) -> str:
        return f"Lift {self.plan.said}"

    @property
    def told(self) -> str:
        return f"{self.plan.said} is lifted; the weeks it interrupted are as planned."

    def do(self, year: SchoolYear) -> "PlaceChange":
        change = _change(year, self.change)
        before = PlaceChange(Plan.of(change))
        day_changes.lift(change)
        return before


def _change(year: SchoolYear, pk: int) -> DayChange:
    change = DayChange.objects.filter(year=year, pk=pk).first()
    if change is None:
        raise RuleBroken("That change is no longer in the calendar.")
    return change
