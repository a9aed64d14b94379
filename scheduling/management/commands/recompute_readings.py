"""Rebuild every stored reading from the weeks and report those that differed."""

from typing import Any

from django.core.management.base import CommandError, CommandParser
from django.db import transaction

from scheduling.models import Reading
from scheduling.models.readings import FIGURES
from scheduling.services.compliance import recompute
from teamroom.common.commands import SchoolCommand
from teamroom.dates.models import SchoolYear
from teamroom.dates.services import begin_year_change


class Command(SchoolCommand):
    help = "Rebuild all readings; exit status 1 if any that was stored differed."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--school", help="only this school's years")
        parser.add_argument("--year", help="only years of this name")
        parser.add_argument("--check", action="store_true", help="report only, write nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        years = SchoolYear.objects.select_related("school").order_by("pk")
        if options["school"]:
            years = years.filter(school__name=options["school"])
        if options["year"]:
            years = years.filter(name=options["year"])
        if not years:
            raise CommandError("There is no such school year here: load a school first, or check the names.")
        differing = sum(self._rebuild(year, check=options["check"]) for year in years)
        if differing:
            raise CommandError(f"{differing} readings differed" + ("." if options["check"] else " and were put right."))

    def _rebuild(self, year: SchoolYear, *, check: bool) -> int:
        with transaction.atomic():
            changes = recompute(begin_year_change(year.pk), from_scratch=True)
            if check:
                transaction.set_rollback(True)
        for before, after in changes.pairs:
            self.stdout.write(f"{_named(before or after)}: {_figures(before)} -> {_figures(after)}")
        count = Reading.objects.filter(classroom__year=year).count()
        self.stdout.write(f"{year}: {count} readings rebuilt, {len(changes.pairs)} differed.")
        return len(changes.pairs)


def _named(reading: Reading | None) -> str:
    if reading is None:
        return ""
    part = "verdict" if reading.part is None else f"part {reading.part}"
    return f"{reading.classroom}, grade {reading.grade}, {reading.rule}, {part}"


def _figures(reading: Reading | None) -> str:
    if reading is None:
        return "none"
    return ", ".join(f"{name} {value}" for name in FIGURES if (value := getattr(reading, name)) is not None)
