"""What one page still has to hear, in order and once. Pure: no Django, no database, no clock."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from teamroom.common.numbers import is_whole_number

MOST_MISSED = 500
"""Editions of a topic told one by one after an absence; whoever missed more is told the latest of them at once."""


class Change(NamedTuple):
    """A topic is now at an edition. `position` is where the page then is in all its topics."""

    topic: str
    edition: int
    position: str


class Feed:
    """The topics of one page, each with the edition it knows."""

    def __init__(self, stands: Mapping[str, int], since: Mapping[str, int] | None = None) -> None:
        """`stands` is where the topics stand, `since` where the page left them, if it comes again.

        Who knows a higher number than there is, as after a database was put back from a copy, is
        told the present one.
        """
        self.known = {topic: _known(edition, (since or {}).get(topic, edition)) for topic, edition in stands.items()}

    def moved(self, topic: str, edition: int) -> Iterator[Change]:
        """What to tell now that a topic stands at an edition: each number since the one known.

        Of a topic the page does not follow, or a number no higher than the one known, it gives
        nothing: what is heard late may have been read before.
        """
        known = self.known.get(topic, edition)
        first = known + 1 if edition <= known + MOST_MISSED else edition
        for number in range(first, edition + 1):
            self.known[topic] = number
            yield Change(topic, number, self.position)

    @property
    def position(self) -> str:
        return written_position(self.known)


def _known(stands: int, since: int) -> int:
    return since if since <= stands else stands - 1


def written_position(known: Mapping[str, int]) -> str:
    """`classroom-12:18,year-3:4`."""
    return ",".join(f"{topic}:{edition}" for topic, edition in known.items())


def read_position(written: str) -> dict[str, int]:
    """A position as written; whatever of it is none is left out."""
    found = {}
    for pair in written.split(","):
        topic, _, edition = pair.rpartition(":")
        if topic and is_whole_number(edition, digits=18):
            found[topic] = int(edition)
    return found
