"""Who may do what, as one table. Pure: no Django, no database.

Every permission in the app is a row here; `access` modules ask it and pages explain it.
"""

from collections.abc import Collection
from typing import Literal

Deed = Literal["read week", "edit week"]
Role = Literal["administrator", "coordinator", "lead", "teacher", "guest", "own classroom"]

SCHOOL_ROLES: tuple[Role, ...] = ("administrator", "coordinator")
TEAM_ROLES: tuple[Role, ...] = ("lead", "teacher", "guest")

MAY: dict[Deed, frozenset[Role]] = {
    "read week": frozenset({"administrator", "coordinator", "lead", "teacher", "guest", "own classroom"}),
    "edit week": frozenset({"administrator", "lead", "own classroom"}),
}


def may(roles: Collection[Role], deed: Deed) -> bool:
    """Whether somebody who holds these roles may do the deed."""
    return not MAY[deed].isdisjoint(roles)
