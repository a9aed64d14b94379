"""A school file that somebody sends: whether it may go where it says, what it would replace, and loading it."""

import base64
import zlib
from dataclasses import dataclass

from django.db import transaction

from scheduling.models import DayChange, Rule, Week
from teamroom.common.errors import RuleBroken
from teamroom.common.wording import counted
from teamroom.dates.models import School, SchoolYear
from teamroom.members.models import Member
from teamroom.members.roles import may
from teamroom.members.selectors.roles_held import roles_in_district, roles_in_school
from teamroom.members.services.people import give_school_role
from teamroom.school_file.checking import sound_document
from teamroom.school_file.form import Document
from teamroom.school_file.loading import Loaded, load
from teamroom.school_file.reading import document_in

MOST_NAMED = 8


@dataclass(frozen=True)
class Destination:
    """Where a file goes: its school and year as far as they are there already."""

    school: School | None
    year: SchoolYear | None


@dataclass(frozen=True)
class Replaced:
    """What a file takes the place of, for whoever is to say yes. `gone` are the classrooms that it does not name."""

    year: SchoolYear
    counts: tuple[str, ...]
    gone: tuple[str, ...]
    more_gone: int


def packed(data: bytes) -> str:
    """A file's bytes as a session keeps them until somebody has said yes."""
    return base64.b64encode(zlib.compress(data)).decode("ascii")


def unpacked(text: str) -> bytes:
    return zlib.decompress(base64.b64decode(text))


def read_sound(data: bytes) -> Document:
    """The document of a file. Raises FileRefused with every fault."""
    return sound_document(document_in(data))


def destination(member: Member, document: Document) -> Destination:
    """Where the file goes, if this member may send it there. Raises RuleBroken.

    A school that is there takes files of its administrators alone; a new one is founded by who may found schools.
    """
    named, year_name = document["school"]["name"], document["year"]["name"]
    school = School.objects.filter(name=named).first()
    if school is None:
        if not may(roles_in_district(member), "found school"):
            raise RuleBroken(
                f"The file is for {named}, and there is no school of that name that you administer. Write your "
                "school’s name in it, at $.school.name, exactly as it stands here.",
                field="file",
            )
        return Destination(None, None)
    if not may(roles_in_school(member, school), "set up year"):
        raise RuleBroken(
            f"{named} is here already, and only its administrators load files into it. Ask one of them, or give the "
            "school in the file, at $.school.name, another name.",
            field="file",
        )
    return Destination(school, SchoolYear.objects.filter(school=school, name=year_name).first())


def replaced_by(document: Document, year: SchoolYear) -> Replaced:
    """What of a year a file would take the place of."""
    kept = {room["key"] for room in document.get("classrooms", ())}
    rooms = list(year.classrooms.order_by("name", "key"))
    gone = [str(room) for room in rooms if room.key not in kept]
    counts = (
        counted(len(rooms), "classroom"),
        counted(Week.objects.filter(classroom__year=year).count(), "week"),
        counted(Rule.objects.filter(year=year).count(), "rule"),
        counted(DayChange.objects.filter(year=year).count(), "day change"),
    )
    return Replaced(year, counts, tuple(gone[:MOST_NAMED]), max(0, len(gone) - MOST_NAMED))


@transaction.atomic
def load_for(member: Member, document: Document, *, replace: bool) -> Loaded:
    """Load a sound document where it says; who founds a school by it becomes its administrator.

    Raises RuleBroken where they may not, and where a year would be replaced that nobody was asked about.
    """
    going_to = destination(member, document)
    loaded = load(document)
    if loaded.replaced and not replace:
        raise RuleBroken("Somebody began this year in the meantime: send the file again.", field="file")
    if going_to.school is None:
        give_school_role(member, loaded.year.school, "administrator")
    return loaded
