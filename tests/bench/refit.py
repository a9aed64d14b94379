"""Fitting the fifty fixed weeks: when a first proposal is there, and when the best is proven.

There is nothing to hold it against but its own aims: a first proposal in half a second, the best proven in
five in nine of ten cases.
"""

import statistics
import time

from scheduling.refit.fitting import fit
from scheduling.refit.proposal import Proposal
from scheduling.refit.team import fit_team
from tests.bench.measures import Line
from tests.refit.cases import case, team

CASES = 50
TEAMS = 5
SECONDS = 60.0
AIM = 5.0


def run() -> list[Line]:
    first, proven = [], []
    for number in range(CASES):
        began = time.monotonic()
        heard: list[float] = []

        def tell(found: Proposal, began: float = began, heard: list[float] = heard) -> None:
            heard.append(time.monotonic() - began)

        found = fit(case(number), seconds=SECONDS, tell=tell)
        if found is None or not found.proven:
            raise AssertionError(f"case {number} is not proven in {SECONDS:g} seconds")
        first.append(heard[0])
        proven.append(found.seconds)
    in_time = sum(seconds <= AIM for seconds in proven)
    return [
        Line("refit", f"first proposal, the slowest of {CASES} cases", max(first) * 1000),
        Line("refit", f"best proven, median of {CASES} cases", statistics.median(proven) * 1000),
        Line("refit", f"best proven, the 45th of {CASES}; {in_time} within {AIM:g} s", sorted(proven)[44] * 1000),
        Line("refit", "best proven, the slowest", max(proven) * 1000),
        *_teams(),
    ]


def _teams() -> list[Line]:
    """Six classes that share a lab and a gym: the first weeks, and how near to the bound after twenty seconds."""
    first, near = [], 0
    for number in range(TEAMS):
        heard: list[float] = []
        found = fit_team(team(number), seconds=20, tell=lambda one, heard=heard: heard.append(one.seconds))  # type: ignore[misc]  # bound now
        if found is None:
            raise AssertionError(f"team {number} has no weeks in 20 seconds")
        first.append(heard[0])
        near += found.gap <= 0.05
    return [
        Line("refit", f"first weeks of six, the slowest of {TEAMS} teams", max(first) * 1000),
        Line("refit", "of these within 5 % of the proven bound in 20 s (a count)", near),
    ]
