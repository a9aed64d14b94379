"""Loads a school file: all of it, or nothing and every fault."""

import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management import BaseCommand, CommandError

from teamroom.common.commands import ready_tables
from teamroom.school_file.checking import sound_document
from teamroom.school_file.faults import FileRefused
from teamroom.school_file.form import Document
from teamroom.school_file.loading import Loaded, load
from teamroom.school_file.reading import read_path, read_stream
from teamroom.school_file.saying import said_loaded


class Command(BaseCommand):
    """python manage.py load_school FILE [--check]"""

    help = "Loads a school year from a school file, or says every fault the file has and changes nothing."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", help="the school file; - reads standard input")
        parser.add_argument("--check", action="store_true", help="only look for faults; change nothing")

    def handle(self, *args: Any, file: str, check: bool, **options: Any) -> None:
        document = self.sound(file)
        if check:
            self.stdout.write("The file has no fault. Nothing was changed.")
            return
        ready_tables()
        self.tell(document, load(document))

    def sound(self, file: str) -> Document:
        try:
            return sound_document(read_stream(sys.stdin.buffer) if file == "-" else read_path(Path(file)))
        except OSError as error:
            raise CommandError(f"{file} cannot be read: {error.strerror}.") from error
        except FileRefused as refused:
            for fault in refused.faults:
                self.stderr.write(str(fault))
            count = len(refused.faults)
            raise CommandError(f"{count} fault{'' if count == 1 else 's'}: nothing was loaded.") from refused

    def tell(self, document: Document, loaded: Loaded) -> None:
        self.stdout.write(said_loaded(document, loaded))
        if loaded.replaced:
            self.stdout.write(f"The year as it was before is kept in {loaded.replaced}")
