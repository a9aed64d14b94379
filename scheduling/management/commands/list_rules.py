"""Lists the published rules that a school can adopt."""

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management import BaseCommand, CommandError

from scheduling.rule_library.library import LibraryRule, UnknownJurisdiction, all_rules, jurisdiction


class Command(BaseCommand):
    """python manage.py list_rules [--jurisdiction us-ca] [--grade 4] [--format table|json]"""

    help = "Lists the library of published minutes rules. It needs no school and no database."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--jurisdiction", help="the state or city, such as us-ca")
        parser.add_argument("--grade", help="only rules for this grade, such as K or 4")
        parser.add_argument("--format", choices=("table", "json"), default="table")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the rules, or say which jurisdictions there are."""
        try:
            place = options["jurisdiction"]
            rules = jurisdiction(place).rules if place else all_rules()
        except UnknownJurisdiction as error:
            raise CommandError(str(error)) from error
        grade = options["grade"]
        rules = tuple(rule for rule in rules if grade is None or grade in rule.grades)
        if options["format"] == "json":
            self.stdout.write(json.dumps([as_json(rule) for rule in rules], indent=1, ensure_ascii=False))
        else:
            self.stdout.write(as_table(rules))


def as_json(rule: LibraryRule) -> dict[str, Any]:
    """A rule as a school file writes it, with what only the library knows of it."""
    return {
        "jurisdiction": rule.jurisdiction,
        "ids": list(rule.ids),
        "only_if": rule.only_if,
        "on_days": rule.on_days,
        "rule": rule.as_school_file(),
    }


def as_table(rules: tuple[LibraryRule, ...]) -> str:
    """One line a rule in aligned columns, and a last line that counts them."""
    rows = [("KEY", "GRADES", "STANDING", "WHAT", "SOURCE")]
    rows += [(rule.key, grades_in_short(rule.grades), rule.standing, what(rule), rule.citation.title) for rule in rules]
    widths = [max(len(row[n]) for row in rows) for n in range(4)]
    lines = [
        "  ".join([*(cell.ljust(width) for cell, width in zip(row, widths, strict=False)), row[4]]) for row in rows
    ]
    return "\n".join([*lines, f"{len(rules)} rules"])


def what(rule: LibraryRule) -> str:
    """A rule's name, and the case it is for or that a week cannot prove it."""
    remarks = [f"only for {rule.only_if}"] if rule.only_if else []
    remarks += ["not checkable"] if rule.not_checkable else []
    return f"{rule.name} ({'; '.join(remarks)})" if remarks else rule.name


def grades_in_short(grades: tuple[str, ...]) -> str:
    """`1-3` for a run of grades, as every rule of the library has."""
    return grades[0] if len(grades) == 1 else f"{grades[0]}-{grades[-1]}"
