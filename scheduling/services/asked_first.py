"""Changes of a year that are asked about first where they turn a rule's verdict somewhere."""

from dataclasses import dataclass

from scheduling.selectors.preview_words import Preview, preview_told
from scheduling.services.preview import previewed
from scheduling.services.rehearsal import Deed
from teamroom.dates.models import SchoolYear


@dataclass(frozen=True)
class Answer:
    """Whether a deed was done, and what it does to the readings."""

    done: bool
    preview: Preview


def do_if_seen(year: SchoolYear, deed: Deed, *, seal: str) -> Answer:
    """Do a deed, unless a verdict turns by it that was not shown: then nothing is written, and the
    preview is to be shown with its seal. RuleBroken goes up."""
    preview = previewed(year, deed)
    if turns_a_verdict(preview) and seal != preview.seal:
        return Answer(False, preview)
    deed()
    return Answer(True, preview)


def turns_a_verdict(preview: Preview) -> bool:
    """Whether a rule's verdict in any classroom is another afterwards."""
    return any(
        change.row.part is None and (change.before and change.before.status) != (change.after and change.after.status)
        for change in preview.changes
    )


def readings_said(preview: Preview, year: SchoolYear) -> str:
    """What a deed did to the readings, in words; nothing where there is no classroom yet."""
    return " ".join(preview_told(preview, year).sentences) if preview.rooms else ""
