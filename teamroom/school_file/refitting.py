"""A school file's week fitted to another classroom, mended, or made from nothing: the file with the week proposed,
and a report. No database."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from scheduling.minutes.rules import Figure
from scheduling.refit.closing_in import fit_closely
from scheduling.refit.colliding import colliding
from scheduling.refit.columns import week_of
from scheduling.refit.drafting import draft
from scheduling.refit.mending import mend
from scheduling.refit.problem import Problem, Wishes
from scheduling.refit.proposal import Proposal
from scheduling.refit.reckoning import shortfalls
from scheduling.refit.taking_over import Case, Target, as_it_is, from_nothing, taking_over
from scheduling.refit.words import Change, changes_of
from scheduling.selectors.year_words import day_in_full
from teamroom.common.clock import written_clock
from teamroom.common.errors import RuleBroken
from teamroom.school_file.fitting_ground import FileGround, with_week
from teamroom.school_file.form import Document
from teamroom.school_file.plans import School


@dataclass(frozen=True)
class Refitted:
    """The school file with the week proposed, and the report on it."""

    document: Document
    report: dict[str, Any]


def refitted(document: School, source: str, target: str, *, seconds: float, keep: Collection[str] = ()) -> Refitted:
    """Fit the latest week of a classroom to another's bells and rules.

    RuleBroken where a classroom is not in the file, has no week or no bell schedule, or nothing of what is
    to be kept is in the week.
    """
    source_ground, ground = FileGround(document, source), FileGround(document, target)
    aim = ground.target(source_ground.starts)
    bells = source_ground.target(aim.starts).plan.bells
    case = taking_over(source_ground.columns, aim, keep=keep, bells=bells)
    if not case.problem.items:
        raise RuleBroken("Nothing of what is to be kept is in the week: name its days or activities.")
    proposal = _found(fit_closely(case.problem, case.exactly, seconds=seconds), seconds)
    week = week_of(proposal.problem, proposal.places)
    made = with_week(document, target, aim.starts, week, source_ground.carried)
    given = [{"activity": one.activity, "from": _place(case.problem, *one.place)} for one in case.given]
    return Refitted(made, {**_report(proposal, aim, ground), "given_by_bells": given})


def drafted(
    document: School, target: str, *, seconds: float, activities: Collection[str] = (), wishes: Wishes
) -> Refitted:
    """A week for a classroom from its bells and rules alone, from the year's first day on.

    RuleBroken where it is not in the file, has no bell schedule, or no rule says what time is to be given to.
    """
    ground = FileGround(document, target)
    aim = ground.target()
    _known(document, {*activities, *wishes.ends_by, *wishes.at_a_stretch})
    case = from_nothing(aim, activities=activities, wishes=wishes)
    if not case.problem.items:
        raise RuleBroken(
            f"No rule of {target} asks for minutes of single activities: name what the week holds with --activities."
        )
    proposal = _found(fit_closely(case.problem, case.exactly, seconds=seconds, by=draft), seconds)
    week = week_of(proposal.problem, proposal.places)
    made = with_week(document, target, aim.starts, week, lambda block: {"activity": block.activity})
    report = {**_report(proposal, aim, ground, changes=False), "wishes": proposal.cost.wishes}
    return Refitted(made, {**report, "free_minutes": free_minutes(proposal)})


def mended(document: School, classroom: str, *, seconds: float, take: int = 1) -> Refitted:
    """The classroom's latest week with one of the smallest changes that mend it; the report tells of all of them.

    RuleBroken where it is not in the file or has no week, where it is short of nothing, or nothing mends it.
    """
    ground = FileGround(document, classroom)
    aim = ground.target(ground.starts)
    case = as_it_is(ground.columns, aim)
    found = mend(case.problem, seconds=seconds, exactly=case.exactly)
    if not found:
        raise RuleBroken(_nothing_mends(case, classroom, ground))
    if not 1 <= take <= len(found):
        raise RuleBroken(f"There are {len(found)} ways to mend it: take one of 1 to {len(found)}.")
    taken = found[take - 1]
    made = with_week(document, classroom, aim.starts, week_of(taken.problem, taken.places), ground.own)
    reports = [_report(one, aim, ground) for one in found]
    return Refitted(made, {**reports[take - 1], "taken": take, "ways": reports})


def free_minutes(proposal: Proposal) -> int:
    """Minutes of the days' free time that a placed week gives to nothing."""
    free = sum(stretch.end - stretch.start for day in proposal.problem.days for stretch in day.free)
    return free - sum(place.end - place.start for place in proposal.places if place is not None)


def _found(proposal: Proposal | None, seconds: float) -> Proposal:
    if proposal is None:
        raise RuleBroken(f"No week was found in {seconds:g} seconds: give it more with --seconds.")
    return proposal


def _known(document: School, activities: Collection[str]) -> None:
    known = {one["key"] for one in document.get("activities", ())}
    missing = sorted(set(activities) - known)
    if missing:
        raise RuleBroken(f"The file has no activity “{missing[0]}”: it has {', '.join(sorted(known)) or 'none'}.")


def _nothing_mends(case: Case, classroom: str, ground: FileGround) -> str:
    if not shortfalls(case.problem, [item.place for item in case.problem.items])[0]:
        return f"{classroom} is short of no rule in an ordinary week: there is nothing to mend."
    lacking, _ = colliding(case.problem)
    if not lacking:
        return f"Nothing that mends {classroom} was found in the time there was: give it more with --seconds."
    return f"No change of the week brings {classroom} nearer to its rules. These collide: {', '.join(lacking)}."


def _report(proposal: Proposal, aim: Target, ground: FileGround, *, changes: bool = True) -> dict[str, Any]:
    cost = proposal.cost
    told: Sequence[Change] = ()
    if changes:
        told = changes_of(proposal, bells=aim.plan.bells, name=ground.name_of, day_name=day_in_full)
    lacking, proven = colliding(proposal.problem) if cost.shortfall else ((), True)
    return {
        "shortfall": _number(cost.shortfall),
        "advice": _number(cost.advice),
        "dropped": cost.dropped,
        "moved_days": cost.moved_days,
        "shift_minutes": cost.shift_minutes,
        "length_change_minutes": cost.length_change_minutes,
        "objective": cost.moving,
        "bound": round(proposal.bound),
        "proven": proposal.proven,
        "seconds": round(proposal.seconds, 2),
        "changes": [_told(change, proposal.problem) for change in told],
        "collisions": [{"rules": list(lacking), "proven": proven}] if lacking else [],
    }


def _told(change: Change, problem: Problem) -> dict[str, Any]:
    item, to = change.item, change.to
    return {
        "activity": item.activity,
        "from": None if item.added else _place(problem, item.day, item.start, item.end),
        "to": None if to is None else _place(problem, *to),
        "said": change.said,
    }


def _place(problem: Problem, day: int, start: int, end: int) -> dict[str, Any]:
    column = problem.days[day]
    own = {"day": column.day} if column.day else {}
    return {**own, "kind": column.kind, "start": written_clock(start), "end": written_clock(end)}


def _number(figure: Figure) -> int | float:
    exact = Fraction(figure)
    return exact.numerator if exact.denominator == 1 else round(float(exact), 2)
