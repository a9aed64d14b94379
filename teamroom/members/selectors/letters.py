"""Letters, as whoever looks after the installation reads them."""

import email.policy
import re
from dataclasses import dataclass
from datetime import datetime
from email.parser import BytesParser
from pathlib import Path
from typing import NamedTuple

from django.db.models import QuerySet
from django.utils.timezone import get_current_timezone

from teamroom.members.models import Letter

MOST = 100
LINK = re.compile(r"https?://[^\s<>\"]+")


class Piece(NamedTuple):
    """Words of a letter; `link` is empty unless they are an address."""

    words: str
    link: str = ""


@dataclass(frozen=True)
class KeptLetter:
    """A letter of the mail folder, which its receiver may never have seen."""

    to: str
    subject: str
    at: datetime
    pieces: list[Piece]


def unsent_letters() -> QuerySet[Letter]:
    """What waits or was given up, the newest first."""
    return Letter.objects.filter(sent_at=None).order_by("-made_at", "-pk")[:MOST]


def kept_letters(folder: Path) -> list[KeptLetter]:
    """The newest letters of the mail folder."""
    return [_read(path) for path in sorted(folder.glob("*.eml"), reverse=True)[:MOST]]


def _read(path: Path) -> KeptLetter:
    message = BytesParser(policy=email.policy.default).parsebytes(path.read_bytes())
    body = message.get_body(("plain",))
    at = datetime.fromtimestamp(path.stat().st_mtime, get_current_timezone())
    text = body.get_content() if body is not None else ""
    return KeptLetter(str(message["To"] or ""), str(message["Subject"] or ""), at, pieces_of(text))


def pieces_of(text: str) -> list[Piece]:
    """A text cut at its links. Nothing is lost: the words of all pieces together are the text."""
    pieces, reached = [], 0
    for found in LINK.finditer(text):
        link = found[0].rstrip(".,;:!?)")
        pieces += [Piece(text[reached : found.start()]), Piece(link, link)]
        reached = found.start() + len(link)
    return [piece for piece in [*pieces, Piece(text[reached:])] if piece.words]
