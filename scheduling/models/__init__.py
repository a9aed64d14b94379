"""Weeks, what the school fixes, rules, day changes, and the readings worked out from them."""

from scheduling.models.calendar_work import CalendarWork
from scheduling.models.day_changes import DayChange, DayChangeCredit, DayChangeReach
from scheduling.models.readings import Reading
from scheduling.models.rules import Rule
from scheduling.models.school_times import Activity, BellSchedule, FixedStretch
from scheduling.models.specialists import SpecialistPost
from scheduling.models.weeks import Block, BlockCredit, Column, Week, WeekChange

__all__ = [
    "Activity",
    "BellSchedule",
    "Block",
    "BlockCredit",
    "CalendarWork",
    "Column",
    "DayChange",
    "DayChangeCredit",
    "DayChangeReach",
    "FixedStretch",
    "Reading",
    "Rule",
    "SpecialistPost",
    "Week",
    "WeekChange",
]
