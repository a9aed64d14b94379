"""A figure explains itself: the addends of every trace sum to what the reading says was planned."""

import random
from collections.abc import Iterator
from fractions import Fraction

import pytest

from scheduling.minutes.readings import ClassroomYear, Measured
from scheduling.minutes.rules import Part, Rule
from scheduling.minutes.tally import account, credited, pool_minutes, tally
from scheduling.minutes.trace import trace_of
from teamroom.school_file.plans import plan_of, rules_of, year_of
from tests.minutes.naive.schools import random_school

SEEDS = range(40)


def books(seed: int) -> Iterator[tuple[ClassroomYear, list[Rule]]]:
    school = random_school(random.Random(seed))  # noqa: S311 - chance for tests, nothing to guard
    year, rules = year_of(school), rules_of(school)
    for classroom in school["classrooms"]:
        yield ClassroomYear(year, plan_of(school, classroom)), rules


def windows(seed: int) -> Iterator[tuple[ClassroomYear, Part, Measured]]:
    for book, rules in books(seed):
        for rule in rules:
            for part in rule.parts:
                for window in book.every_window(rule, part):
                    yield book, part, window


@pytest.mark.parametrize("seed", SEEDS)
def test_the_addends_of_a_trace_sum_to_the_planned_figure(seed: int) -> None:
    for book, part, window in windows(seed):
        trace = trace_of(book, part, window.stretch)
        assert sum(addend.minutes for addend in trace.addends) == trace.total
        if trace.base is not None:
            planned = Fraction(trace.total) / trace.base if trace.base else 0
        else:
            planned = Fraction(trace.total) / trace.divisor if trace.divisor else 0
        assert planned == window.figures.planned


@pytest.mark.parametrize("seed", SEEDS)
def test_an_addend_says_why_it_counts_less_or_counts_all(seed: int) -> None:
    for book, part, window in windows(seed):
        if part.test.kind in ("days_met", "unbroken"):
            continue
        for addend in trace_of(book, part, window.stretch).addends:
            if addend.source == "cap":
                assert addend.minutes < 0
                assert addend.why
            elif addend.minutes == 0:
                assert addend.why


@pytest.mark.parametrize("seed", SEEDS)
def test_sums_by_activity_and_the_account_spelled_out_agree(seed: int) -> None:
    """The quick way of counting a day and the account that a trace shows are one reckoning."""
    for book, rules in books(seed):
        days = credited(book.pieces)
        for part in (part for rule in rules for part in rule.parts):
            if part.test.kind == "unbroken":
                continue
            quick = tally(part, book.pieces, days)
            for sort, pieces in enumerate(book.pieces):
                spelled_out = sum(account(part, pieces).by_activity().values())
                assert quick.free[sort] + sum(capped[sort] for capped in quick.capped) == spelled_out
            if part.test.of is not None:
                assert quick.base == pool_minutes(part.test.of, days)
