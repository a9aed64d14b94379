"""The bell schedules of a year as their page shows them: by kind of day and grade, each drawn to scale."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from hashlib import blake2b
from urllib.parse import urlencode

from django.http import Http404

from scheduling.minutes.figures import listed, minutes_said
from scheduling.minutes.layout import without
from scheduling.models import BellSchedule, FixedStretch
from scheduling.selectors.year_words import YearWords, capital, day_said, small, year_words
from teamroom.common.clock import said_clock, said_span
from teamroom.dates.grades import LADDER, said_grades
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, Team

HOUR = 60
EMPTY_DAY = (8 * HOUR, 15 * HOUR)


@dataclass(frozen=True, slots=True)
class Stretch:
    """A fixed stretch in words. Without cycle days of its own (`on`, and `days` in words) it stands on every day."""

    activity: int
    name: str
    look: str
    start: int
    end: int
    times: str
    on: tuple[str, ...]
    days: str

    @property
    def length(self) -> int:
        return self.end - self.start


@dataclass(frozen=True, slots=True)
class DayStrip:
    """The day as these cycle days have it; `title` is '' where all are alike."""

    title: str
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True)
class BellLine:
    """A grade's times on a kind of day; `pk` is 0 where it has none. Lengths in minutes.

    `free` is what fixed time leaves for blocks, on the day with the least and on the one with the most.
    """

    grade: str
    kind: int
    kind_name: str
    title: str
    leads: int
    pk: int = 0
    start: int = 0
    dismissal: int = 0
    bell: str = ""
    free: tuple[int, int] = (0, 0)
    stretches: tuple[Stretch, ...] = ()
    strips: tuple[DayStrip, ...] = ()

    @property
    def place(self) -> str:
        """The grade and kind as forms and addresses spell them."""
        return f"{self.grade}:{self.kind}"

    @property
    def length(self) -> int:
        return self.dismissal - self.start

    @property
    def said(self) -> str:
        """`6 h 30, 335 min of it for blocks`."""
        least, most = self.free
        left = minutes_said(least) if least == most else f"{minutes_said(least)} to {minutes_said(most)}"
        return f"{minutes_said(self.length)}, of which {left} for blocks"


@dataclass(frozen=True, slots=True)
class BellGroup:
    """Grades that have the same times on a kind of day, or that have none."""

    lines: tuple[BellLine, ...]

    @property
    def like(self) -> BellLine:
        """Any of them, for what they share."""
        return self.lines[0]

    @property
    def title(self) -> str:
        return capital(said_grades([line.grade for line in self.lines]))

    @property
    def leads(self) -> int:
        return sum(line.leads for line in self.lines)

    @property
    def asked(self) -> str:
        """The grades as the address of the form takes them."""
        return urlencode([("for", line.place) for line in self.lines])


@dataclass(frozen=True, slots=True)
class KindOfDay:
    """A kind of day with a line for each grade."""

    pk: int
    name: str
    regular: bool
    lines: tuple[BellLine, ...]

    @property
    def groups(self) -> list[BellGroup]:
        """The grades by their times, each group where its first grade stands; classes that wait for times apart."""
        alike: dict[object, list[BellLine]] = {}
        for line in self.lines:
            waits = self.regular and not line.pk and line.leads > 0
            alike.setdefault((waits, line.start, line.dismissal, line.strips, line.stretches), []).append(line)
        return [BellGroup(tuple(lines)) for lines in alike.values()]

    @property
    def missing(self) -> int:
        """How many grades that lead a class have no times of a regular day, on which all other days rest."""
        return sum(1 for line in self.lines if self.regular and not line.pk and line.leads)


@dataclass(frozen=True, slots=True)
class BellsPage:
    """All of it, with the span of the day that the strips are drawn in."""

    kinds: tuple[KindOfDay, ...]
    first: int
    last: int

    @property
    def hours(self) -> list[tuple[int, str]]:
        return [(hour, said_clock(hour)) for hour in range(self.first, self.last + 1, HOUR)]

    @property
    def lines(self) -> list[BellLine]:
        """Every schedule there is."""
        return [line for kind in self.kinds for line in kind.lines if line.pk]

    @property
    def by_grade(self) -> list[tuple[str, tuple[BellLine, ...]]]:
        """Each grade's title with its line for each kind of day."""
        return [(lines[0].title, lines) for lines in zip(*(kind.lines for kind in self.kinds), strict=True)]

    @property
    def grades(self) -> list[str]:
        return [line.grade for line in self.kinds[0].lines] if self.kinds else []

    @property
    def seal(self) -> str:
        """Equal for equal schedules, so that a form can tell whether somebody was first."""
        told = [
            (line.place, line.start, line.dismissal, sorted((s.activity, s.start, s.end, s.on) for s in line.stretches))
            for line in self.lines
        ]
        return blake2b(repr(told).encode(), digest_size=16).hexdigest()


