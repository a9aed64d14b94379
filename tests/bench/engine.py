"""One block edit's recomputation, with 1, 100 and 1,000 classrooms in the database."""

from django.db import transaction

from scheduling.minutes.readings import ClassroomYear, judge, verdict
from scheduling.minutes.rules import Rule
from scheduling.models import Block
from scheduling.selectors.plans import plans_of
from scheduling.selectors.year_inputs import load_year_inputs, year_inputs
from scheduling.services.compliance import recompute
from teamroom.dates.models import SchoolYear
from teamroom.dates.services import hold_year
from teamroom.school_file.loading import load
from tests.bench.measures import Line, median_ms
from tests.bench.school import school_of

SIZES = (1, 100, 1000)


def run() -> list[Line]:
    lines: list[Line] = []
    for size in SIZES:
        year = load(school_of(size)).year
        lines += _one_size(year, size, first=lines[0].milliseconds if lines else None)
    return lines


def judged(book: ClassroomYear, rules: list[Rule]) -> int:
    """Every rule's verdict for a classroom; how many there are."""
    verdicts = 0
    for rule in rules:
        results = [result for part in rule.parts if (result := judge(book, rule, part)) is not None]
        if results:
            verdict(rule, [result.status for result in results])
            verdicts += 1
    return verdicts


def _one_size(year: SchoolYear, size: int, *, first: float | None) -> list[Line]:
    classroom = year.classrooms.order_by("pk")[size // 2]
    rules = list(load_year_inputs(year).rules.values())
    inputs = year_inputs(year)

    plan = plans_of(inputs, [classroom])[classroom.pk]
    warm_ms = median_ms(lambda: judged(ClassroomYear(inputs.year, plan), rules), times=200)
    fresh_years = [load_year_inputs(year).year for _ in range(22)]
    cold_ms = median_ms(lambda: judged(ClassroomYear(fresh_years.pop(), plan), rules), times=20)
    block = Block.objects.filter(column__week__classroom=classroom).order_by("pk")[0]

    longer, shorter = block.end, block.end - 5

    def edit() -> None:
        with transaction.atomic():
            held = hold_year(SchoolYear.objects.filter(pk=year.pk).values("pk"))
            block.end = shorter if block.end == longer else longer
            block.save(update_fields=["end"])
            recompute(held or year, classrooms=[classroom])

    edit_ms = median_ms(edit, times=100)
    against = "the same with 1 classroom" if first else ""
    return [
        Line(
            "engine",
            f"12 rules of one classroom, {size} in the database: engine, year kept",
            warm_ms,
            warm_ms / first if first else None,
            against,
        ),
        Line("engine", f"12 rules of one classroom, {size} in the database: engine, year new", cold_ms),
        Line("engine", f"block saved and readings brought up to date, {size} in the database", edit_ms),
    ]
