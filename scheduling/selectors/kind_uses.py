"""Where a kind of day is used, for whoever would take it away."""

from scheduling.minutes.definitions import day_kinds_named
from scheduling.minutes.figures import listed
from scheduling.models import BellSchedule, Column, Rule
from scheduling.selectors.year_words import DAY_NAMES
from teamroom.common.wording import counted
from teamroom.dates.models import DayKind

MOST_NAMED = 4


def uses_of(kind: DayKind) -> list[str]:
    """Each use in words, such as `every Wednesday` or `3 dates`; none for a kind that can go."""
    year = kind.year_id
    told = [
        f"every {DAY_NAMES[day]}"
        for day in kind.year.standing_kinds.filter(kind=kind).values_list("weekday", flat=True)
    ]
    if dates := kind.year.calendar_days.filter(kind=kind).count():
        told.append(counted(dates, "date"))
    if grades := BellSchedule.objects.filter(kind=kind).order_by("grade").values_list("grade", flat=True):
        told.append(f"bell times of {_some([f'grade {grade}' for grade in grades])}")
    columns = Column.objects.filter(kind=kind).select_related("week__classroom").order_by("week__classroom__name")
    if rooms := list(dict.fromkeys(str(column.week.classroom) for column in columns)):
        told.append(f"days planned in {_some(rooms)}")
    if rules := [rule.name for rule in Rule.objects.filter(year=year).order_by("pk") if _names(rule, kind.key)]:
        told.append(f"the rule {rules[0]}" if len(rules) == 1 else f"the rules {_some(rules)}")
    return told


def _names(rule: Rule, key: str) -> bool:
    return any(named == key for _, named in day_kinds_named(rule.body))


def _some(names: list[str]) -> str:
    more = len(names) - MOST_NAMED
    return listed(names) if more <= 0 else f"{', '.join(names[:MOST_NAMED])} and {more} more"
