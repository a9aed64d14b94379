"""What a fitting of a classroom's week is worked out from: its days, rules and other weeks, the week it starts from
by its blocks, and what other classes have of what is shared. A fixed number of queries."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from scheduling.minutes.plan import Bell, Column
from scheduling.models import Activity, Block, Week
from scheduling.refit.problem import Day, Item, Shared, Taken
from scheduling.refit.taking_over import Target
from scheduling.selectors.plans import alone, plans_of
from scheduling.selectors.resource_uses import SchoolUses, school_uses
from scheduling.selectors.weeks_in_effect import weeks_in_effect
from scheduling.selectors.year_days import usual_days
from scheduling.selectors.year_inputs import year_inputs
from scheduling.selectors.year_words import YearWords, year_words
from teamroom.members.models import Classroom


@dataclass(frozen=True)
class SourceWeek:
    """A week as a fitting starts from it: its columns, their blocks under their ids, and the rows of those blocks.

    `bells` are those of its own class. `unknown` are the names of activities that the target's year does not have:
    their blocks are left behind.
    """

    week: Week | None
    columns: tuple[Column, ...] = ()
    blocks: Mapping[int, Block] = field(default_factory=dict)
    unknown: tuple[str, ...] = ()
    bells: Mapping[str, Bell] = field(default_factory=dict)


@dataclass(frozen=True)
class FittingGround:
    """A classroom's year as a week from a date is fitted to it."""

    classroom: Classroom
    starts: dt.date

    @cached_property
    def words(self) -> YearWords:
        return year_words(self.classroom.year)

    @cached_property
    def target(self) -> Target:
        inputs = self.words.inputs
        plan = plans_of(inputs, [self.classroom])[self.classroom.pk]
        rules = [
            rule
            for rule in inputs.rules.values()
            if not rule.not_checkable and rule.grades & set(self.classroom.grades)
        ]
        return Target(plan, inputs.year, rules, usual_days(self.words), self.starts)

    @cached_property
    def own(self) -> SourceWeek:
        """The classroom's week in effect on the date, if there is one."""
        weeks = weeks_in_effect(Classroom.objects.filter(pk=self.classroom.pk), self.starts)
        week = weeks.select_related("classroom__year__school").first()
        return self.source(week) if week is not None else SourceWeek(None)

    def source(self, week: Week) -> SourceWeek:
        """A week of this year or another's of the school; activities and day kinds are the same if their keys are."""
        plan = alone(year_inputs(week.classroom.year), week)
        known = set(self.words.inputs.activities.values())
        rows = Block.objects.filter(column__week=week).select_related("column", "activity")
        blocks = {block.pk: block for block in rows.prefetch_related("credits__activity", "uses__resource")}
        unknown = {key for block in blocks.values() for key in _keys(block) if key not in known}
        names = Activity.objects.filter(year=week.classroom.year_id, key__in=unknown).order_by("name")
        return SourceWeek(
            week,
            tuple(_of_known(column, known) for column in plan.versions[0].columns),
            blocks,
            tuple(names.values_list("name", flat=True)) if unknown else (),
            {kind: _bell_of_known(bell, known) for kind, bell in plan.bells.items()},
        )

    def shared(self, days: Iterable[Day], items: Iterable[Item], blocks: Mapping[int, Block]) -> tuple[Shared, ...]:
        """What other classes have of what these blocks need, on the date the week begins to hold."""
        keys = {resource.key: resource for resource in self.words.resources.values()}
        needed: dict[str, dict[int, int]] = {}
        for number, item in enumerate(items):
            block = blocks.get(item.key) if isinstance(item.key, int) else None
            for use in block.uses.all() if block is not None else ():
                if use.resource.key in keys:
                    needed.setdefault(use.resource.key, {})[number] = use.amount
        uses = school_uses(self.classroom.year, self.starts, [keys[key].pk for key in needed])
        return tuple(
            Shared(key, keys[key].capacity, tuple(self._taken(uses, keys[key].pk, days)), amounts)
            for key, amounts in needed.items()
        )

    def _taken(self, uses: SchoolUses, resource: int, days: Iterable[Day]) -> Iterable[Taken]:
        others = replace(uses, holders={pk: one for pk, one in uses.holders.items() if pk != self.classroom.pk})
        for number, day in enumerate(days):
            if day.day:
                for use in others.uses(resource, day.day, day.kind):
                    yield Taken(number, use.start, use.end, use.amount)


def _keys(block: Block) -> set[str]:
    return {block.activity.key, *(credit.activity.key for credit in block.credits.all())}


def _bell_of_known(bell: Bell, known: set[str]) -> Bell:
    return replace(bell, fixed=tuple(one for one in bell.fixed if one.activity in known))


def _of_known(column: Column, known: set[str]) -> Column:
    blocks = (b for b in column.blocks if {b.activity, *(credit.activity for credit in b.credits)} <= known)
    return replace(column, blocks=tuple(blocks))
