"""What a school year's things are called on the screens: activities, day kinds and rules, in words.

They change only with the year's revision, like its inputs, and every page and every edit's answer
needs them, so a process keeps the last few.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from scheduling.minutes import figures, words
from scheduling.minutes.rules import Part, Rule
from scheduling.models import Activity, SharedResource
from scheduling.models import Rule as RuleRow
from scheduling.selectors.year_inputs import YearInputs, year_inputs
from teamroom.common.clock import said_date
from teamroom.dates.calendar_maths import REGULAR, Cycle
from teamroom.dates.kept import KeptByRevision
from teamroom.dates.models import SchoolYear
from teamroom.dates.selectors import cycle_of

COLOURS = 9

DAY_NAMES = {
    "mon": "Monday",
    "tue": "Tuesday",
    "wed": "Wednesday",
    "thu": "Thursday",
    "fri": "Friday",
    "sat": "Saturday",
    "sun": "Sunday",
}


@dataclass(frozen=True, slots=True)
class ActivityWords:
    """An activity and how its blocks look: a colour, and hatching where the colours run out."""

    pk: int
    key: str
    name: str
    look: str


@dataclass(frozen=True, slots=True)
class ResourceWords:
    """Something that classes share, and how many can have it at once."""

    pk: int
    key: str
    name: str
    capacity: int


@dataclass(frozen=True, slots=True)
class PartWords:
    """A part of a rule with its sentence and its period (`a week`)."""

    place: int
    part: Part
    said: str
    period: str


@dataclass(frozen=True, slots=True)
class RuleWords:
    """A rule as the ledger and its own page tell it."""

    pk: int
    rule: Rule
    name: str
    grades: tuple[str, ...]
    standing: str
    said: words.RuleSaid
    parts: tuple[PartWords, ...]
    citation: str
    url: str
    checked: str
    note: str


@dataclass(frozen=True)
class YearWords:
    """A year's words, with the inputs they stand for. `kinds` are (key, name) by id, `resources` in the order of
    their names."""

    inputs: YearInputs
    cycle: Cycle
    activities: Mapping[int, ActivityWords]
    by_key: Mapping[str, ActivityWords]
    kinds: Mapping[int, tuple[str, str]]
    standing: Mapping[str, int]
    rules: Mapping[int, RuleWords]
    resources: Mapping[int, ResourceWords]

    @property
    def regular(self) -> int:
        return next(pk for pk, (key, _) in self.kinds.items() if key == REGULAR)

    def usual_kind(self, day: str) -> int:
        """The day kind a cycle day has unless a date says otherwise; a rotation has no weekdays."""
        return self.standing.get(day.split("-")[-1], self.regular)


def year_words(year: SchoolYear) -> YearWords:
    """The year's words as of its revision; a kept copy where there is one."""
    return _kept.of(year)


def day_said(day: str) -> str:
    """`mon` as `Mon`, `A-mon` as `A Mon`, `3` as `Day 3`."""
    if day.isdigit():
        return f"Day {day}"
    return " ".join(piece.title() for piece in day.split("-"))


def day_in_full(day: str) -> str:
    """`mon` as `Monday`, `A-mon` as `Monday of week A`, `3` as `day 3`."""
    if day.isdigit():
        return f"day {day}"
    *week, name = day.split("-")
    return f"{DAY_NAMES[name]} of week {week[0]}" if week else DAY_NAMES[name]


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def small(text: str) -> str:
    return text[:1].lower() + text[1:]


def load_year_words(year: SchoolYear, inputs: YearInputs) -> YearWords:
    """The year's words straight from the database, beside its inputs as they are."""
    rows = Activity.objects.filter(year=year).order_by("pk").values_list("pk", "key", "name")
    activities = {pk: ActivityWords(pk, key, name, _look(place)) for place, (pk, key, name) in enumerate(rows)}
    kinds = {pk: (key, name) for pk, key, name in year.day_kinds.order_by("pk").values_list("pk", "key", "name")}
    activity_names = {activity.key: activity.name for activity in activities.values()}
    kind_names = dict(kinds.values())
    return YearWords(
        inputs=inputs,
        cycle=cycle_of(year),
        activities=activities,
        by_key={activity.key: activity for activity in activities.values()},
        kinds=kinds,
        standing=dict(year.standing_kinds.values_list("weekday", "kind_id")),
        rules={
            row.pk: _rule_words(row, inputs.rules[row.pk], activity_names, kind_names)
            for row in RuleRow.objects.filter(year=year).order_by("pk")
            if row.pk in inputs.rules
        },
        resources={
            pk: ResourceWords(pk, key, name, capacity)
            for pk, key, name, capacity in SharedResource.objects.filter(year=year)
            .order_by("name", "pk")
            .values_list("pk", "key", "name", "capacity")
        },
    )


def _look(place: int) -> str:
    rounds, colour = divmod(place, COLOURS)
    return f"a{colour + 1}" + (f" h{min(rounds, 3)}" if rounds else "")


def _rule_words(row: RuleRow, rule: Rule, activities: words.Names, kinds: words.Names) -> RuleWords:
    said = words.rule_said(rule, activities, kinds)
    return RuleWords(
        pk=row.pk,
        rule=rule,
        name=row.name,
        grades=tuple(row.grades),
        standing=row.standing,
        said=said,
        parts=tuple(
            PartWords(place, part, said.parts[place], figures.period_said(part))
            for place, part in enumerate(rule.parts)
        ),
        citation=row.citation_title,
        url=row.citation_url if row.citation_url.startswith(("https://", "http://")) else "",
        checked=f"{said_date(row.citation_checked)} {row.citation_checked.year}" if row.citation_checked else "",
        note=row.note,
    )


_kept = KeptByRevision(lambda year: load_year_words(year, year_inputs(year)))
