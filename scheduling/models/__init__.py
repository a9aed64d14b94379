"""Weeks, what the school fixes, rules, day changes, and the readings worked out from them."""

from scheduling.models.calendar_work import CalendarWork
from scheduling.models.day_changes import DayChange, DayChangeCredit, DayChangeReach
from scheduling.models.fittings import Fitting
from scheduling.models.questions import Answer, Question
from scheduling.models.readings import Reading
from scheduling.models.rules import Rule
from scheduling.models.school_times import Activity, BellSchedule, FixedStretch
from scheduling.models.sharing import BlockUse, SharedResource
from scheduling.models.specialists import SpecialistPost
from scheduling.models.spreadsheets import SentSheet, WrittenName
from scheduling.models.weeks import Block, BlockCredit, Column, TeamBlock, Week, WeekChange

__all__ = [
    "Activity",
    "Answer",
    "BellSchedule",
    "Block",
    "BlockCredit",
    "BlockUse",
    "CalendarWork",
    "Column",
    "DayChange",
    "DayChangeCredit",
    "DayChangeReach",
    "Fitting",
    "FixedStretch",
    "Question",
    "Reading",
    "Rule",
    "SentSheet",
    "SharedResource",
    "SpecialistPost",
    "TeamBlock",
    "Week",
    "WeekChange",
    "WrittenName",
]
