"""Day changes: their times and credits, and that no two take the same minute of a classroom."""

from collections import defaultdict
from collections.abc import Iterator

from teamroom.school_file.faults import Fault, Place, shown
from teamroom.school_file.form import Document, Form
from teamroom.school_file.meaning.ground import (
    Ground,
    Span,
    clock_span,
    credits_faults,
    each,
    runs_backward,
    span_of,
)

WHOLE_DAY: Span = (0, 24 * 60)
# The school itself, which a change for the school reaches also where there is no classroom yet.
THE_SCHOOL = ""


def day_change_faults(form: Form, ground: Ground) -> Iterator[Fault]:
    rooms_of: dict[str, list[str]] = defaultdict(list)
    for _, classroom in each(form.sound.get("classrooms")):
        if "key" in classroom and "team" in classroom:
            rooms_of[classroom["team"]].append(classroom["key"])
    taken: dict[tuple[str, str], list[tuple[Span, int]]] = defaultdict(list)
    for n, change in each(form.sound.get("day_changes")):
        place = ("day_changes", n)
        yield from ground.outside_year((*place, "date"), change.get("date"))
        for key, names in (("classrooms", ground.classrooms), ("teams", ground.teams)):
            for m, name in each(change.get(key)):
                yield from names.unknown((*place, key, m), name)
        yield from _times(place, change, form)
        span = WHOLE_DAY if change.get("closed") else span_of(change, "from", "to")
        if "credits" in change and not change.get("closed"):
            yield from credits_faults(place, change, span and span[1] - span[0], ground)
        if span is not None and "date" in change and not _scope_lost(place, form):
            for room in _reached(change, rooms_of, ground):
                taken[change["date"], room].append((span, n))
    yield from _overlapping(taken)


def _times(place: Place, change: Document, form: Form) -> Iterator[Fault]:
    if change.get("closed"):
        for key in ("from", "to", "credits"):
            if change.get(key):
                yield Fault((*place, key), f"A day that is closed takes no {key}: take it out, or take closed out.")
        return
    yield from runs_backward(place, change, "from", "to")
    if (*place, "closed") in form.places:
        return
    for key in ("from", "to"):
        if key not in change and (*place, key) not in form.places:
            meant = "the end" if key == "to" else "the start"
            yield Fault((*place, key), f"This is missing: give {meant} of what is taken, or close the day.")


def _scope_lost(place: Place, form: Form) -> bool:
    """Whether a malformed scope was taken out, so that it is not known whom the change reaches."""
    return any(other[:1] in (("classrooms",), ("teams",)) for other in form.below(place))


def _reached(change: Document, rooms_of: dict[str, list[str]], ground: Ground) -> set[str]:
    rooms, teams = change.get("classrooms"), change.get("teams")
    if not rooms and not teams:
        return {*ground.classrooms.keys, THE_SCHOOL}
    reached = {room for _, room in each(rooms)}
    for _, team in each(teams):
        reached.update(rooms_of.get(team, ()))
    return reached


def _overlapping(taken: dict[tuple[str, str], list[tuple[Span, int]]]) -> Iterator[Fault]:
    said: set[int] = set()
    for (date, room), spans in taken.items():
        spans.sort()
        latest: tuple[Span, int] | None = None
        for span, n in spans:
            if latest is not None and span[0] < latest[0][1] and n not in said:
                said.add(n)
                whom = shown(room) if room else "the school"
                sentence = (
                    f"On {date} the day change at place {latest[1]} already takes {clock_span(latest[0])} from {whom}."
                )
                yield Fault(("day_changes", n), sentence)
            if latest is None or span[1] > latest[0][1]:
                latest = span, n
