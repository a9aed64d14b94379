"""How far a batch of calendar changes is, school by school, and what came of it."""

import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from scheduling.models import CalendarWork


@dataclass(frozen=True, slots=True)
class SchoolLine:
    """One school's part of a batch, with what it does there once that is known."""

    work: CalendarWork
    school: str
    told: dict[str, Any] | None


@dataclass(frozen=True)
class BatchPage:
    """A batch as its page shows it; `percent` of all classrooms are worked out."""

    batch: uuid.UUID
    preview: bool
    lines: tuple[SchoolLine, ...]
    finished: bool
    done: int
    refused: int
    percent: int
    classrooms: int
    falls: int
    undoable: bool


def works_of(batch: uuid.UUID) -> list[CalendarWork]:
    """A batch's rows by school, in one query."""
    works = CalendarWork.objects.filter(batch=batch).select_related("year__school")
    return list(works.order_by("year__school__name", "pk"))


def batch_page(works: Sequence[CalendarWork]) -> BatchPage:
    """What the rows of one batch come to. There must be one."""
    lines = tuple(SchoolLine(work, work.year.school.name, (work.outcome or {}).get("told")) for work in works)
    classrooms = sum(work.classrooms for work in works)
    worked = sum(work.classrooms if work.state == "done" else work.classrooms_done for work in works)
    finished = all(work.state in ("done", "refused") for work in works)
    return BatchPage(
        batch=works[0].batch,
        preview=bool(works[0].asked["preview"]),
        lines=lines,
        finished=finished,
        done=sum(work.state == "done" for work in works),
        refused=sum(work.state == "refused" for work in works),
        percent=100 if finished else min(99, round(100 * worked / classrooms)) if classrooms else 0,
        classrooms=classrooms,
        falls=sum(line.told["falls"] for line in lines if line.told is not None),
        undoable=any("undo" in (work.outcome or {}) for work in works),
    )
