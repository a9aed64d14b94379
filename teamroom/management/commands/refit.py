"""Fits one classroom's week to another classroom of a school file, and touches no database."""

from argparse import ArgumentParser
from typing import Any

from teamroom.management.fitting import FittingCommand
from teamroom.school_file.form import Document
from teamroom.school_file.refitting import Refitted, refitted


class Command(FittingCommand):
    """python manage.py refit FILE --from CLASSROOM --to CLASSROOM [--seconds N] [--keep WHAT ...] [--report FILE]"""

    help = "Fits a classroom's week to another's bells and rules; prints the school file with it, and a report."

    def add_own_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--from", dest="source", required=True, metavar="CLASSROOM", help="whose week it is")
        parser.add_argument("--to", dest="target", required=True, metavar="CLASSROOM", help="whom it is fitted to")
        parser.add_argument("--keep", nargs="+", default=(), metavar="WHAT", help="only these days or activities")

    def fitted(self, document: Document, **options: Any) -> Refitted:
        return refitted(
            document, options["source"], options["target"], seconds=options["seconds"], keep=options["keep"]
        )
