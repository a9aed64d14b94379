"""A rule as it is written in a school file, read into the values the counting uses.

The writing is plain JSON: a part at the rule's top level, or `all` or `any` of parts. Its form is
held by the school file's schema; what a schema cannot say about a part is `part_faults`.
"""

import datetime as dt
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Any

from scheduling.minutes.rules import (
    TEST_KINDS,
    Cap,
    Part,
    Pool,
    Rule,
    RuleTest,
    ShareCap,
    TestKind,
    Window,
)

Written = Mapping[str, Any]
Place = tuple[str | int, ...]

PART_KEYS = (
    "pool",
    *TEST_KINDS,
    "window",
    "run",
    "mean",
    "sitting",
    "caps",
    "not_beside",
    "day_kinds",
    "short_window",
)
BODY_KEYS = ("all", "any", *PART_KEYS)
EVERYTHING: Written = {"except": []}


def body_of(written: Written) -> dict[str, Any]:
    """The pieces of a written rule that say what it demands, without its name and source."""
    return {key: written[key] for key in BODY_KEYS if key in written}


def written_parts(body: Written) -> list[tuple[Place, Written]]:
    """A body's parts, each with its place below the rule."""
    for join in ("all", "any"):
        if join in body:
            return [((join, n), part) for n, part in enumerate(body[join])]
    return [((), body)] if any(key in body for key in PART_KEYS) else []


def rule_from(
    body: Written,
    *,
    key: str,
    grades: frozenset[str],
    effective_from: dt.date | None = None,
    effective_to: dt.date | None = None,
    not_checkable: str = "",
) -> Rule:
    """A rule from its written body; the body must be free of faults."""
    return Rule(
        key=key,
        grades=grades,
        parts=tuple(part_from(part) for _, part in written_parts(body)),
        any_of="any" in body,
        effective_from=effective_from,
        effective_to=effective_to,
        not_checkable=not_checkable,
    )


def part_from(written: Written) -> Part:
    """A part from its writing. Without a pool every activity counts; without a window, a week."""
    caps = written.get("caps", ())
    kinds = written.get("day_kinds")
    return Part(
        pool=pool_from(written.get("pool", EVERYTHING)),
        test=_test_from(written),
        window=_window_from(written),
        mean=written.get("mean"),
        sitting=written.get("sitting", 0),
        caps=tuple(Cap(cap["activity"], cap["at_most"], cap.get("per", "day")) for cap in caps if "at_most" in cap),
        share_caps=tuple(
            ShareCap(cap["activity"], Fraction(cap["at_most_share"])) for cap in caps if "at_most_share" in cap
        ),
        not_beside=tuple((pair["activity"], pair["beside"]) for pair in written.get("not_beside", ())),
        day_kinds=frozenset(kinds) if kinds else None,
        short_window=written.get("short_window"),
    )


def pool_from(written: Written) -> Pool:
    if "of" in written:
        return Pool(frozenset(written["of"]))
    return Pool(frozenset(written["except"]), except_=True)


def window_kind(written: Written) -> str:
    """The window a part is written for: a `run` given alone means that window, else a week."""
    return str(written.get("window", "run" if "run" in written else "week"))


def tests_in(written: Written) -> list[TestKind]:
    return [kind for kind in TEST_KINDS if kind in written]


def _test_from(written: Written) -> RuleTest:
    (kind,) = tests_in(written)
    asked = written[kind]
    if kind == "share":
        return RuleTest(kind, Fraction(asked["at_least"]), of=pool_from(asked["of"]))
    if kind == "days_met":
        return RuleTest(kind, asked["at_least"], minutes=asked.get("minutes", 1))
    return RuleTest(kind, asked)


def _window_from(written: Written) -> Window:
    kind = window_kind(written)
    if kind == "run":
        return Window("run", written["run"]["days"], written["run"].get("rolling", False))
    return Window(kind)  # type: ignore[arg-type]  # the schema admits no other word


def activities_named(body: Written) -> Iterator[tuple[Place, str]]:
    """Every activity a body names, each with its place below the rule."""
    for place, part in written_parts(body):
        pools = [((*place, "pool"), part.get("pool", {}))]
        if "share" in part:
            pools.append(((*place, "share", "of"), part["share"].get("of", {})))
        for where, pool in pools:
            for word in ("of", "except"):
                for n, activity in enumerate(pool.get(word, ())):
                    yield (*where, word, n), activity
        for n, cap in enumerate(part.get("caps", ())):
            if "activity" in cap:
                yield (*place, "caps", n, "activity"), cap["activity"]
        for n, pair in enumerate(part.get("not_beside", ())):
            for word in ("activity", "beside"):
                if word in pair:
                    yield (*place, "not_beside", n, word), pair[word]


def day_kinds_named(body: Written) -> Iterator[tuple[Place, str]]:
    """Every day kind a body names, each with its place below the rule."""
    for place, part in written_parts(body):
        for n, kind in enumerate(part.get("day_kinds", ())):
            yield (*place, "day_kinds", n), kind


def part_faults(written: Written) -> Iterator[tuple[Place, str]]:
    """What is wrong with a part that a schema cannot say: place below the part, and how to mend it."""
    tests = tests_in(written)
    if not tests:
        yield (), "This part asks nothing: give it one of " + ", ".join(TEST_KINDS) + "."
    if len(tests) > 1:
        yield (
            (tests[1],),
            f"A part makes one test: keep {tests[0]} or {tests[1]}, or make two parts under all.",
        )
    window = window_kind(written)
    if window == "run" and "run" not in written:
        yield ("window",), 'Say how many school days a run has, as in "run": {"days": 10}.'
    if window != "run" and "run" in written:
        yield ("run",), f"The window is {window}: take run out, or make the window a run."
    if window == "month" and written.get("short_window") == "prorate":
        yield ("short_window",), "A month cannot be prorated: say full or skip."
    if tests:
        yield from _unfit_for_test(written, tests[0])


def _unfit_for_test(written: Written, test: TestKind) -> Iterator[tuple[Place, str]]:
    if "mean" in written and test in ("share", "unbroken", "days_met"):
        yield ("mean",), f"A mean says nothing about {test}: take mean out."
    for n, cap in enumerate(written.get("caps", ())):
        if test == "unbroken":
            yield ("caps", n), "An unbroken stretch is judged without caps: take the cap out."
        elif "at_most_share" in cap and test in ("share", "days_met"):
            yield (
                ("caps", n, "at_most_share"),
                f"A share of the requirement cannot cap {test}: give at_most in minutes.",
            )
