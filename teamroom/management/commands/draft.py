"""Drafts a classroom's week from its bells and rules alone, out of a school file, and touches no database."""

from argparse import ArgumentParser, ArgumentTypeError
from typing import Any

from scheduling.refit.problem import Wishes
from teamroom.management.fitting import FittingCommand
from teamroom.school_file.form import Document
from teamroom.school_file.plans import clock_minutes
from teamroom.school_file.refitting import Refitted, drafted


def _ends_by(text: str) -> tuple[str, int]:
    activity, _, clock = text.partition("=")
    hours, _, minutes = clock.partition(":")
    if not (activity and hours.isdecimal() and minutes.isdecimal() and int(hours) < 24 and int(minutes) < 60):
        raise ArgumentTypeError(f"{text!r}: write it as math=12:00.")
    return activity, clock_minutes(clock)


def _at_most(text: str) -> tuple[str, int]:
    activity, _, minutes = text.partition("=")
    if not (activity and minutes.isdecimal() and int(minutes) >= 10):
        raise ArgumentTypeError(f"{text!r}: write it as reading=60, ten minutes or more.")
    return activity, int(minutes)


class Command(FittingCommand):
    """python manage.py draft FILE --to CLASSROOM [--activities ...] [--by ACTIVITY=12:00 ...]
    [--at-a-stretch ACTIVITY=60 ...] [--seconds N] [--report FILE]"""

    help = "Drafts a classroom's week from bells and rules alone; prints the school file with it, and a report."

    def add_own_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--to", dest="target", required=True, metavar="CLASSROOM", help="whose week it is to be")
        parser.add_argument("--activities", nargs="+", default=(), metavar="ACTIVITY", help="what it is to hold")
        parser.add_argument("--by", nargs="+", type=_ends_by, default=(), metavar="ACTIVITY=TIME", help="over by then")
        parser.add_argument(
            "--at-a-stretch", nargs="+", type=_at_most, default=(), metavar="ACTIVITY=MINUTES", help="at most so long"
        )

    def fitted(self, document: Document, **options: Any) -> Refitted:
        return drafted(
            document,
            options["target"],
            seconds=options["seconds"],
            activities=options["activities"],
            wishes=Wishes(dict(options["by"]), dict(options["at_a_stretch"])),
        )
