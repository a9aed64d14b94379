"""The work of a fitting: the problem out of the database, the solver, and what it found as the row keeps it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from scheduling.models import Block, Fitting
from scheduling.refit.closing_in import fit_closely
from scheduling.refit.colliding import colliding
from scheduling.refit.drafting import draft
from scheduling.refit.fitting import CannotHold, Stop
from scheduling.refit.mending import mend
from scheduling.refit.problem import Item, Place, Problem, Wishes
from scheduling.refit.proposal import Proposal
from scheduling.refit.reckoning import shortfalls
from scheduling.refit.taking_over import Case, as_it_is, from_nothing, taking_over
from scheduling.refit.words import Change, changes_of
from scheduling.selectors.fitting_ground import FittingGround, SourceWeek
from scheduling.selectors.year_words import day_in_full
from teamroom.common.errors import RuleBroken

SECONDS = 20.0
Way = dict[str, Any]
"""A proposal as the row keeps it: what it costs, what it changes, and the blocks it comes to."""
Tell = Callable[[list[Way]], object]


@dataclass(frozen=True)
class Work:
    """A fitting made ready: its problem, and what is known of the blocks it starts from."""

    fitting: Fitting
    ground: FittingGround
    case: Case
    source: SourceWeek
    own: SourceWeek

    @property
    def blocks(self) -> Mapping[int, Block]:
        return {**self.own.blocks, **self.source.blocks}

    @property
    def given(self) -> list[str]:
        """The names of the activities of which the bells give some already."""
        return sorted({self._name(item.activity) for item in self.case.given})

    def way(self, proposal: Proposal) -> Way:
        """A proposal as the row keeps it."""
        changes = changes_of(proposal, bells=self.ground.target.plan.bells, name=self._name, day_name=day_in_full)
        cost = proposal.cost
        return {
            "shortfall": float(cost.shortfall),
            "advice": float(cost.advice),
            "wishes": cost.wishes,
            "dropped": cost.dropped,
            "moved_days": cost.moved_days,
            "moving": cost.moving,
            "bound": proposal.bound,
            "proven": proposal.proven,
            "stopped": proposal.stopped,
            "free": _free(proposal),
            "changes": [self._change(proposal.problem, change) for change in changes],
            "days": [[day.day, day.kind] for day in proposal.problem.days],
            "blocks": [
                self._block(item, place)
                for item, place in zip(proposal.problem.items, proposal.places, strict=True)
                if place is not None
            ],
        }

    def _change(self, problem: Problem, change: Change) -> dict[str, Any]:
        item = change.item
        return {
            "key": key_of(problem, item),
            "said": change.said,
            "was": None if item.added else list(item.place),
            "now": None if change.to is None else list(change.to),
        }

    def _block(self, item: Item, place: Place) -> dict[str, Any]:
        block = self.blocks.get(item.key) if isinstance(item.key, int) else None
        return {
            "place": list(place),
            "activity": item.activity,
            "credits": [list(credit) for credit in item.credits],
            "block": None if block is None else block.pk,
        }

    def _name(self, key: str) -> str:
        found = self.ground.words.by_key.get(key)
        return found.name if found is not None else key


def made_ready(fitting: Fitting) -> Work:
    """The problem of a fitting. RuleBroken if there is nothing to fit, or no bells to fit it to."""
    ground = FittingGround(fitting.classroom, fitting.starts)
    if not ground.target.plan.bells:
        raise RuleBroken("The class has no bell schedule yet: an administrator sets it first, for its grade.")
    asked, own = fitting.asked, ground.own
    if fitting.kind == "draft":
        source = ground.source(fitting.source) if fitting.source is not None else SourceWeek(None)
        case = from_nothing(
            ground.target,
            activities=asked.get("activities", ()),
            wishes=Wishes(asked.get("ends_by", {}), asked.get("at_a_stretch", {})),
            beside=source.columns,
            together=asked.get("together", ()),
        )
        nothing = "No rule asks for minutes of single activities: choose what the week is to hold."
    else:
        if fitting.source is None:
            raise RuleBroken("The week it was to start from is gone: choose another.")
        source = ground.source(fitting.source)
        nothing = "Nothing of what you chose is in that week: choose other days or activities."
        if fitting.kind == "mend":
            case = as_it_is(source.columns, ground.target)
        else:
            keep = asked.get("keep", ())
            case = taking_over(source.columns, ground.target, keep=keep, own=own.columns, bells=source.bells)
    if not case.problem.items:
        raise RuleBroken(nothing)
    work = Work(fitting, ground, case, source, own)
    problem = case.problem
    shared = ground.shared(problem.days, problem.items, work.blocks)
    held = {**problem.held, **_decided(problem, asked.get("decided", {}))}
    return replace(work, case=replace(case, problem=replace(problem, shared=shared, held=held)))


def solve(work: Work, *, tell: Tell, stop: Stop, seconds: float = SECONDS) -> tuple[list[Way], list[str]]:
    """What was found, the best first, and the rules that collide where some cannot be met.

    `tell` hears of what is found so far. RuleBroken if nothing was, with why.
    """
    problem, exactly = work.case.problem, work.case.exactly
    try:
        if work.fitting.kind == "mend":
            found = _mended(work, tell, stop, seconds)
        else:
            by = draft if work.fitting.kind == "draft" else None
            more = {"by": by} if by is not None else {}
            one = fit_closely(
                problem, exactly, seconds=seconds, tell=lambda it: tell([work.way(it)]), stop=stop, **more
            )
            found = [one] if one is not None else []
    except CannotHold as cannot:
        raise RuleBroken(
            "What you decided cannot all be so: two of the blocks overlap, or one lies outside the day’s free time. "
            "Let one of them move."
        ) from cannot
    if not found:
        raise RuleBroken("No week was found in the time there was: try again, or take fewer days or activities.")
    lacking: Sequence[str] = ()
    if found[0].cost.shortfall and not stop.asked:
        lacking, _ = colliding(found[0].problem)
    return [work.way(one) for one in found], list(lacking)


def _mended(work: Work, tell: Tell, stop: Stop, seconds: float) -> list[Proposal]:
    so_far: list[Way] = []

    def one_more(proposal: Proposal) -> None:
        so_far.append(work.way(proposal))
        tell(so_far)

    found = mend(work.case.problem, seconds=seconds, tell=one_more, stop=stop, exactly=work.case.exactly)
    if not found:
        raise RuleBroken(_why_nothing_mends(work, stop))
    return found


def _why_nothing_mends(work: Work, stop: Stop) -> str:
    problem = work.case.problem
    if not shortfalls(problem, [item.place for item in problem.items])[0]:
        return (
            "In an ordinary week nothing is short, so no change of the week mends anything. What is short is so on "
            "days out of the ordinary, or was so before this date."
        )
    if stop.asked:
        return "You stopped the search before anything was found that mends the week."
    lacking, _ = colliding(problem)
    if lacking:
        names = {rule.rule.key: rule.name for rule in work.ground.words.rules.values()}
        these = ", ".join(names.get(key, key) for key in lacking)
        return f"No change of the week brings it nearer to its rules. They cannot all be met: {these}."
    return "Nothing that mends the week was found in the time there was: take over another, or change it by hand."


def key_of(problem: Problem, item: Item) -> str:
    """What a block of a fitting is known by from one proposal to the next."""
    day = problem.days[item.day]
    own = "-".join(map(str, item.key)) if isinstance(item.key, tuple) else str(item.key)
    return f"{own}@{day.day}:{day.kind}"


def _decided(problem: Problem, decided: Mapping[str, Sequence[int] | None]) -> dict[int, Place | None]:
    """Where blocks are held by what somebody decided of an earlier proposal."""
    numbers = {key_of(problem, item): number for number, item in enumerate(problem.items)}
    return {numbers[key]: None if place is None else Place(*place) for key, place in decided.items() if key in numbers}


def _free(proposal: Proposal) -> int:
    free = sum(stretch.end - stretch.start for day in proposal.problem.days for stretch in day.free)
    return free - sum(place.end - place.start for place in proposal.places if place is not None)
