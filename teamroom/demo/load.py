"""Puts the demo school and its people into an installation that has no school yet."""

import os
from importlib.resources import files
from pathlib import Path
from typing import NamedTuple

from django.conf import settings
from django.db import transaction

from scheduling.models import Block
from scheduling.services import questions
from scheduling.services.specialists import PostToBe, give_post
from teamroom.common.errors import RuleBroken
from teamroom.common.secret import passphrase
from teamroom.dates.models import School, SchoolYear
from teamroom.demo.people import PEOPLE
from teamroom.demo.questions import QUESTIONS
from teamroom.members.models import Classroom, Member, Team
from teamroom.members.services.district import give_district_role
from teamroom.members.services.people import add_member, give_classroom, give_school_role, give_team_role
from teamroom.school_file.checking import sound_document
from teamroom.school_file.form import Document
from teamroom.school_file.loading import load
from teamroom.school_file.reading import document_in

SIGN_IN_FILE = "demo-sign-in.txt"
LAST_WORDS = "with the passphrase "


class DemoPerson(NamedTuple):
    """Somebody of the demo school, what they are there, and the address they sign in with."""

    name: str
    what: str
    email: str


class DemoLoaded(NamedTuple):
    """Who can sign in to the demo school, all with one passphrase."""

    people: list[DemoPerson]
    passphrase: str


def load_demo() -> DemoLoaded:
    """Load the demo school and its people if there is no school; say how to sign in.

    The passphrase is made once for each installation and kept in the data folder, where only its
    owner reads it. Called again, this changes nothing and says the same. Raises RuleBroken where
    there is another school, or the passphrase was thrown away.
    """
    path = Path(settings.DATA_DIR) / SIGN_IN_FILE
    people = [DemoPerson(person.name, person.what, person.email) for person in PEOPLE]
    if School.objects.exists():
        return DemoLoaded(people, _passphrase_of_before(path))
    words = _kept(path) or _keep(path, people)
    with transaction.atomic():
        year = load(sound_document(demo_document())).year
        _add_people(year, words)
        _add_questions(year)
    return DemoLoaded(people, words)


def demo_document() -> Document:
    """The demo school's file as a document."""
    return document_in((files("teamroom.demo") / "school.json").read_bytes())


def _passphrase_of_before(path: Path) -> str:
    if not Member.objects.filter(email=PEOPLE[0].email).exists():
        raise RuleBroken("There is a school here already: the demo school is loaded only where there is none.")
    kept = _kept(path)
    if kept is None:
        raise RuleBroken(f"{path} is gone, and the passphrase with it: set one with manage.py changepassword ADDRESS.")
    return kept


def _kept(path: Path) -> str | None:
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except FileNotFoundError:
        return None
    return next((line.removeprefix(LAST_WORDS) for line in lines if line.startswith(LAST_WORDS)), None)


def _keep(path: Path, people: list[DemoPerson]) -> str:
    """Make a passphrase and write it down before it opens anything, so that it is never lost."""
    fresh = passphrase()
    lines = [f"{person.name}, {person.what}: {person.email}" for person in people]
    path.parent.mkdir(parents=True, exist_ok=True)
    path.unlink(missing_ok=True)
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8") as file:
        file.write("\n".join(["Sign in to the demo school as", *lines, LAST_WORDS + fresh]) + "\n")
    return fresh


def _add_people(year: SchoolYear, words: str) -> None:
    teams = {team.key: team for team in Team.objects.filter(year=year)}
    rooms = {room.key: room for room in Classroom.objects.filter(year=year)}
    for person in PEOPLE:
        member = add_member(email=person.email, name=person.name, passphrase=words)
        if person.school_role:
            give_school_role(member, year.school, person.school_role)
        for team, role in person.team_roles.items():
            give_team_role(member, teams[team], role)
        if person.of_district:
            give_district_role(email=member.email)
        if person.classroom:
            give_classroom(member, rooms[person.classroom])
        for activity, reached in person.teaches.items():
            found = year.activities.get(key=activity)
            give_post(year, member, PostToBe(found, teams=[teams[key] for key in reached]))


def _add_questions(year: SchoolYear) -> None:
    members = Member.objects.in_bulk([person.email for person in PEOPLE], field_name="email")
    for asked in QUESTIONS:
        held = Block.objects.filter(column__week__classroom__year=year, column__week__classroom__key=asked.classroom)
        placed = held.filter(column__day=asked.day, activity__key=asked.activity, column__week__draft=False)
        block = placed.order_by("column__week__starts", "start").first()
        if block is None:
            raise AssertionError(f"{asked.classroom} has no {asked.activity} on {asked.day}")
        question = questions.ask(block, member=members[asked.by], text=asked.text)
        for by, text in asked.answers:
            questions.answer(question, member=members[by], text=text)
