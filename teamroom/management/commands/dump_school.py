"""Prints a school year as a school file."""

import io
import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management import CommandError

from teamroom.common.commands import SchoolCommand
from teamroom.common.one_moment import one_moment
from teamroom.dates.choosing import NoSuchYear, year_meant
from teamroom.school_file.dumping import dumped


class Command(SchoolCommand):
    """python manage.py dump_school [--school NAME] [--year NAME]"""

    help = "Prints a school year as a school file, always the same bytes for the same year."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--school", help="the school's name; the one last made unless told")
        parser.add_argument("--year", help="the year's name; the one last made unless told")

    def handle(self, *args: Any, school: str | None, year: str | None, **options: Any) -> None:
        if isinstance(sys.stdout, io.TextIOWrapper):
            # A school file is UTF-8 with plain line ends, whatever the terminal is set to.
            sys.stdout.reconfigure(encoding="utf-8", newline="\n")
        with one_moment():
            try:
                choice = year_meant(school, year)
            except NoSuchYear as error:
                raise CommandError(str(error)) from error
            text = dumped(choice.year)
        if choice.remark:
            self.stderr.write(choice.remark)
        self.stdout.write(text, ending="")
