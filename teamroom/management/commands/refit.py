"""Fits one classroom's week to another classroom of a school file, and touches no database."""

import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management import BaseCommand, CommandError

from scheduling.refit.fitting import SECONDS
from teamroom.common.errors import RuleBroken
from teamroom.school_file.checking import sound_document
from teamroom.school_file.faults import FileRefused
from teamroom.school_file.reading import read_path, read_stream
from teamroom.school_file.refitting import refitted


class Command(BaseCommand):
    """python manage.py refit FILE --from CLASSROOM --to CLASSROOM [--seconds N] [--keep WHAT ...] [--report FILE]"""

    help = "Fits a classroom's week to another's bells and rules; prints the school file with it, and a report."
    requires_system_checks: list[str] = []  # noqa: RUF012 - Django's own way

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="the school file; - reads standard input")
        parser.add_argument("--from", dest="source", required=True, metavar="CLASSROOM", help="whose week it is")
        parser.add_argument("--to", dest="target", required=True, metavar="CLASSROOM", help="whom it is fitted to")
        parser.add_argument("--seconds", type=float, default=SECONDS, help=f"at most so long ({SECONDS:g})")
        parser.add_argument("--keep", nargs="+", default=(), metavar="WHAT", help="only these days or activities")
        parser.add_argument("--report", type=Path, help="where the report goes; else to standard error")

    def handle(
        self,
        *args: Any,
        file: str,
        source: str,
        target: str,
        seconds: float,
        keep: list[str],
        report: Path | None,
        **options: Any,
    ) -> None:
        if seconds <= 0:
            raise CommandError("--seconds takes a number above 0.")
        try:
            document = sound_document(read_stream(sys.stdin.buffer) if file == "-" else read_path(Path(file)))
            found = refitted(document, source, target, seconds=seconds, keep=keep)
        except OSError as error:
            raise CommandError(f"{file} cannot be read: {error.strerror}.") from error
        except FileRefused as refused:
            raise CommandError("\n".join(map(str, refused.faults))) from refused
        except RuleBroken as broken:
            raise CommandError(broken.message) from broken
        told = json.dumps(found.report, indent=2, ensure_ascii=False)
        if report is None:
            self.stderr.write(told)
        else:
            report.write_text(told + "\n", encoding="utf-8")
        self.stdout.write(json.dumps(found.document, indent=2, ensure_ascii=False))
