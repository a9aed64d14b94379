"""Fitting the fifty fixed weeks: when a first proposal is there, and when the best is proven.

There is nothing to hold it against but its own aims: a first proposal in half a second, the best proven in
five in nine of ten cases.
"""

import statistics
import time

from scheduling.refit.fitting import fit
from scheduling.refit.proposal import Proposal
from tests.bench.measures import Line
from tests.refit.cases import case

CASES = 50
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
    ]
