"""Prints a year's readings, worked out from its stored weeks."""

import datetime as dt
import io
import os
import sys
from argparse import ArgumentParser
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO, TextIO

from django.core.management import CommandError
from django.core.management.base import OutputWrapper

from scheduling.reports.audit import AuditLine, Question, UnknownKey, audit
from scheduling.reports.audit_text import write_csv, write_json, write_table
from scheduling.reports.audit_workbook import TooManyRows, write_workbook
from teamroom.common.commands import SchoolCommand
from teamroom.common.one_moment import one_moment
from teamroom.dates.choosing import NoSuchYear, year_meant

WRITERS = {"table": write_table, "json": write_json, "csv": write_csv}


class Command(SchoolCommand):
    """python manage.py audit [--as-of DATE] [--rule KEY] [--classroom KEY] [--windows W] [--format F]"""

    help = "Prints what every classroom's plan gives for every rule, and where it falls short."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--as-of", metavar="DATE", help="for what is so far; today at the school unless told")
        parser.add_argument("--rule", metavar="KEY", help="this rule alone")
        parser.add_argument("--classroom", metavar="KEY", help="this classroom alone")
        parser.add_argument("--windows", choices=["worst", "all"], default="worst", help="of each part (worst)")
        parser.add_argument("--format", choices=["table", "json", "csv", "xlsx"], default="table")
        parser.add_argument("--output", metavar="FILE", help="write to a file instead")
        parser.add_argument("--school", help="the school's name; the one last made unless told")
        parser.add_argument("--year", help="the year's name; the one last made unless told")

    def handle(self, *args: Any, **options: Any) -> None:
        """Work out and print; CommandError with a sentence where that cannot be done."""
        if options["format"] == "xlsx" and not options["output"]:
            raise CommandError("A workbook is no text: say where to write it with --output FILE.")
        try:
            with one_moment():
                self.print_audit(**options)
        except (NoSuchYear, UnknownKey) as error:
            raise CommandError(str(error)) from error
        except TooManyRows as error:
            raise CommandError("These are more rows than a sheet holds: take json or csv, or one rule.") from error
        except BrokenPipeError:
            # Whoever reads has seen enough, as `head` does; there is nothing to say and nobody to say it to.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        except OSError as error:
            if options["output"] is None:
                raise
            raise CommandError(f"{options['output']} cannot be written: {error.strerror}.") from error

    def print_audit(
        self, *, rule: str | None, classroom: str | None, windows: str, format: str, output: str | None, **options: Any
    ) -> None:
        choice = year_meant(options["school"], options["year"])
        if choice.remark:
            self.stderr.write(choice.remark)
        as_of = date_given(options["as_of"]) or choice.year.school.today()
        question = Question(as_of, rule, classroom, every_window=windows == "all")
        lines = audit(choice.year, question)
        if format == "xlsx" and output:
            with replacing(Path(output)) as file:
                write_workbook(lines, question, file)
        elif output:
            with replacing(Path(output)) as file:
                write_text(lines, question, format, file)
        else:
            if isinstance(sys.stdout, io.TextIOWrapper):
                sys.stdout.reconfigure(encoding="utf-8")
            WRITERS[format](lines, question, Unended(self.stdout))


class Unended:
    """A command's output to which a text may be written piece by piece, without line ends of its own."""

    def __init__(self, out: OutputWrapper) -> None:
        self.out = out

    def write(self, text: str, /) -> None:
        self.out.write(text, ending="")


def date_given(written: str | dt.date | None) -> dt.date | None:
    if written is None or isinstance(written, dt.date):
        return written
    try:
        return dt.date.fromisoformat(written)
    except ValueError as error:
        raise CommandError(f"{written!r} is no date: write year, month and day, as in 2026-09-01.") from error


def write_text(lines: Iterator[AuditLine], question: Question, format: str, file: BinaryIO) -> None:
    text: TextIO = io.TextIOWrapper(file, encoding="utf-8", newline="")
    WRITERS[format](lines, question, text)
    text.flush()
    text.detach()  # type: ignore[attr-defined]  # the file is closed by whoever opened it


@contextmanager
def replacing(path: Path) -> Iterator[BinaryIO]:
    """A file to write that takes the other's place only when it is whole."""
    unfinished = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with unfinished.open("wb") as file:
            yield file
        unfinished.replace(path)
    finally:
        unfinished.unlink(missing_ok=True)
