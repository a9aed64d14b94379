"""One block in words, for its form and for setting two versions of it side by side."""

from collections.abc import Iterable
from dataclasses import dataclass

from scheduling.minutes.figures import listed
from scheduling.models import Block, Column, Week
from scheduling.selectors.sheet_columns import all_places, main_columns
from scheduling.selectors.year_words import YearWords, day_in_full, small, year_words
from teamroom.common.clock import said_span
from teamroom.dates.models import DayKind


@dataclass(frozen=True, slots=True)
class BlockWords:
    """A block as told to people."""

    pk: int
    revision: int
    name: str
    where: str
    times: str
    length: int
    credited: str
    why: str
    needs: str = ""


def block_words(block: Block) -> BlockWords:
    """The block, whose column and week are loaded with its uses, in one query for its credits."""
    words = year_words(block.column.week.classroom.year)
    credits = [(words.activities[pk].name, n) for pk, n in block.credits.values_list("activity_id", "minutes")]
    return BlockWords(
        pk=block.pk,
        revision=block.revision,
        name=words.activities[block.activity_id].name,
        where=_where(block.column.day, block.column.kind),
        times=said_span(block.start, block.end),
        length=block.end - block.start,
        credited=listed([f"{name} {minutes}" for name, minutes in credits]),
        why=block.why,
        needs=needs_said([(use.resource_id, use.amount) for use in block.uses.all()], words),
    )


def needs_said(uses: Iterable[tuple[int, int]], words: YearWords) -> str:
    """`Science lab and Classroom aide (2)`, from the ids of shared resources with how many."""
    return needs_named((words.resources[pk].name, amount) for pk, amount in uses)


def needs_named(uses: Iterable[tuple[str, int]]) -> str:
    """The same, from their names."""
    named = dict(uses)
    return listed([f"{name} ({named[name]})" if named[name] > 1 else name for name in sorted(named)])


def _where(day: str, kind: DayKind) -> str:
    name = small(kind.name)
    if not day:
        return f"every {name}"
    return day_in_full(day) if kind.is_regular else f"{day_in_full(day)}, {name}"


def places_of(week: Week) -> list[tuple[str, str]]:
    """The columns a block of this week can be put in, as the form offers them."""
    words = year_words(week.classroom.year)
    rows = list(Column.objects.filter(week=week).values_list("day", "kind_id"))
    return list(all_places(words, main_columns(words, rows)))
