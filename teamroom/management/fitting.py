"""What `refit`, `draft` and `mend` share: a school file in, the file with the week that came of it and a report out."""

import json
import sys
from abc import ABC, abstractmethod
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management import BaseCommand, CommandError

from scheduling.refit.fitting import SECONDS
from teamroom.common.errors import RuleBroken
from teamroom.school_file.checking import sound_document
from teamroom.school_file.faults import FileRefused
from teamroom.school_file.form import Document
from teamroom.school_file.reading import read_path, read_stream
from teamroom.school_file.refitting import Refitted


class FittingCommand(BaseCommand, ABC):
    """A command that fits a week of a school file. It touches no database."""

    requires_system_checks: list[str] = []  # noqa: RUF012 - Django's own way

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="the school file; - reads standard input")
        self.add_own_arguments(parser)
        parser.add_argument("--seconds", type=float, default=SECONDS, help=f"at most so long ({SECONDS:g})")
        parser.add_argument("--report", type=Path, help="where the report goes; else to standard error")

    @abstractmethod
    def add_own_arguments(self, parser: ArgumentParser) -> None:
        """What only this command asks."""

    @abstractmethod
    def fitted(self, document: Document, **options: Any) -> Refitted:
        """What comes of the file. RuleBroken is said as it is."""

    def handle(self, *args: Any, file: str, report: Path | None, **options: Any) -> None:
        if options["seconds"] <= 0:
            raise CommandError("--seconds takes a number above 0.")
        try:
            document = sound_document(read_stream(sys.stdin.buffer) if file == "-" else read_path(Path(file)))
            found = self.fitted(document, **options)
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
