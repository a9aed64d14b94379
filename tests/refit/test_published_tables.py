"""Weeks drafted and fitted by published figures: recommended weekly tables as demands, bell schedules as days.

Sources, as kept in the project's reference on minutes rules:
- Missouri, recommended minutes of instruction, elementary: dese.mo.gov/divimprove/sia/msip/recommendedmtsofinstr.html
- Wisconsin, minimum allocated instructional time, minutes a week for a six-hour day: cal.dpi.wi.gov/cal_timeallo
- Fruitvale School District, bell schedules: fruitvale.k12.ca.us/apps/bell_schedules
- Sanchez Elementary, San Francisco, bell schedule: sfusd.edu (the daily sums are ours)
"""

from collections import Counter
from collections.abc import Mapping

import pytest

from scheduling.minutes.plan import Bell, FixedStretch
from scheduling.refit.columns import days_of
from scheduling.refit.drafting import draft
from scheduling.refit.fitting import fit
from scheduling.refit.laying_out import laid_out
from scheduling.refit.problem import Day, Demand, Item, Need, Problem, Wishes
from scheduling.refit.proposal import Proposal
from tests.refit.checker import faults

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri")
MISSOURI = {
    "1-3": {
        "reading": 450,
        "language arts": 300,
        "math": 300,
        "social studies": 150,
        "science": 150,
        "pe": 60,
        "art": 60,
        "music": 60,
        "health": 60,
    },
    "4-6": {
        "reading": 300,
        "language arts": 300,
        "math": 300,
        "social studies": 200,
        "science": 200,
        "pe": 60,
        "art": 60,
        "music": 60,
        "health": 60,
    },
}
MISSOURI_TOTALS = {"1-3": 1590, "4-6": 1540}
SUBJECTS = ("reading", "math", "social studies", "science", "health", "pe", "art", "music", "world language")
WISCONSIN = {
    "1": (700, 300, 125, 100, 75, 150, 90, 75),
    "2": (700, 300, 150, 100, 75, 150, 90, 75),
    "3": (600, 300, 175, 150, 100, 150, 90, 75),
    "4": (600, 300, 200, 150, 100, 150, 90, 75),
    "5": (500, 300, 225, 175, 125, 150, 90, 75, 100),
    "6": (425, 300, 250, 250, 125, 150, 90, 75, 100),
}
SIX_HOURS = Bell(480, 870, (FixedStretch(690, 720, "lunch"),))
"""Six hours beside lunch, whose place is ours: neither table prints one."""


def tables() -> list[tuple[str, dict[str, int]]]:
    missouri = [(f"Missouri {grades}", table) for grades, table in MISSOURI.items()]
    return [
        *missouri,
        *((f"Wisconsin {one}", dict(zip(SUBJECTS, row, strict=False))) for one, row in WISCONSIN.items()),
    ]


def usual_days(bell: Bell, wednesday: Bell | None = None) -> tuple[Day, ...]:
    usual = {day: "minimum" if day == "wed" and wednesday else "regular" for day in WEEKDAYS}
    bells = {"regular": bell} | ({"minimum": wednesday} if wednesday else {})
    return tuple(days_of((), bells, usual))


def demands_of(table: Mapping[str, int], *, exactly: bool) -> tuple[Demand, ...]:
    week = dict.fromkeys(range(len(WEEKDAYS)), 1)
    asked = [Demand(one, 0, "at_least", frozenset({one}), (Need(week, minutes),)) for one, minutes in table.items()]
    most = [Demand(one, 1, "at_most", frozenset({one}), (Need(week, minutes),)) for one, minutes in table.items()]
    return (*asked, *most) if exactly else tuple(asked)


def drafted(table: Mapping[str, int], days: tuple[Day, ...], *, exactly: bool = False) -> Proposal:
    demands = demands_of(table, exactly=exactly)
    items = laid_out(days, demands, table.keys(), Wishes())
    found = draft(Problem(days, items, demands))
    assert found is not None
    assert faults(found) == []
    return found


def minutes_of(found: Proposal) -> Counter[str]:
    minutes: Counter[str] = Counter()
    for item, place in zip(found.problem.items, found.places, strict=True):
        if place is not None:
            minutes[item.activity] += place.end - place.start
    return minutes


def test_the_tables_add_up_as_published() -> None:
    assert {grades: sum(table.values()) for grades, table in MISSOURI.items()} == MISSOURI_TOTALS


@pytest.mark.parametrize(("name", "table"), tables())
def test_a_drafted_week_meets_a_published_table_to_the_minute(name: str, table: Mapping[str, int]) -> None:
    found = drafted(table, usual_days(SIX_HOURS), exactly=True)
    assert found.cost.shortfall == 0, name
    assert minutes_of(found) == Counter(table)


@pytest.mark.parametrize(
    ("start", "dismissal", "minutes"),
    [(495, 855, 360), (495, 905, 410), (470, 885, 415), (470, 835, 365), (495, 750, 255), (470, 690, 220)],
)
def test_days_are_as_long_as_published_bell_schedules(start: int, dismissal: int, minutes: int) -> None:
    """Fruitvale's regular, early release and minimum days."""
    (day,) = days_of((), {"regular": Bell(start, dismissal)}, {"mon": "regular"})
    assert sum(free.end - free.start for free in day.free) == minutes


RECESS = {"K-1": (565, 580), "2-3": (585, 600), "4-5": (605, 620)}
LUNCH = {"K-1": (685, 725), "2-3": (730, 770), "4-5": (730, 770)}


def sanchez(band: str) -> tuple[Day, ...]:
    """7:50 to 2:05, on Wednesday to 12:50."""
    fixed = (FixedStretch(*RECESS[band], "recess"), FixedStretch(*LUNCH[band], "lunch"))
    return usual_days(Bell(470, 845, fixed), Bell(470, 770, fixed))


@pytest.mark.parametrize("band", RECESS)
def test_a_published_bell_schedule_has_the_time_that_is_reckoned_for_it(band: str) -> None:
    free = [sum(one.end - one.start for one in day.free) for day in sanchez(band)]
    assert free == [320, 320, 245, 320, 320] and sum(free) == 1525


@pytest.mark.parametrize(("band", "grades"), [("2-3", "1-3"), ("4-5", "4-6")])
def test_what_a_published_week_lacks_of_a_published_table_is_exactly_the_difference(band: str, grades: str) -> None:
    """1,590 or 1,540 minutes into 1,525: no week can lack less than 65 or 15, and the drafted one lacks no more."""
    found = drafted(MISSOURI[grades], sanchez(band))
    assert found.cost.shortfall == MISSOURI_TOTALS[grades] - 1525
    assert sum(minutes_of(found).values()) == 1525


@pytest.mark.parametrize("band", RECESS)
def test_a_week_of_another_school_is_fitted_into_a_published_day(band: str) -> None:
    """Eight blocks a day from 8:30, of Wisconsin's first subjects: forty blocks but for the short Wednesday."""
    days = sanchez(band)
    items = tuple(
        Item(f"{number}-{n}", number, 510 + 40 * n, 545 + 40 * n, SUBJECTS[n % 4], 15)
        for number in range(len(days))
        for n in range(8)
    )
    week = dict.fromkeys(range(5), 1)
    demands = tuple(Demand(one, 0, "at_least", frozenset({one}), (Need(week, 250),)) for one in SUBJECTS[:4])
    found = fit(Problem(days, items, demands))
    assert found is not None and faults(found) == []
    assert found.cost.shortfall == 0 and found.cost.dropped == 0
