"""Blocks out of the history, to be put where the school of today still has room for them."""

from collections.abc import Iterable

from scheduling.models import Week
from scheduling.selectors.year_inputs import year_inputs
from scheduling.selectors.year_words import day_in_full
from scheduling.services.block_writing import placing_from
from scheduling.services.week_edits import Put
from scheduling.week_replay import Snapshot
from teamroom.common.errors import RuleBroken
from teamroom.dates.selectors import cycle_of


def brought_back(week: Week, blocks: Iterable[Snapshot]) -> list[Put]:
    """Blocks of the history under their ids; RuleBroken if the school no longer has what they name."""
    inputs, days = year_inputs(week.classroom.year), cycle_of(week.classroom.year).day_names
    put: list[Put] = []
    for kept in blocks:
        if kept["day"] and kept["day"] not in days:
            day = day_in_full(kept["day"])
            raise RuleBroken(
                f"This cannot be brought back: the school’s days are named otherwise now, and {day} is none."
            )
        put.append((kept["block"], placing_from(dict(kept), inputs)))
    return put
