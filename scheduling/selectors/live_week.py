"""What of a week a page that shows an earlier state of it must draw anew, and who changed it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from scheduling.models import Week, WeekChange
from scheduling.selectors.edit_words import deed_said, who_said
from scheduling.selectors.year_words import YearWords
from teamroom.common.live.announcing import classroom_topic, year_topic
from teamroom.common.live.models import Topic
from teamroom.members.models import Classroom, Member

MOST_MISSED = 30
"""Edits whose columns are drawn one by one; after more the whole sheet is."""


def topics_of(classroom: Classroom) -> str:
    """Where the topics of a week's page stand: `classroom-12:17 year-3:4`.

    Read it before what the page shows: then the page is never behind what it says it knows.
    """
    return where_stand(classroom_topic(classroom.pk), year_topic(classroom.year_id))


def where_stand(*names: str) -> str:
    """Topics with their editions, in one query."""
    stand = dict(Topic.objects.filter(name__in=names).values_list("name", "edition"))
    return " ".join(f"{name}:{stand.get(name, 0)}" for name in names)


@dataclass(frozen=True)
class Told:
    """An edit by somebody else, in a sentence, and the blocks it touched."""

    said: str
    blocks: str


OF_THE_YEAR = Told("The school’s calendar, times, rules or names were changed.", "")


@dataclass(frozen=True)
class Missed:
    """The edits of a week since a revision: by whom and what, and the columns they touched, as `day:kind key`."""

    changes: Sequence[WeekChange]

    @property
    def too_many(self) -> bool:
        return len(self.changes) > MOST_MISSED

    def places(self, words: YearWords) -> set[str]:
        """The columns touched, as the sheet spells them."""
        return {place for change in self.changes for place, _ in kept_places(change, words)}

    def told(self, words: YearWords, reader: Member) -> list[Told]:
        """Those by others than the reader, oldest first."""
        return list(self._told(words, reader))

    def _told(self, words: YearWords, reader: Member) -> Iterator[Told]:
        for change in self.changes:
            if change.member_id == reader.pk:
                continue
            touched = sorted({kept["block"] for kept in (*change.before, *change.after)})
            yield Told(f"{who_said(change)}: {deed_said(change, words)}", " ".join(map(str, touched)))


def kept_places(change: WeekChange, words: YearWords) -> list[tuple[str, int]]:
    """The column and start of each block an edit touched, as it is after it where it still is."""
    kinds = {key: pk for pk, (key, _) in words.kinds.items()}
    return [(f"{kept['day']}:{kinds.get(kept['kind'])}", kept["start"]) for kept in [*change.after, *change.before]]


def missed_since(week: Week, revision: int) -> Missed:
    """The edits of a week after a revision, one more than are drawn one by one at most."""
    found = WeekChange.objects.filter(week=week, revision__gt=revision).select_related("member").order_by("revision")
    return Missed(list(found[: MOST_MISSED + 1]))
