"""Drafts of a week: prepared for a date, counting for nothing until put in effect by one act.

The caller has the week from `access`, inside the same transaction, locked and its year held.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from hashlib import blake2b

from django.db import transaction

from scheduling.minutes.plan import ClassroomPlan
from scheduling.models import Reading, Week
from scheduling.selectors.plans import alone, plan_with
from scheduling.selectors.preview_words import Preview
from scheduling.selectors.sides import Side
from scheduling.selectors.year_inputs import year_inputs
from scheduling.selectors.year_words import YearWords, year_words
from scheduling.services.compliance import ReadingChanges, stored_readings, wanted_readings
from scheduling.services.preview import previewed
from scheduling.services.week_records import note
from scheduling.services.week_versions import changed, check_start, copy_of
from teamroom.common.errors import RuleBroken, Stale
from teamroom.dates.services import check_in_year
from teamroom.members.models import Member


@transaction.atomic(savepoint=False)
def prepare_draft(week: Week, *, starts: dt.date, member: Member, name: str = "") -> Week:
    """A copy of a week as a draft for a date; any number may stand for the same one."""
    check_in_year(week.classroom.year, starts, field="starts")
    draft = Week(classroom=week.classroom, starts=starts, draft=True, draft_name=name.strip(), drafted_by=member)
    copy_of(week, draft, member)
    changed(week.classroom, counts=False)
    return draft


@transaction.atomic(savepoint=False)
def put_in_effect(draft: Week, *, seen: str, member: Member, replace: bool = False) -> ReadingChanges:
    """Let a draft count from its date on.

    Stale if the draft, the weeks in effect or the year are no longer as `seen`, a mark by `mark_of`.
    A version that starts on the same date is refused, or with `replace` becomes a draft itself.
    """
    if seen != mark_of(draft):
        raise Stale("The draft or the weeks in effect were changed in the meantime: look at what this does now.")
    if not draft.draft:
        raise RuleBroken("This week is in effect already.")
    if replace:
        for replaced in Week.objects.filter(classroom=draft.classroom_id, starts=draft.starts, draft=False):
            _set_aside(replaced, member)
    check_start(draft.classroom, draft.starts)
    draft.draft = False
    draft.save(update_fields=["draft"])
    note(draft, "in effect", member)
    return changed(draft.classroom)


@transaction.atomic(savepoint=False)
def take_out(week: Week, *, member: Member) -> ReadingChanges:
    """Take a version out of effect: it becomes a draft, with its history; the one before it holds on."""
    if week.draft:
        raise RuleBroken("This is a draft already: it is not in effect.")
    _set_aside(week, member)
    return changed(week.classroom)


@transaction.atomic(savepoint=False)
def throw_away(draft: Week) -> ReadingChanges:
    """Drop a draft with its history. RuleBroken for a version in effect: that is taken out first."""
    if not draft.draft:
        raise RuleBroken("This version is in effect: take it out of effect, and it becomes a draft.")
    draft.delete()
    return changed(draft.classroom, counts=False)


def mark_of(draft: Week) -> str:
    """What tells one state of a draft, its classroom's weeks in effect and their year from another."""
    weeks = Week.objects.filter(classroom=draft.classroom_id, draft=False).order_by("pk")
    held = list(weeks.values_list("pk", "starts", "revision"))
    own = (draft.pk, draft.draft, draft.starts, draft.revision)
    told = repr((draft.classroom.year.revision, draft.classroom.grades, own, held))
    return blake2b(told.encode(), digest_size=16).hexdigest()


def effect_of(draft: Week, *, member: Member) -> Preview:
    """What putting a draft in effect, in the place of any version from its date, would do to the readings."""

    def deed() -> None:
        held = Week.objects.select_for_update(of=("self",)).select_related("classroom__year__school").get(pk=draft.pk)
        put_in_effect(held, seen=mark_of(held), member=member, replace=True)

    return previewed(draft.classroom.year, deed)


def would_be(draft: Week) -> list[Reading]:
    """The classroom's readings as they would be with the draft in effect; nothing is written."""
    classroom = draft.classroom
    inputs = year_inputs(classroom.year)
    stored = stored_readings([classroom], None)[classroom.pk]
    return list(wanted_readings(inputs, classroom, plan_with(inputs, draft), None, stored).values())


def all_year(week: Week, grades: Sequence[str] = ()) -> Side:
    """A week as if it were in effect all year, by the rules of its classroom's grades or of other `grades` of its
    year; nothing is written. Its bell times and what befalls its classroom stay its own."""
    words = year_words(week.classroom.year)
    plan = alone(words.inputs, week)
    return side_of(week, words, replace(plan, grades=tuple(grades) or plan.grades))


def in_place_of(side: Side, other: Side) -> Side | None:
    """One week held in the year of another, by the rules of that one's grades and with what befalls its classroom;
    only its bell times stay its own. None where the two years name their days differently."""
    if side.words.cycle.day_names != other.words.cycle.day_names:
        return None
    plan = replace(other.plan, versions=side.plan.versions, bells=side.plan.bells)
    return side_of(side.week, other.words, plan)


def side_of(week: Week, words: YearWords, plan: ClassroomPlan) -> Side:
    """A week as one side of a comparison, by a plan that has it alone; nothing is written."""
    readings = wanted_readings(words.inputs, week.classroom, plan, None, {})
    return Side(week, words, plan, list(readings.values()))


def _set_aside(week: Week, member: Member) -> None:
    week.draft = True
    week.drafted_by = week.drafted_by or member
    week.save(update_fields=["draft", "drafted_by"])
    note(week, "taken out", member)
