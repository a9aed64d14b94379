"""A week as one side of a comparison: what it would give if it alone were in effect all year."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from scheduling.minutes.layout import by_place
from scheduling.minutes.plan import ClassroomPlan, Column
from scheduling.models import Reading, Week
from scheduling.selectors.week_sheet import version_said
from scheduling.selectors.year_words import YearWords
from scheduling.week_shape import Days, WeekShape, days_of, shape_of
from teamroom.dates.grades import said_grades
from teamroom.members.models import Classroom


def room_said(room: Classroom) -> str:
    """A classroom's name, with its grades where the name does not say them."""
    grades = said_grades(room.grades)
    return str(room) if grades in str(room) else f"{room}, {grades}"


@dataclass(frozen=True)
class Side:
    """A week, the words of its year, its plan with it alone in effect, and that plan's readings.

    The plan's grades are those whose rules were asked. All of it is by the school's own keys, so weeks of
    two years can stand side by side.
    """

    week: Week
    words: YearWords
    plan: ClassroomPlan
    readings: Sequence[Reading]

    @property
    def columns(self) -> tuple[Column, ...]:
        return self.plan.versions[0].columns

    def kind_of(self, day: str) -> str:
        """The key of the kind that a day of the cycle usually has."""
        return self.words.kinds[self.words.usual_kind(day)][0]

    @cached_property
    def days(self) -> Days:
        """One round of its year's cycle, each day of its usual kind."""
        days = {day: self.kind_of(day) for day in self.words.cycle.usual_days}
        return days_of(by_place(self.columns), self.plan.bells, days)

    @cached_property
    def shape(self) -> WeekShape:
        return shape_of(self.days)

    @property
    def said(self) -> str:
        """`in effect from Thu 8 Jan 2026`, or the draft's own words."""
        return version_said(self.week) if self.week.draft else f"in effect {version_said(self.week)}"

    def same_rules_as(self, other: "Side") -> bool:
        """Whether the same rules bind both: those of one year and of the same grades."""
        years = {side.week.classroom.year_id for side in (self, other)}
        return len(years) == 1 and set(self.plan.grades) == set(other.plan.grades)
