"""What a process keeps of a school year, told apart by the year's revision."""

import uuid
from collections import OrderedDict
from collections.abc import Callable
from typing import Generic, TypeVar

from teamroom.dates.models import SchoolYear

Held = TypeVar("Held")
KEPT_YEARS = 8


class KeptByRevision(Generic[Held]):
    """The last few years' worth of something that is asked for often and changes seldom.

    A revision is never used again, so what is kept under one can be too old for nobody. `load`
    works it out from the database; the year must have been read in the present transaction.
    """

    def __init__(self, load: Callable[[SchoolYear], Held]) -> None:
        self._load = load
        self._kept: OrderedDict[tuple[int, uuid.UUID], Held] = OrderedDict()

    def of(self, year: SchoolYear) -> Held:
        key = (year.pk, year.revision)
        kept = self._kept.get(key)
        if kept is None:
            kept = self._kept[key] = self._load(year)
            while len(self._kept) > KEPT_YEARS:
                self._kept.popitem(last=False)
        return kept
