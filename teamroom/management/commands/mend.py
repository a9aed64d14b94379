"""Mends a classroom's week of a school file that falls short of its rules, and touches no database."""

from argparse import ArgumentParser
from typing import Any

from teamroom.management.fitting import FittingCommand
from teamroom.school_file.form import Document
from teamroom.school_file.refitting import Refitted, mended


class Command(FittingCommand):
    """python manage.py mend FILE --to CLASSROOM [--take N] [--seconds N] [--report FILE]"""

    help = "Finds up to five smallest changes that mend a classroom's week; prints the school file with one of them."

    def add_own_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--to", dest="target", required=True, metavar="CLASSROOM", help="whose week is mended")
        parser.add_argument("--take", type=int, default=1, metavar="N", help="which of the ways the week is given (1)")

    def fitted(self, document: Document, **options: Any) -> Refitted:
        return mended(document, options["target"], seconds=options["seconds"], take=options["take"])
