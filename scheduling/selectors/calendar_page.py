"""The calendar of a year: months of weeks of dates, the school days counted, and what lies ahead."""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from scheduling.minutes.figures import listed
from scheduling.models import DayChange
from scheduling.selectors.preview_words import required_said
from scheduling.selectors.year_inputs import year_inputs
from teamroom.common.clock import said_date, said_span
from teamroom.dates.calendar_maths import REGULAR, SchoolDay, dates_between, monday_of
from teamroom.dates.models import Closure, SchoolYear

MOST_AHEAD = 12
COLOURS = 9
OUTSIDE, WEEKEND, CLOSED, OPEN = "outside", "weekend", "closed", "open"


@dataclass(frozen=True, slots=True)
class KindWords:
    """A day kind as the calendar shows it: a letter and a colour; the regular kind has neither."""

    key: str
    name: str
    letter: str
    look: str


@dataclass(frozen=True, slots=True)
class ChangeWords:
    """A day change: what it is, when, and for whom."""

    pk: int
    name: str
    closed: bool
    when: str
    whom: str
    credits: str


@dataclass(frozen=True, slots=True)
class DateCell:
    """A date of the year. `state` says how it stands, `label` all of it in words."""

    date: dt.date
    state: str
    kind: KindWords | None
    own_kind: bool
    closure: str
    cycle: str
    changes: tuple[ChangeWords, ...]
    today: bool
    label: str

    @property
    def said_cycle(self) -> str:
        return cycle_said(self.cycle)


@dataclass(frozen=True, slots=True)
class WeekRow:
    """Monday to Sunday; None where another month's date would stand. `cycle` is the week's letter."""

    monday: dt.date
    cycle: str
    cells: tuple[DateCell | None, ...]


@dataclass(frozen=True, slots=True)
class Month:
    """A month of the year: its weeks, its school days in all and of each kind in the order of the legend,
    and its closures, each as the days of this month and the name."""

    key: str
    name: str
    weeks: tuple[WeekRow, ...]
    days: int
    by_kind: tuple[int, ...]
    current: bool
    closures: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Ahead:
    """Something that lies ahead: from when, what, and its date's address."""

    date: dt.date
    when: str
    what: str
    look: str


@dataclass(frozen=True)
class CalendarPage:
    """All of it. `required` says how the year's days stand to what the school must hold."""

    months: tuple[Month, ...]
    kinds: tuple[KindWords, ...]
    days: int
    by_kind: tuple[int, ...]
    required: str
    source: str
    enough: bool | None
    ahead: tuple[Ahead, ...]
    cycle: str
    today: dt.date | None


@dataclass(frozen=True)
class _Facts:
    """What a calendar is drawn from: everything of the year, read once."""

    days: Mapping[dt.date, SchoolDay]
    kinds: Mapping[str, KindWords]
    named: frozenset[dt.date]
    closures: Sequence[Closure]
    closed: Mapping[dt.date, str]
    changes: Mapping[dt.date, Sequence[ChangeWords]]
    today: dt.date


def calendar_page(year: SchoolYear) -> CalendarPage:
    """The year's calendar in a fixed number of queries."""
    facts = _facts(year)
    kinds = tuple(facts.kinds.values())
    months = tuple(_months(year, facts))
    count = Counter(day.kind for day in facts.days.values())
    total = len(facts.days)
    required = year.required_days
    return CalendarPage(
        months=months,
        kinds=kinds,
        days=total,
        by_kind=tuple(count[kind.key] for kind in kinds),
        required=required_said(total, required),
        source=year.required_days_source,
        enough=None if required is None else total >= required,
        ahead=tuple(_ahead(facts))[:MOST_AHEAD],
        cycle=year.cycle_kind,
        today=facts.today if year.first_day <= facts.today <= year.last_day else None,
    )


def date_cell(year: SchoolYear, date: dt.date) -> DateCell | None:
    """One date of the year as the calendar shows it; None outside the year."""
    if not year.first_day <= date <= year.last_day:
        return None
    return _cell(year, _facts(year), date)


def _facts(year: SchoolYear) -> _Facts:
    closures = list(year.closures.order_by("first_day"))
    return _Facts(
        days={day.date: day for day in year_inputs(year).year.days},
        kinds=_kinds(year),
        named=frozenset(year.calendar_days.values_list("date", flat=True)),
        closures=closures,
        closed={date: one.name for one in closures for date in dates_between(one.first_day, one.last_day)},
        changes=_changes(year),
        today=year.school.today(),
    )


def _kinds(year: SchoolYear) -> dict[str, KindWords]:
    """The year's day kinds, the regular one first, each other with a letter and colour of its own."""
    rows = sorted(year.day_kinds.order_by("pk").values_list("key", "name"), key=lambda row: row[0] != REGULAR)
    taken: set[str] = set()
    kinds: dict[str, KindWords] = {}
    for place, (key, name) in enumerate(rows):
        letter = "" if key == REGULAR else _letter(name, taken)
        taken.add(letter)
        kinds[key] = KindWords(key, name, letter, "" if key == REGULAR else f"a{(place - 1) % COLOURS + 1}")
    return kinds


def _letter(name: str, taken: set[str]) -> str:
    """The first letter of a name that no other kind has; a number where all are taken."""
    candidates = [char.upper() for char in name if char.isalnum()]
    return next((char for char in (*candidates, *"ABCDEFGHIJKLMNOPQRSTUVWXYZ") if char not in taken), str(len(taken)))


