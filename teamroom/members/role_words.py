"""What each deed and each role of the table means, in sentences for the page of roles. Pure, like the table."""

from dataclasses import dataclass

from teamroom.members.roles import MAY, Deed, Role


@dataclass(frozen=True, slots=True)
class RoleWords:
    """A role as the page of roles explains it: its name, whom it is for, and who gives it."""

    name: str
    purpose: str
    given_by: str


ROLES: dict[Role, RoleWords] = {
    "district administrator": RoleWords(
        "District administrator",
        "Whoever looks after all schools of this installation: founds them, appoints their administrators, reads "
        "everything and edits no week.",
        "Another district administrator. The first comes in by the link that the server prints.",
    ),
    "administrator": RoleWords(
        "School administrator",
        "The principal, or whoever sets the school year up: calendar, bells, rules, teams and people.",
        "Another administrator of the school, or a district administrator.",
    ),
    "coordinator": RoleWords(
        "Coordinator",
        "Whoever has to prove the minutes: reads every classroom, its people and its trail, and signs audits.",
        "An administrator of the school, or a district administrator.",
    ),
    "lead": RoleWords(
        "Team lead",
        "Whoever keeps a grade's weeks together: brings in the team and edits each of its weeks.",
        "An administrator, or a lead of the same team.",
    ),
    "teacher": RoleWords(
        "Teacher of a team",
        "A teacher of the grade: reads the team's weeks and edits the week of their own classroom.",
        "An administrator, or the team's lead.",
    ),
    "teacher, editing together": RoleWords(
        "Teacher of a team that edits together",
        "The same, in a team whose teachers change each other's weeks. The team's own page says whether it does.",
        "An administrator, or the team's lead.",
    ),
    "guest": RoleWords(
        "Guest of a team",
        "Whoever is to see the team's weeks and change nothing: a newcomer before the year starts, a specialist, a "
        "visiting principal.",
        "An administrator, or the team's lead.",
    ),
    "own classroom": RoleWords(
        "Teacher of a classroom",
        "Whoever teaches this class, from the first to the last of the dates that its page gives: the week is theirs "
        "to edit.",
        "An administrator, or the team's lead.",
    ),
    "own post": RoleWords(
        "Specialist",
        "Whoever teaches art, music, library, PE or the like across classrooms: reads when they teach whom. It opens "
        "that one week and nothing else.",
        "An administrator, on the page of specialists.",
    ),
}

DEEDS: dict[Deed, str] = {
    "read week": "Read a classroom's week, its minutes and where they come from",
    "edit week": "Change a classroom's week",
    "ask about week": "Ask a question about a block of a week, and answer one",
    "read year": "Read the year: calendar, bells, activities, rules, teams",
    "set up year": "Change the year: calendar, bells, activities, rules; end its set-up",
    "manage team": "Change a team and its classrooms, and bring people into it",
    "read people": "See who has which part, and which invitations are open",
    "manage people": "Give and take any role in the school, invite to it, close an account",
    "read trail": "Read who changed rules, rosters, roles and the calendar, and when",
    "close schools": "Close dates in all schools at once, as on a snow day, and open them again",
    "found school": "Found a school, see how all of them stand, name district administrators",
    "read letters": "Read the letters that wait to be sent",
    "read specialist's week": "Read a specialist's week across classrooms, with its clashes",
}

REACH: dict[Role, str] = {
    "district administrator": "in every school",
    "administrator": "in their school",
    "coordinator": "in their school",
    "lead": "in their team",
    "teacher": "in their team",
    "teacher, editing together": "in their team",
    "guest": "in their team",
    "own classroom": "in their classroom",
    "own post": "in their own post",
}


@dataclass(frozen=True, slots=True)
class DeedLine:
    """A row of the table: a deed, and for each role in order whether it may."""

    said: str
    may: tuple[bool, ...]


def deed_lines() -> list[DeedLine]:
    """The table of permissions itself, told: nothing here says anew what a role may do."""
    return [DeedLine(DEEDS[deed], tuple(role in allowed for role in ROLES)) for deed, allowed in MAY.items()]
