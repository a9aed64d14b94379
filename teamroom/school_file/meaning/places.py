"""Teams, classrooms and the weeks of classrooms."""

from collections.abc import Iterator

from teamroom.dates.calendar_maths import REGULAR
from teamroom.school_file.faults import Fault, Place, shown
from teamroom.school_file.form import Document, Form
from teamroom.school_file.meaning.ground import (
    Ground,
    Span,
    clock_span,
    credits_faults,
    each,
    runs_backward,
    said_twice,
    span_of,
)
from teamroom.school_file.meaning.sharing import Capacities, capacities, use_faults


def team_faults(sound: Document, ground: Ground) -> Iterator[Fault]:
    yield from said_twice(("teams",), sound.get("teams"), "key", "a team")
    yield from said_twice(("classrooms",), sound.get("classrooms"), "key", "a classroom")
    retired = {team.get("key") for _, team in each(sound.get("teams")) if team.get("retired")}
    for n, classroom in each(sound.get("classrooms")):
        team = classroom.get("team")
        yield from ground.teams.unknown(("classrooms", n, "team"), team)
        if team in retired and not classroom.get("retired"):
            yield Fault(("classrooms", n, "team"), f"The team {shown(team)} is retired: retire the classroom too.")


def week_faults(form: Form, ground: Ground) -> Iterator[Fault]:
    seen: dict[tuple[str, str], int] = {}
    resources = capacities(form)
    for n, week in each(form.sound.get("weeks")):
        place = ("weeks", n)
        classroom, start = week.get("classroom"), week.get("from")
        yield from ground.classrooms.unknown((*place, "classroom"), classroom)
        yield from ground.outside_year((*place, "from"), start)
        counting = not week.get("draft") and (*place, "draft") not in form.places
        if "draft_name" in week and counting:
            yield Fault((*place, "draft_name"), "Only a draft has such a name: say draft too, or leave the name out.")
        # Any number of drafts may be for one date.
        if classroom is not None and start is not None and counting:
            first = seen.setdefault((classroom, start), n)
            if first != n:
                sentence = f"{shown(classroom)} has a week from {start} already, at place {first}: change a date."
                yield Fault((*place, "from"), sentence)
        yield from _columns((*place, "columns"), week, resources, form, ground)


def _columns(place: Place, week: Document, resources: Capacities, form: Form, ground: Ground) -> Iterator[Fault]:
    seen: dict[tuple[str, str], int] = {}
    for n, column in each(week.get("columns")):
        where = (*place, n)
        day, kind = column.get("day", ""), column.get("kind", REGULAR)
        yield from ground.no_cycle_day((*where, "day"), column.get("day"))
        yield from ground.kinds.unknown((*where, "kind"), column.get("kind"))
        if form.places.isdisjoint({where, (*where, "day"), (*where, "kind")}):
            first = seen.setdefault((day, kind), n)
            if first != n:
                yield Fault(where, f"The column at place {first} is of the same day and kind: join them.")
        yield from _blocks((*where, "blocks"), column, resources, ground)


def _blocks(place: Place, column: Document, resources: Capacities, ground: Ground) -> Iterator[Fault]:
    spans: list[tuple[Span, int]] = []
    for n, block in each(column.get("blocks")):
        where = (*place, n)
        yield from ground.activities.unknown((*where, "activity"), block.get("activity"))
        yield from runs_backward(where, block)
        span = span_of(block)
        if span is not None:
            spans.append((span, n))
        yield from use_faults(where, block, resources, ground)
        if "credits" in block:
            yield from credits_faults(where, block, span and span[1] - span[0], ground)
    spans.sort()
    latest: tuple[Span, int] | None = None
    for span, n in spans:
        if latest is not None and span[0] < latest[0][1]:
            yield Fault((*place, n), f"This block overlaps the one at place {latest[1]} ({clock_span(latest[0])}).")
        if latest is None or span[1] > latest[0][1]:
            latest = span, n
