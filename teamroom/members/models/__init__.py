"""People and places: who signs in, the teams of a year, and their classrooms."""

from teamroom.members.models.invitations import FirstLink, Invitation
from teamroom.members.models.letters import Letter
from teamroom.members.models.people import DistrictRole, Member, MemberManager, SchoolRole
from teamroom.members.models.places import Classroom, ClassTeacher, Team, TeamRole

__all__ = [
    "ClassTeacher",
    "Classroom",
    "DistrictRole",
    "FirstLink",
    "Invitation",
    "Letter",
    "Member",
    "MemberManager",
    "SchoolRole",
    "Team",
    "TeamRole",
]
