"""The people of the demo school, all invented: what each is shows what a role lets one do."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from teamroom.members.roles import Role


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """A member of the demo school. Addresses lie in a domain that nobody can own (RFC 2606)."""

    name: str
    what: str
    email: str
    school_role: Role | None = None
    of_district: bool = False
    team_roles: Mapping[str, Role] = field(default_factory=dict)
    classroom: str = ""
    teaches: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """A specialist's activities, each with the teams it is for."""


PEOPLE = (
    Person(
        name="Priya Lindqvist",
        what="leads grades 5 and 6, teaches room 21 and knows the grade",
        email="priya@demo.example",
        team_roles={"grades-5-6": "lead"},
        classroom="room-21",
    ),
    Person(
        name="Tobin Abernethy",
        what="new to grade 5, teaches room 22; was in grades 3 and 4 until last year",
        email="tobin@demo.example",
        team_roles={"grades-5-6": "teacher", "grades-3-4": "guest"},
        classroom="room-22",
    ),
    Person(
        name="Wilma Sarkisyan",
        what="teaches room 12, grades 3 and 4 in one class",
        email="wilma@demo.example",
        team_roles={"grades-3-4": "teacher"},
        classroom="room-12",
    ),
    Person(
        name="Odile Brandt",
        what="leads kindergarten to grade 2, teaches room 3",
        email="odile@demo.example",
        team_roles={"primary": "lead"},
        classroom="room-3",
    ),
    Person(
        name="Anselm Quiroga",
        what="takes over a grade 6 class next year; until then a guest of grades 5 and 6",
        email="anselm@demo.example",
        team_roles={"grades-5-6": "guest"},
    ),
    Person(
        name="Renzo Castellane",
        what="teaches art to everybody and music to kindergarten to grade 2, where the two clash",
        email="renzo@demo.example",
        teaches={"art": (), "music": ("primary",)},
    ),
    Person(
        name="Desmond Achterberg",
        what="coordinator, proves the minutes of every classroom",
        email="desmond@demo.example",
        school_role="coordinator",
    ),
    Person(
        name="Marit Holloway",
        what="principal, administrator of the school and of the district",
        email="marit@demo.example",
        of_district=True,
        school_role="administrator",
    ),
)