def _changes(year: SchoolYear) -> dict[dt.date, list[ChangeWords]]:
    found: dict[dt.date, list[ChangeWords]] = defaultdict(list)
    rows = DayChange.objects.filter(year=year).order_by("date", "start", "pk")
    for change in rows.prefetch_related("classrooms", "teams", "credits__activity"):
        whom = [str(one) for one in (*change.teams.all(), *change.classrooms.all())]
        credits = [f"{credit.activity} {credit.minutes} minutes" for credit in change.credits.all()]
        found[change.date].append(
            ChangeWords(
                pk=change.pk,
                name=change.name,
                closed=change.closed,
                when="all day, closed" if change.closed else said_span(change.start, change.end),
                whom=listed(whom) or "the whole school",
                credits=listed(credits),
            )
        )
    return found


def _months(year: SchoolYear, facts: _Facts) -> Iterator[Month]:
    first = year.first_day.replace(day=1)
    while first <= year.last_day:
        following = (first + dt.timedelta(days=31)).replace(day=1)
        days = [day for date, day in facts.days.items() if first <= date < following]
        count = Counter(day.kind for day in days)
        yield Month(
            key=f"{first:%Y-%m}",
            name=f"{first:%B} {first.year}",
            weeks=tuple(_weeks(year, facts, first, following - dt.timedelta(days=1))),
            days=len(days),
            by_kind=tuple(count[key] for key in facts.kinds),
            current=first <= facts.today < following,
            closures=tuple(_closed_in(facts, first, following - dt.timedelta(days=1))),
        )
        first = following


def _closed_in(facts: _Facts, first: dt.date, last: dt.date) -> Iterator[tuple[str, str]]:
    """A month's closures in order: the days of this month, and the name."""
    for one in facts.closures:
        start, end = max(one.first_day, first), min(one.last_day, last)
        if start <= end:
            yield str(start.day) if start == end else f"{start.day}\N{EN DASH}{end.day}", one.name


def _weeks(year: SchoolYear, facts: _Facts, first: dt.date, last: dt.date) -> Iterator[WeekRow]:
    monday = monday_of(first)
    while monday <= last:
        dates = [monday + dt.timedelta(days=n) for n in range(7)]
        cells = tuple(_cell(year, facts, date) if first <= date <= last else None for date in dates)
        letters = {cell.cycle.split("-")[0] for cell in cells if cell is not None and "-" in cell.cycle}
        yield WeekRow(monday, "".join(letters), cells)
        monday += dt.timedelta(days=7)


def _cell(year: SchoolYear, facts: _Facts, date: dt.date) -> DateCell:
    day = facts.days.get(date)
    closure = facts.closed.get(date, "")
    if not year.first_day <= date <= year.last_day:
        state = OUTSIDE
    elif day is not None:
        state = OPEN
    else:
        state = CLOSED if closure else WEEKEND
    kind = facts.kinds[day.kind] if day is not None else None
    changes = tuple(facts.changes.get(date, ())) if state != OUTSIDE else ()
    return DateCell(
        date=date,
        state=state,
        kind=kind,
        own_kind=date in facts.named,
        closure=closure if state == CLOSED else "",
        cycle=day.cycle_day if day is not None else "",
        changes=changes,
        today=date == facts.today,
        label=_label(date, state, kind, closure, day, changes, today=date == facts.today),
    )


def _label(
    date: dt.date,
    state: str,
    kind: KindWords | None,
    closure: str,
    day: SchoolDay | None,
    changes: Sequence[ChangeWords],
    *,
    today: bool,
) -> str:
    """`Thu 14 Jan, minimum day, day 3, today; Assembly 9:00-9:50`."""
    words = [said_date(date)]
    if state == OUTSIDE:
        words.append("outside the school year")
    elif kind is not None:
        words.append(kind.name)
    else:
        words.append(f"closed: {closure}" if state == CLOSED else "no school")
    if day is not None:
        words += [cycle_said(day.cycle_day)] if cycle_said(day.cycle_day) else []
    if today:
        words.append("today")
    told = ", ".join(words)
    return "; ".join([told, *(f"{change.name}, {change.when}" for change in changes)])


def cycle_said(cycle_day: str) -> str:
    """`week A` of `A-mon`, `day 3` of `3`; empty for a weekday, which the date says itself."""
    if cycle_day.isdigit():
        return f"day {cycle_day}"
    return f"week {cycle_day[0]}" if "-" in cycle_day else ""


def _ahead(facts: _Facts) -> Iterator[Ahead]:
    """Closures, dates of a kind of their own and day changes from today on, in order of time."""
    found: list[Ahead] = []
    for one in facts.closures:
        if one.last_day >= facts.today:
            when = said_date(one.first_day)
            when += f" to {said_date(one.last_day)}" if one.last_day > one.first_day else ""
            found.append(Ahead(one.first_day, when, one.name, "closed"))
    for date in facts.named:
        day = facts.days.get(date)
        if date >= facts.today and day is not None:
            kind = facts.kinds[day.kind]
            found.append(Ahead(date, said_date(date), kind.name, kind.look))
    for date, changes in facts.changes.items():
        if date >= facts.today:
            for change in changes:
                what = f"{change.name}, {change.when}, {change.whom}"
                found.append(Ahead(date, said_date(date), what, "change"))
    yield from sorted(found, key=lambda one: (one.date, one.what))