def bells_page(year: SchoolYear) -> BellsPage:
    """Every kind of day with every grade of the year's teams, classrooms and schedules. A fixed number of queries."""
    words = year_words(year)
    rows = list(BellSchedule.objects.filter(year=year).prefetch_related("fixed"))
    at = {(row.grade, row.kind_id): row for row in rows}
    leads = leading_grades(year)
    grades = in_order({*leads, *_grades_named(year), *(row.grade for row in rows)})
    first = min((row.start for row in rows), default=EMPTY_DAY[0])
    last = max((row.dismissal for row in rows), default=EMPTY_DAY[1])
    kinds = sorted(words.kinds, key=lambda kind: kind != words.regular)
    return BellsPage(
        kinds=tuple(
            KindOfDay(
                kind,
                words.kinds[kind][1],
                kind == words.regular,
                tuple(_line(words, grade, kind, leads.get(grade, 0), at.get((grade, kind))) for grade in grades),
            )
            for kind in kinds
        ),
        first=first // HOUR * HOUR,
        last=-(-last // HOUR) * HOUR,
    )


def bell_in(year: SchoolYear, pk: int) -> BellSchedule:
    """One of the year's own schedules, or 404."""
    bell = BellSchedule.objects.filter(year=year, pk=pk).select_related("kind").first()
    if bell is None:
        raise Http404
    return bell


def leading_grades(year: SchoolYear) -> dict[str, int]:
    """How many classes follow each grade's bells: a combination class follows its first grade's."""
    found: dict[str, int] = {}
    for grades in Classroom.objects.filter(year=year, retired=False).values_list("grades", flat=True):
        found[grades[0]] = found.get(grades[0], 0) + 1
    return found


def in_order(grades: Iterable[str]) -> list[str]:
    """Grades as a school climbs them, names of its own at the end."""
    return sorted(grades, key=lambda grade: (LADDER.index(grade) if grade in LADDER else len(LADDER), grade))


def places_said(places: Iterable[tuple[str, str]]) -> str:
    """Grades and kinds of day as `grades 3 to 5 on a regular day, and grade 4 on a minimum day`."""
    by_kind: dict[str, list[str]] = {}
    for grade, kind in places:
        by_kind.setdefault(kind, []).append(grade)
    by_grades: dict[tuple[str, ...], list[str]] = {}
    for kind, grades in by_kind.items():
        by_grades.setdefault(tuple(in_order(grades)), []).append(f"a {small(kind)}")
    return listed([f"{said_grades(grades)} on {listed(kinds)}" for grades, kinds in by_grades.items()])


def _grades_named(year: SchoolYear) -> set[str]:
    lists = [
        *Team.objects.filter(year=year, retired=False).values_list("grades", flat=True),
        *Classroom.objects.filter(year=year, retired=False).values_list("grades", flat=True),
    ]
    return {grade for grades in lists for grade in grades}


def _line(words: YearWords, grade: str, kind: int, leads: int, row: BellSchedule | None) -> BellLine:
    who = (grade, kind, words.kinds[kind][1], capital(said_grades([grade])), leads)
    if row is None:
        return BellLine(*who)
    stretches = tuple(_stretches(words, row.fixed.all()))
    days = _day_sets(words, list(row.fixed.all()))
    strips = tuple(
        DayStrip(
            listed([day_said(day) for day in names]) if len(days) > 1 else "",
            tuple(_stretches(words, [one for one in row.fixed.all() if one.days is None or names[0] in one.days])),
        )
        for names in days
    )
    free = [_free(row, strip.stretches) for strip in strips]
    return BellLine(
        *who,
        pk=row.pk,
        start=row.start,
        dismissal=row.dismissal,
        bell=said_span(row.start, row.dismissal),
        free=(min(free), max(free)),
        stretches=stretches,
        strips=strips,
    )


def _free(row: BellSchedule, stretches: Iterable[Stretch]) -> int:
    taken = [(one.start, one.end) for one in stretches]
    return sum(end - start for start, end in without((row.start, row.dismissal), taken))


def _stretches(words: YearWords, rows: Iterable[FixedStretch]) -> Iterator[Stretch]:
    order = {day: place for place, day in enumerate(words.cycle.day_names)}
    for row in sorted(rows, key=lambda row: (row.start, row.end, row.pk)):
        activity = words.activities[row.activity_id]
        days = sorted(row.days or (), key=lambda day: order.get(day, len(order)))
        yield Stretch(
            row.activity_id,
            activity.name,
            activity.look,
            row.start,
            row.end,
            said_span(row.start, row.end),
            tuple(days),
            listed([day_said(day) for day in days]),
        )


def _day_sets(words: YearWords, rows: Sequence[FixedStretch]) -> list[list[str]]:
    """The usual days in sets that have the same fixed stretches, in the order of the cycle."""
    found: dict[tuple[int, ...], list[str]] = {}
    for day in words.cycle.usual_days:
        here = tuple(row.pk for row in rows if row.days is None or day in row.days)
        found.setdefault(here, []).append(day)
    return list(found.values())
