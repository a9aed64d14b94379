"""What a fitting needs of a school file, read without a database, and the file with the week that came of it."""

import copy
import datetime as dt
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from scheduling.minutes.plan import Block, Column
from scheduling.refit.taking_over import Target
from teamroom.common.clock import written_clock
from teamroom.common.errors import RuleBroken
from teamroom.dates.calendar_maths import REGULAR
from teamroom.school_file.form import Document
from teamroom.school_file.plans import School, column_of, cycle_of, date, plan_of, rules_of, year_of

Carried = Callable[[Block], dict[str, Any]]
"""What the file says of a block besides its times."""


@dataclass(frozen=True)
class FileGround:
    """A school file seen from one of its classrooms. RuleBroken where it has no such classroom, or no bells for it."""

    document: School
    classroom: str

    def __post_init__(self) -> None:
        rooms = {room["key"] for room in self.document.get("classrooms", ())}
        if self.classroom not in rooms:
            known = ", ".join(sorted(rooms)) or "none"
            raise RuleBroken(f"The file has no classroom “{self.classroom}”: it has {known}.")

    def target(self, starts: dt.date | None = None) -> Target:
        """The classroom as a week in effect from a date is fitted to it; from the year's first day on by itself."""
        room = next(one for one in self.document["classrooms"] if one["key"] == self.classroom)
        plan = plan_of(self.document, room)
        if not plan.bells:
            raise RuleBroken(
                f"There is no bell schedule for grade {plan.grades[0]}, which {self.classroom} follows: add one."
            )
        rules = [one for one in rules_of(self.document) if one.grades & set(plan.grades) and not one.not_checkable]
        year = year_of(self.document)
        return Target(plan, year, rules, self._usual_kinds(), starts or year.first_day)

    @cached_property
    def latest_week(self) -> Mapping[str, Any]:
        """The classroom's week with the latest date, drafts left out. RuleBroken if it has none."""
        weeks = [
            one for one in self.document.get("weeks", ()) if one["classroom"] == self.classroom and not one.get("draft")
        ]
        if not weeks:
            raise RuleBroken(f"{self.classroom} has no week in the file to start from.")
        return max(weeks, key=lambda one: str(one["from"]))

    @property
    def starts(self) -> dt.date:
        return date(self.latest_week["from"])

    @cached_property
    def columns(self) -> tuple[Column, ...]:
        """The latest week's, each block under the id of what the file says of it."""
        return tuple(column_of(column) for column in self.latest_week.get("columns", ()))

    def carried(self, block: Block) -> dict[str, Any]:
        """What comes along with a block of the latest week to another classroom: what it is and why. What it shares
        and with whom it is held stay behind."""
        kept = self._written(block) or {"activity": block.activity}
        return {name: kept[name] for name in ("activity", "credits", "why") if name in kept}

    def own(self, block: Block) -> dict[str, Any]:
        """All that the file says of a block of the latest week, or what one that is added is."""
        return dict(self._written(block)) or {"activity": block.activity}

    def name_of(self, activity: str) -> str:
        names = {one["key"]: one.get("name", one["key"]) for one in self.document.get("activities", ())}
        return str(names.get(activity, activity))

    def _written(self, block: Block) -> Mapping[str, Any]:
        blocks = (one for column in self.latest_week.get("columns", ()) for one in column.get("blocks", ()))
        return next((one for one in blocks if id(one) == block.key), {})

    def _usual_kinds(self) -> dict[str, str]:
        """The kind that each day of the cycle mostly is."""
        kinds: dict[str, Counter[str]] = {}
        for day in year_of(self.document).days:
            kinds.setdefault(day.cycle_day, Counter())[day.kind] += 1
        cycle = cycle_of(self.document)
        return {day: kinds[day].most_common(1)[0][0] for day in cycle.usual_days if day in kinds}


def with_week(
    document: School, classroom: str, starts: dt.date, columns: Iterable[Column], carried: Carried
) -> Document:
    """The file with a week in the place of the classroom's of that date, if it had one."""
    made: dict[str, Any] = {"classroom": classroom, "from": starts.isoformat(), "columns": []}
    for column in columns:
        told: dict[str, Any] = {"day": column.day} if column.day else {}
        told |= {"kind": column.kind} if column.kind != REGULAR else {}
        told["blocks"] = [
            {**carried(block), "start": written_clock(block.start), "end": written_clock(block.end)}
            for block in column.blocks
        ]
        made["columns"].append(told)
    new = copy.deepcopy(dict(document))
    others = [
        one
        for one in new.get("weeks", ())
        if (one["classroom"], one["from"], bool(one.get("draft"))) != (classroom, made["from"], False)
    ]
    return {**new, "weeks": [*others, made]}
