"""Where the kinds of day are used, for whoever would take one away."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping

from scheduling.minutes.definitions import day_kinds_named
from scheduling.minutes.figures import listed
from scheduling.models import BellSchedule, Column, Rule
from scheduling.selectors.year_words import DAY_NAMES
from teamroom.common.wording import counted
from teamroom.dates.calendar_maths import WEEKDAYS
from teamroom.dates.models import DayKind, SchoolYear

MOST_NAMED = 4
Names = Mapping[int, list[str]]


def uses_of(kind: DayKind) -> list[str]:
    """Each use in words, such as `every Wednesday` or `3 dates`; none for a kind that can go."""
    return kind_uses(kind.year).get(kind.pk, [])


def kind_uses(year: SchoolYear) -> dict[int, list[str]]:
    """The uses of every kind of day of a year, by its id. A fixed number of queries."""
    told: defaultdict[int, list[str]] = defaultdict(list)
    standing = sorted(year.standing_kinds.values_list("kind", "weekday"), key=lambda row: WEEKDAYS.index(row[1]))
    for kind, weekday in standing:
        told[kind].append(f"every {DAY_NAMES[weekday]}")
    for kind, count in sorted(Counter(year.calendar_days.values_list("kind", flat=True)).items()):
        told[kind].append(counted(count, "date"))
    bells = BellSchedule.objects.filter(year=year).order_by("grade").values_list("kind", "grade")
    for kind, grades in _by_kind((kind, f"grade {grade}") for kind, grade in bells).items():
        told[kind].append(f"bell times of {_some(grades)}")
    for kind, rooms in _rooms(year).items():
        told[kind].append(f"days planned in {_some(rooms)}")
    for kind, rules in _rules(year).items():
        told[kind].append(f"the rule {rules[0]}" if len(rules) == 1 else f"the rules {_some(rules)}")
    return dict(told)


def _rooms(year: SchoolYear) -> Names:
    columns = Column.objects.filter(week__classroom__year=year).order_by("week__classroom__name", "week__classroom")
    rows = columns.values_list("kind", "week__classroom__name", "week__classroom__key").distinct()
    return _by_kind((kind, name or key) for kind, name, key in rows)


def _rules(year: SchoolYear) -> Names:
    kinds = dict(year.day_kinds.values_list("key", "pk"))
    named = [
        (kinds[key], rule.name)
        for rule in Rule.objects.filter(year=year).order_by("pk")
        for _, key in day_kinds_named(rule.body)
        if key in kinds
    ]
    return _by_kind(dict.fromkeys(named))


def _by_kind(pairs: Iterable[tuple[int, str]]) -> Names:
    found: defaultdict[int, list[str]] = defaultdict(list)
    for kind, name in pairs:
        found[kind].append(name)
    return found


def _some(names: list[str]) -> str:
    more = len(names) - MOST_NAMED
    return listed(names) if more <= 0 else f"{', '.join(names[:MOST_NAMED])} and {more} more"
