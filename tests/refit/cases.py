"""A fixed set of weeks to fit: 40 blocks into another bell schedule, twelve demands, each case of its own number."""

from dataclasses import replace
from random import Random

from scheduling.refit.problem import Day, Demand, Free, Item, Need, Problem, Shared

DAYS = ("mon", "tue", "wed", "thu", "fri")
BLOCKS = 8
SUBJECTS = ("reading", "writing", "math", "science", "social_studies", "art", "health", "pe")
WEIGHTS = {"reading": 3, "math": 3, "writing": 2}


def case(number: int) -> Problem:
    """One case: the same number gives the same problem on every machine."""
    chance = Random(number)  # noqa: S311 - chance, no secret
    days = tuple(Day(day, "regular", _free(chance, 780 if day == "wed" else 870)) for day in DAYS)
    items = tuple(item for n in range(len(DAYS)) for item in _day_of_source(chance, n))
    return Problem(days, items, _demands(chance, days))


def _free(chance: Random, dismissal: int) -> tuple[Free, ...]:
    """A day's free time between homeroom, recess, lunch and a special, each at times of this case."""
    start = chance.choice((480, 485, 490))
    recess = 600 + 5 * chance.randrange(8)
    lunch = 690 + 5 * chance.randrange(8)
    special = chance.choice((530, 640, 750, 800))
    taken = sorted([(recess, recess + 15), (lunch, lunch + 40), (special, special + 40)])
    free, at = [], start
    for first, last in [*taken, (dismissal, dismissal)]:
        first = min(first, dismissal)
        if first - at >= 10:
            free.append(Free(at, first))
        at = max(at, min(last, dismissal))
    return tuple(free)


def _day_of_source(chance: Random, day: int) -> list[Item]:
    items, at = [], 485
    for n in range(BLOCKS):
        subject = chance.choices(SUBJECTS, [WEIGHTS.get(one, 1) for one in SUBJECTS])[0]
        length = 5 * chance.randint(4, 12)
        at += chance.choice((0, 0, 0, 15, 40))
        end = min(at + length, 900)
        if end - at < 15:
            break
        items.append(Item(f"{day}-{n}", day, at, end, subject, least=min(20, end - at)))
        at = end
    return items


def _demands(chance: Random, days: tuple[Day, ...]) -> tuple[Demand, ...]:
    week = dict.fromkeys(range(len(days)), 1)

    def weekly(rule: str, counts: tuple[str, ...], figure: int) -> Demand:
        return Demand(rule, 0, "at_least", frozenset(counts), (Need(week, figure),))

    every_day = tuple(Need({n: 1}, 30) for n in range(len(days)))
    return (
        weekly("math", ("math",), 5 * chance.randint(40, 60)),
        weekly("reading", ("reading",), 5 * chance.randint(40, 60)),
        weekly("writing", ("writing",), 5 * chance.randint(20, 36)),
        weekly("science", ("science",), 5 * chance.randint(14, 26)),
        weekly("social", ("social_studies",), 5 * chance.randint(14, 26)),
        weekly("literacy", ("reading", "writing"), 5 * chance.randint(80, 100)),
        weekly("pe", ("pe",), 5 * chance.randint(8, 16)),
        Demand("math daily", 0, "days_met", frozenset({"math"}), (Need(week, 4),), minutes=30),
        Demand("reading block", 0, "unbroken", frozenset({"reading"}), (Need(week, 60),)),
        Demand(
            "core share",
            0,
            "share",
            frozenset({"reading", "writing", "math", "science", "social_studies"}),
            (Need(week, 0),),
            base=frozenset(SUBJECTS),
        ),
        Demand("art", 0, "at_most", frozenset({"art"}), (Need(week, 120),)),
        Demand("literacy daily", 0, "at_least", frozenset({"reading", "writing"}), every_day),
    )


LAB, GYM = 1, 1
LESSONS = 2
"""How many lessons a week each class has in the lab and in the gym; the others it has in its own room or outside."""


def team(number: int, rooms: int = 6) -> list[Problem]:
    """The weeks of a team whose classes share a lab, for science, and a gym, for PE."""
    return [_sharing(case(number * rooms + n)) for n in range(rooms)]


def _sharing(problem: Problem) -> Problem:
    def of(activity: str) -> dict[int, int]:
        lessons = [n for n, item in enumerate(problem.items) if item.activity == activity]
        return dict.fromkeys(lessons[:LESSONS], 1)

    return replace(problem, shared=(Shared("lab", LAB, (), of("science")), Shared("gym", GYM, (), of("pe"))))
