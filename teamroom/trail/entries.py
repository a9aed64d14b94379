"""The trail as its page shows it: one entry for each moment, with its few records or a summary of its many."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.utils import timezone

from scheduling.minutes.figures import listed
from scheduling.models import Activity
from teamroom.common.wording import counted
from teamroom.dates.models import SchoolYear
from teamroom.trail.columns import Words
from teamroom.trail.kinds import BY_KEY, PLACE
from teamroom.trail.naming import Names, names_for
from teamroom.trail.reading import (
    LATEST,
    Asked,
    Count,
    Moment,
    Record,
    counts_at,
    first_records_at,
    moments_before,
    records_at,
)
from teamroom.trail.wording import Said, said, who

A_PAGE = 30
MOST_LINES = 6
LINES_OF_ONE = 100
LOADED = "school file"
DEEDS = {"insert": "added", "update": "changed", "delete": "removed"}


@dataclass(frozen=True)
class Entry:
    """What one moment did. With more records than `lines` shows, `summary` counts them all."""

    moment: Moment
    at: dt.datetime
    who: str
    summary: str
    lines: tuple[Said, ...]
    total: int


@dataclass(frozen=True)
class Page:
    """Entries, newest first, and the moment from which older ones are asked for."""

    entries: tuple[Entry, ...]
    older: dt.datetime | None


@dataclass(frozen=True)
class OneMoment:
    """All of one moment in steps, and the place from which the next step is asked for."""

    at: dt.datetime
    who: str
    lines: tuple[Said, ...]
    next: tuple[int, int] | None


def page_of(asked: Asked, before: dt.datetime | None = None) -> Page:
    """The latest entries before a moment, in a fixed number of queries."""
    moments = moments_before(asked, before or LATEST, A_PAGE + 1)
    shown = moments[:A_PAGE]
    if not shown:
        return Page((), None)
    counts = by_moment(counts_at(asked, shown))
    records = by_moment(first_records_at(asked, shown, MOST_LINES))
    words = words_for(asked.year, [record for some in records.values() for record in some])
    entries = [_entry(asked.year, moment, counts[moment], records[moment], words) for moment in records]
    return Page(tuple(entries), shown[-1] if len(moments) > A_PAGE else None)


def one_moment(asked: Asked, moment: Moment, after: tuple[int, int]) -> OneMoment | None:
    """The next records of a moment after a place; None where there are none."""
    records = records_at(asked, moment, after, LINES_OF_ONE + 1)
    if not records:
        return None
    shown = records[:LINES_OF_ONE]
    words = words_for(asked.year, shown)
    return OneMoment(
        at=at_school(asked.year, moment.at),
        who=who(shown[0], words.names),
        lines=tuple(said(record, words) for record in shown),
        next=shown[-1].place if len(records) > LINES_OF_ONE else None,
    )


def words_for(year: SchoolYear, records: Collection[Record]) -> Words:
    """What the sentences of some records are made with."""
    return Words(
        names=names_for(records) if records else Names(),
        activities=dict(Activity.objects.filter(year=year).values_list("key", "name")),
        kinds=dict(year.day_kinds.values_list("key", "name")),
    )


def at_school(year: SchoolYear, at: dt.datetime) -> dt.datetime:
    """A moment by the school's clock, without a zone, so that no template moves it into the server's."""
    return timezone.make_naive(at, ZoneInfo(year.school.time_zone))


def by_moment(things: Iterable[Count] | Iterable[Record]) -> dict[Moment, list]:  # type: ignore[type-arg]  # of either
    """Grouped, newest moment first."""
    found: dict[Moment, list[Count | Record]] = defaultdict(list)
    for thing in things:
        found[thing.moment].append(thing)
    return dict(sorted(found.items(), key=lambda pair: pair[0].at, reverse=True))


def _entry(year: SchoolYear, moment: Moment, counts: list[Count], records: list[Record], words: Words) -> Entry:
    total = sum(count.number for count in counts)
    deed = records[0].about.get("deed", "")
    many = total > MOST_LINES or deed == LOADED
    return Entry(
        moment=moment,
        at=at_school(year, moment.at),
        who=who(records[0], words.names),
        summary=summary_said(counts, deed) if many else "",
        lines=() if many else tuple(said(record, words) for record in records),
        total=total,
    )


def summary_said(counts: Sequence[Count], deed: str) -> str:
    """`Added 21 rules and 10 classrooms; removed 3 bell schedules`, or what a school file brought."""
    if deed == LOADED:
        came = _listed(counts, {"insert", "update"})
        gone = any(count.label == "delete" for count in counts)
        return f"Loaded a school file: {came or 'nothing new'}" + (
            "; what was there before gave way to it" if gone else ""
        )
    parts = [f"{word} {told}" for label, word in DEEDS.items() if (told := _listed(counts, {label}))]
    said = "; ".join(parts)
    return said[:1].upper() + said[1:]


def _listed(counts: Sequence[Count], labels: set[str]) -> str:
    return listed(list(_counted(counts, labels)))


def _counted(counts: Sequence[Count], labels: set[str]) -> Iterator[str]:
    numbers: dict[str, int] = defaultdict(int)
    for count in counts:
        if count.label in labels:
            numbers[count.kind] += count.number
    for key in sorted(numbers, key=PLACE.__getitem__):
        yield counted(numbers[key], BY_KEY[key].thing, BY_KEY[key].things)
