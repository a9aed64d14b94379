"""A school file's week fitted to another classroom: the file with the proposed week, and a report. No database."""

import copy
from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from scheduling.minutes.plan import Version
from scheduling.minutes.rules import Figure
from scheduling.refit.colliding import colliding
from scheduling.refit.fitting import fit
from scheduling.refit.problem import Problem
from scheduling.refit.proposal import Proposal
from scheduling.refit.taking_over import taking_over, week_of
from scheduling.refit.words import Change, changes_of
from scheduling.selectors.year_words import day_in_full
from teamroom.common.clock import written_clock
from teamroom.common.errors import RuleBroken
from teamroom.dates.calendar_maths import REGULAR
from teamroom.school_file.form import Document
from teamroom.school_file.plans import School, column_of, cycle_of, date, plan_of, rules_of, year_of


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
    rooms = {room["key"]: room for room in document.get("classrooms", ())}
    for key in (source, target):
        if key not in rooms:
            raise RuleBroken(f"The file has no classroom “{key}”: it has {', '.join(sorted(rooms)) or 'none'}.")
    week = _latest_week(document, source)
    plan = plan_of(document, rooms[target])
    if not plan.bells:
        raise RuleBroken(f"There is no bell schedule for grade {plan.grades[0]}, which {target} follows: add one.")
    year = year_of(document)
    version = Version(date(week["from"]), tuple(column_of(column) for column in week.get("columns", ())))
    rules = [rule for rule in rules_of(document) if rule.grades & set(plan.grades) and not rule.not_checkable]
    usual = _usual_kinds(document)
    problem = taking_over(version, plan, year, rules, usual=usual, keep=keep)
    if not problem.items:
        raise RuleBroken("Nothing of what is to be kept is in the week: name its days or activities.")
    proposal = fit(problem, seconds=seconds)
    if proposal is None:
        raise RuleBroken(f"No week was found in {seconds:g} seconds: give it more with --seconds.")
    names = {one["key"]: one.get("name", one["key"]) for one in document.get("activities", ())}
    changes = changes_of(proposal, bells=plan.bells, name=lambda key: str(names.get(key, key)), day_name=day_in_full)
    lacking = colliding(problem) if proposal.cost.shortfall else ((), True)
    return Refitted(
        _with_week(document, week, target, proposal), _report(proposal, changes, lacking[0], proven=lacking[1])
    )


def _latest_week(document: School, classroom: str) -> Mapping[str, Any]:
    weeks = [one for one in document.get("weeks", ()) if one["classroom"] == classroom and not one.get("draft")]
    if not weeks:
        raise RuleBroken(f"{classroom} has no week in the file to start from.")
    return max(weeks, key=lambda one: str(one["from"]))


def _usual_kinds(document: School) -> dict[str, str]:
    """The kind that each day of the cycle mostly is."""
    kinds: dict[str, Counter[str]] = {}
    for day in year_of(document).days:
        kinds.setdefault(day.cycle_day, Counter())[day.kind] += 1
    cycle = cycle_of(document)
    return {day: kinds[day].most_common(1)[0][0] for day in cycle.usual_days if day in kinds}


def _with_week(document: School, source: Mapping[str, Any], target: str, proposal: Proposal) -> Document:
    """The file with the proposed week in the place of the target's of that date, if it had one."""
    whys = {id(block): block for column in source.get("columns", ()) for block in column.get("blocks", ())}
    made = {"classroom": target, "from": source["from"], "columns": []}
    for column in week_of(proposal.problem, proposal.places):
        told: dict[str, Any] = {"day": column.day} if column.day else {}
        told |= {"kind": column.kind} if column.kind != REGULAR else {}
        told["blocks"] = [
            {**_carried(whys[block.key]), "start": written_clock(block.start), "end": written_clock(block.end)}  # type: ignore[index]  # as column_of made it
            for block in column.blocks
        ]
        made["columns"].append(told)
    new = copy.deepcopy(dict(document))
    others = [
        one
        for one in new.get("weeks", ())
        if (one["classroom"], one["from"], bool(one.get("draft"))) != (target, source["from"], False)
    ]
    return {**new, "weeks": [*others, made]}


def _carried(block: Mapping[str, Any]) -> dict[str, Any]:
    """What comes along with a block: what it is and why. What it shares and with whom it is held stay behind."""
    return {name: block[name] for name in ("activity", "credits", "why") if name in block}


def _report(
    proposal: Proposal, changes: Collection[Change], lacking: Collection[str], *, proven: bool
) -> dict[str, Any]:
    cost = proposal.cost
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
        "changes": [_told(change, proposal.problem) for change in changes],
        "collisions": [{"rules": list(lacking), "proven": proven}] if lacking else [],
    }


def _told(change: Change, problem: Problem) -> dict[str, Any]:
    item, to = change.item, change.to
    return {
        "activity": item.activity,
        "from": _place(problem, item.day, item.start, item.end),
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
