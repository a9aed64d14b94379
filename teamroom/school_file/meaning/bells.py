"""Activities and bell schedules."""

from collections.abc import Iterator

from teamroom.common.clock import minutes_of
from teamroom.dates.calendar_maths import REGULAR
from teamroom.school_file.faults import Fault, Place, shown
from teamroom.school_file.form import Document
from teamroom.school_file.meaning.ground import Ground, Span, clock_span, each, runs_backward, said_twice, span_of


def activity_faults(sound: Document, ground: Ground) -> Iterator[Fault]:
    yield from said_twice(("activities",), sound.get("activities"), "key", "an activity")


def bell_faults(sound: Document, ground: Ground) -> Iterator[Fault]:
    taken: dict[tuple[str, str], int] = {}
    for n, bell in each(sound.get("bell_schedules")):
        place = ("bell_schedules", n)
        kind = bell.get("kind", REGULAR)
        yield from ground.kinds.unknown((*place, "kind"), kind)
        for g, grade in each(bell.get("grades")):
            first = taken.setdefault((grade, kind), n)
            if first != n:
                sentence = f"Grade {grade} has a bell schedule for {shown(kind)} days already, at place {first}."
                yield Fault((*place, "grades", g), sentence)
        if "start" in bell and "dismissal" in bell and span_of(bell, "start", "dismissal") is None:
            sentence = f"Dismissal at {bell['dismissal']} is not after the start at {bell['start']}."
            yield Fault((*place, "dismissal"), sentence)
        yield from _fixed(place, bell, ground)


def _fixed(place: Place, bell: Document, ground: Ground) -> Iterator[Fault]:
    stretches: list[tuple[Span, int, frozenset[str] | None]] = []
    for n, fixed in each(bell.get("fixed")):
        where = (*place, "fixed", n)
        yield from ground.activities.unknown((*where, "activity"), fixed.get("activity"))
        yield from runs_backward(where, fixed)
        for d, day in each(fixed.get("days")):
            yield from ground.no_cycle_day((*where, "days", d), day)
        span = span_of(fixed)
        if span is None:
            continue
        yield from _outside_bell(where, span, bell)
        days = fixed.get("days")
        stretches.append((span, n, frozenset(day for _, day in each(days)) if days else None))
    yield from _overlapping((*place, "fixed"), stretches)


def _outside_bell(place: Place, span: Span, bell: Document) -> Iterator[Fault]:
    hours = span_of(bell, "start", "dismissal")
    if hours is None:
        return
    if span[0] < minutes_of(bell["start"]):
        yield Fault((*place, "start"), f"This begins before the bell does at {bell['start']}.")
    if span[1] > minutes_of(bell["dismissal"]):
        yield Fault((*place, "end"), f"This ends after dismissal at {bell['dismissal']}.")


def _overlapping(place: Place, stretches: list[tuple[Span, int, frozenset[str] | None]]) -> Iterator[Fault]:
    stretches.sort(key=lambda stretch: stretch[:2])
    for later, (span, n, days) in enumerate(stretches):
        for other, m, other_days in stretches[:later]:
            shared = days is None or other_days is None or days & other_days
            if shared and span[0] < other[1]:
                yield Fault((*place, n), f"This overlaps the fixed stretch at place {m} ({clock_span(other)}).")
                break
