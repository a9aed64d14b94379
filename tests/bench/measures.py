"""Timing, and the lines a benchmark prints."""

import statistics
import time
from collections.abc import Callable
from typing import NamedTuple


class Line(NamedTuple):
    """One figure; `ratio` is this one's time over that of what it stands against."""

    bench: str
    what: str
    milliseconds: float
    ratio: float | None = None
    against: str = ""


def median_ms(act: Callable[[], object], *, times: int, warm: int = 2) -> float:
    """The median time of an act in milliseconds, after some runs that are not counted."""
    for _ in range(warm):
        act()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        act()
        taken.append((time.perf_counter() - start) * 1000)
    return statistics.median(taken)


def paired_ms(one: Callable[[], object], other: Callable[[], object], *, times: int) -> tuple[float, float]:
    """Medians of two acts taken in turn, so that a slow moment of the machine meets both."""
    taken: tuple[list[float], list[float]] = ([], [])
    for n in range(times + 5):
        for act, found in zip((one, other), taken, strict=True):
            start = time.perf_counter()
            act()
            if n >= 5:
                found.append((time.perf_counter() - start) * 1000)
    return statistics.median(taken[0]), statistics.median(taken[1])
