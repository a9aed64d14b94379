"""Who may do what, as one table. Pure: no Django, no database.

Every permission in the app is a row here; `access` modules ask it and the page of roles explains it.
"""

from collections.abc import Collection
from typing import Literal, get_args

Deed = Literal[
    "read week",
    "edit week",
    "ask about week",
    "read year",
    "set up year",
    "manage team",
    "read people",
    "manage people",
    "read trail",
    "found school",
    "close schools",
    "read letters",
    "read specialist's week",
]
Role = Literal[
    "district administrator",
    "administrator",
    "coordinator",
    "lead",
    "teacher",
    "teacher, editing together",
    "guest",
    "own classroom",
    "own post",
]

SCHOOL_ROLES: tuple[Role, ...] = ("administrator", "coordinator")
TEAM_ROLES: tuple[Role, ...] = ("lead", "teacher", "guest")

# A specialist's post opens that one week and nothing else of the year.
EVERYBODY: frozenset[Role] = frozenset(get_args(Role)) - {"own post"}

MAY: dict[Deed, frozenset[Role]] = {
    "read week": EVERYBODY,
    "edit week": frozenset({"administrator", "lead", "teacher, editing together", "own classroom"}),
    "ask about week": EVERYBODY,
    "read year": EVERYBODY,
    "set up year": frozenset({"administrator"}),
    "manage team": frozenset({"administrator", "lead"}),
    "read people": frozenset({"district administrator", "administrator", "coordinator", "lead"}),
    "manage people": frozenset({"district administrator", "administrator"}),
    "read trail": frozenset({"district administrator", "administrator", "coordinator"}),
    "found school": frozenset({"district administrator"}),
    "close schools": frozenset({"district administrator"}),
    "read letters": frozenset({"district administrator"}),
    # Whose post it is holds that role towards their own week alone; it lets them into nothing else.
    "read specialist's week": frozenset({"district administrator", "administrator", "coordinator", "own post"}),
}


def may(roles: Collection[Role], deed: Deed) -> bool:
    """Whether somebody who holds these roles may do the deed."""
    return not MAY[deed].isdisjoint(roles)
