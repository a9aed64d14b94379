"""What every deed of the calendar is."""

import datetime as dt
from abc import ABC, abstractmethod
from collections.abc import Mapping
from typing import Any, ClassVar

from teamroom.dates.models import SchoolYear

Written = dict[str, Any]


class Deed(ABC):
    """One change of a year's calendar. `title` asks for it, `told` says that it is done, `date` is
    where to look at it."""

    verb: ClassVar[str]

    @property
    @abstractmethod
    def date(self) -> dt.date: ...

    @property
    @abstractmethod
    def title(self) -> str: ...

    @property
    @abstractmethod
    def told(self) -> str: ...

    @abstractmethod
    def written(self) -> Written:
        """The deed as JSON, without its verb."""

    @classmethod
    @abstractmethod
    def read(cls, written: Mapping[str, Any]) -> "Deed":
        """The deed from what `written` gave."""

    @abstractmethod
    def do(self, year: SchoolYear) -> "Deed":
        """Do it through the services, and say what would take it back. RuleBroken if it is refused."""


def as_date(written: str) -> dt.date:
    return dt.date.fromisoformat(written)
