"""Dates closed in many schools at once: each school's calendar is a row of its own, all of one batch."""

import datetime as dt
import uuid
from collections.abc import Collection

from scheduling.models import CalendarWork
from scheduling.selectors.calendar_choices import schools_with_years
from scheduling.services.calendar_work import ask_together
from scheduling.services.deeds import Close, Deed, deed_from
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Member


def try_out_together(schools: Collection[int], deed: Close, member: Member) -> uuid.UUID:
    """Preview a closing in schools, by id; the batch. RuleBroken where a date is none of a school's year."""
    if deed.last < deed.first:
        raise RuleBroken("The last day closed comes before the first.", field="last_day")
    if (deed.last - deed.first) > dt.timedelta(days=366):
        raise RuleBroken("Close a year at most at a time.", field="last_day")
    years = schools_with_years(deed.first, deed.last)
    without = [pk for pk in schools if pk not in years]
    if without:
        raise RuleBroken(
            f"{len(without)} of the schools {'has' if len(without) == 1 else 'have'} no school year on these dates: "
            "leave them out.",
            field="schools",
        )
    return ask_together([(years[pk], deed) for pk in schools], member, preview=True)


def say_yes_together(previews: Collection[CalendarWork], member: Member) -> uuid.UUID:
    """Close the dates in every school whose preview held; each is held to its year as it was then."""
    asked = [
        (work.year, deed_from(work.asked["deed"]), work.outcome["told"]["revision"])
        for work in previews
        if work.state == "done" and work.asked["preview"] and work.outcome is not None
    ]
    if not asked:
        raise RuleBroken("There is no school left to close.")
    return ask_together([_held(*one) for one in asked], member, preview=False)


def take_back_together(done: Collection[CalendarWork], member: Member) -> uuid.UUID:
    """Open the dates again in every school that was closed, unless its year was changed since."""
    asked = [
        (work.year, deed_from(work.outcome["undo"]), work.outcome["revision"])
        for work in done
        if work.state == "done" and work.outcome is not None and "undo" in work.outcome
    ]
    if not asked:
        raise RuleBroken("There is nothing to take back here.")
    return ask_together([_held(*one) for one in asked], member, preview=False)


def _held(year: SchoolYear, deed: Deed, revision: str) -> tuple[SchoolYear, Deed]:
    """The year as the yes rests on it: its revision then, not the one it has by now."""
    year.revision = uuid.UUID(revision)
    return year, deed
