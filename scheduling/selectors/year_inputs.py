"""What a school year gives every classroom's counting: calendar, bells and rules.

They change seldom and are asked for with every edit, so a process keeps the last few, told apart
by the year's revision.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from scheduling.minutes.definitions import rule_from
from scheduling.minutes.plan import Bell, FixedStretch
from scheduling.minutes.rules import Rule
from scheduling.minutes.year import Year
from scheduling.models import Activity, BellSchedule, SharedResource
from scheduling.models import Rule as RuleRow
from teamroom.dates.kept import KeptByRevision
from teamroom.dates.models import SchoolYear
from teamroom.dates.selectors import school_days_of


@dataclass(frozen=True)
class YearInputs:
    """A year as the counting needs it, with the keys that database rows stand for.

    `rules` are by the row's id, in the school's order; `bells` by grade and day kind.
    """

    year: Year
    rules: Mapping[int, Rule]
    bells: Mapping[str, Mapping[str, Bell]]
    activities: Mapping[int, str]
    day_kinds: Mapping[int, str]
    resources: Mapping[int, str]

    def rules_for(self, grade: str) -> list[tuple[int, Rule]]:
        return [(pk, rule) for pk, rule in self.rules.items() if grade in rule.grades]


def year_inputs(year: SchoolYear) -> YearInputs:
    """The year's inputs as of its revision; a kept copy where there is one.

    `year` must have been read in the present transaction, as its revision decides.
    """
    return _kept.of(year)


def load_year_inputs(year: SchoolYear) -> YearInputs:
    """The year's inputs straight from the database."""
    activities = dict(Activity.objects.filter(year=year).values_list("pk", "key"))
    day_kinds = dict(year.day_kinds.values_list("pk", "key"))
    return YearInputs(
        year=Year(school_days_of(year), first_day=year.first_day, last_day=year.last_day),
        rules={row.pk: rule_of(row) for row in RuleRow.objects.filter(year=year).order_by("pk")},
        bells=_bells(year, activities, day_kinds),
        activities=activities,
        day_kinds=day_kinds,
        resources=dict(SharedResource.objects.filter(year=year).values_list("pk", "key")),
    )


def rule_of(row: RuleRow) -> Rule:
    return rule_from(
        row.body,
        key=row.key,
        grades=frozenset(row.grades),
        effective_from=row.effective_from,
        effective_to=row.effective_to,
        not_checkable=row.not_checkable,
    )


def _bells(year: SchoolYear, activities: Mapping[int, str], day_kinds: Mapping[int, str]) -> dict[str, dict[str, Bell]]:
    bells: dict[str, dict[str, Bell]] = {}
    rows = BellSchedule.objects.filter(year=year).order_by("pk").prefetch_related("fixed")
    for row in rows:
        fixed = tuple(
            FixedStretch(
                stretch.start,
                stretch.end,
                activities[stretch.activity_id],
                frozenset(stretch.days) if stretch.days is not None else None,
            )
            for stretch in row.fixed.all()
        )
        bells.setdefault(row.grade, {})[day_kinds[row.kind_id]] = Bell(row.start, row.dismissal, fixed)
    return bells


_kept = KeptByRevision(load_year_inputs)
