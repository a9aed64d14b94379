"""What a fitting proposes: where each block is to stand, what that costs, and how far it is from the best."""

from dataclasses import dataclass
from fractions import Fraction

from scheduling.refit.problem import Place, Problem


@dataclass(frozen=True, slots=True)
class Cost:
    """What a proposal costs, in the order in which it counts: minutes short of the rules, blocks
    dropped, blocks on another day, minutes of shift and of changed length. `advice` is minutes below
    what is only recommended and `wishes` minutes against what is wished: they count after the rules and
    before the blocks."""

    shortfall: Fraction
    advice: Fraction
    wishes: int
    dropped: int
    moved_days: int
    shift_minutes: int
    length_change_minutes: int

    @property
    def moving(self) -> int:
        return self.shift_minutes + self.length_change_minutes

    @property
    def rank(self) -> tuple[Fraction, Fraction, int, int, int, int]:
        """What two weeks are told apart by: the lower is the better one."""
        return self.shortfall, self.advice, self.wishes, self.dropped, self.moved_days, self.moving


@dataclass(frozen=True)
class Proposal:
    """A week that fits. `places` by the item's place in the problem, None for a block that is dropped.

    `bound` is the proven least of the last pass's minutes; `proven` is whether every pass is proven
    best. `stopped` says that time or somebody ended it before.
    """

    problem: Problem
    places: tuple[Place | None, ...]
    cost: Cost
    bound: float
    proven: bool
    seconds: float
    stopped: bool = False
