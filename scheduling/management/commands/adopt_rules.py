"""Adopts published rules for a school's year."""

from argparse import ArgumentParser, ArgumentTypeError
from typing import Any

from django.core.management import CommandError

from scheduling.rule_library.library import UnknownJurisdiction, jurisdiction
from scheduling.services.rule_adoption import Adoption, adopt, planned_adoption
from teamroom.common.commands import SchoolCommand
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import SchoolYear


class Command(SchoolCommand):
    """python manage.py adopt_rules JURISDICTION [--grades 3,4] [--only KEY ...] [--map reading=ela ...]"""

    help = "Adopts a jurisdiction's published rules. They are a starting point: check each against the official text."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("jurisdiction", help="the state or city, such as us-ca: see list_rules")
        parser.add_argument(
            "--grades", type=listed, default=[], help="grades such as 3,4; all the school's if left out"
        )
        parser.add_argument(
            "--only", nargs="+", default=[], metavar="KEY", help="rules by key, also for special cases, or by id"
        )
        parser.add_argument(
            "--map",
            nargs="+",
            type=pair,
            default=[],
            metavar="LIBRARY=SCHOOL",
            help="activities the school calls otherwise",
        )
        parser.add_argument("--year", help="the year's name, where there is more than one")
        parser.add_argument("--check", action="store_true", help="say what would be done and change nothing")

    def handle(self, *args: Any, **options: Any) -> None:
        """Adopt and report, or report only."""
        act = planned_adoption if options["check"] else adopt
        try:
            adoption = act(
                the_year(options["year"]),
                place=jurisdiction(options["jurisdiction"]),
                grades=options["grades"],
                only=options["only"],
                names=dict(options["map"]),
            )
        except (UnknownJurisdiction, RuleBroken) as error:
            raise CommandError(str(error)) from error
        for line in report(adoption, done=not options["check"]):
            self.stdout.write(line)


def the_year(name: str | None) -> SchoolYear:
    """The year of that name, or the only one. Raises CommandError."""
    years = [year for year in SchoolYear.objects.select_related("school") if name in (None, year.name, str(year))]
    if len(years) != 1:
        known = ", ".join(repr(str(year)) for year in SchoolYear.objects.select_related("school").order_by("pk"))
        raise CommandError(f"Name one year with --year. There are: {known or 'none yet'}.")
    return years[0]


def report(adoption: Adoption, *, done: bool) -> list[str]:
    """The lines that tell what was done, or would be."""
    would = "" if done else "would be "
    lines = [f"activity {would}created: {key} ({name})" for key, name in adoption.created.items()]
    lines += [f"{would}added: {rule.key} ({rule.name}), grades {', '.join(rule.grades)}" for rule in adoption.added]
    lines += [f"{would}widened: {rule.key}, now also for {', '.join(more)}" for rule, more in adoption.widened]
    lines += [f"already there: {rule.key}" for rule in adoption.unchanged]
    lines += [f"left out: {rule.key}, {reason}" for rule, reason in adoption.left_out]
    lines += [f"not checkable here: {rule.key}. {rule.not_checkable}" for rule in adoption.not_checkable]
    lines += [f"caution: {words}" for words in adoption.cautions]
    if adoption.added:
        lines.append("Figures were read in stored copies of their sources: check each against the official text.")
    if not adoption:
        lines.append("Nothing to change.")
    return lines


def listed(text: str) -> list[str]:
    return [grade.strip() for grade in text.split(",") if grade.strip()]


def pair(text: str) -> tuple[str, str]:
    library, equals, school = text.partition("=")
    if not (library and equals and school):
        raise ArgumentTypeError(
            f"{text!r}: write the library's activity, an equals sign and the school's, as in reading=ela."
        )
    return library, school
