"""How far a school year is set up: each line worked out from what is there, so that nothing can disagree with it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from django.db.models import Exists, OuterRef, Q
from django.urls import reverse
from django.utils import timezone

from scheduling.minutes.figures import listed
from scheduling.models import BellSchedule, Rule, Week
from teamroom.common.clock import said_date
from teamroom.common.wording import counted, full_date
from teamroom.dates.calendar_maths import REGULAR
from teamroom.dates.models import SchoolYear
from teamroom.dates.selectors import school_days_of
from teamroom.members.models import Classroom, Invitation, Member, Team
from teamroom.setup.order import STEPS

State = Literal["done", "next", "to do", "can wait"]


@dataclass(frozen=True)
class Line:
    """One step: where it is done, how far it is in a sentence, and what it still wants ('' for nothing).

    `state` is "to do" until `lines_of` knows which of those is next.
    """

    key: str
    title: str
    to: str
    state: State
    said: str
    wants: str = ""


def lines_of(year: SchoolYear) -> list[Line]:
    """The steps of a year in order, the first that is open marked as next. A fixed number of queries."""
    lines = list(_lines(year))
    for place, line in enumerate(lines):
        if line.state == "to do":
            lines[place] = replace(line, state="next")
            break
    return lines


@dataclass(frozen=True)
class Places:
    """What a year has of teams and classrooms; retired ones count for nothing here."""

    teams: int
    rooms: list[Classroom]

    @property
    def grades(self) -> set[str]:
        """The grade whose bell each class follows: a combination class follows its first."""
        return {room.grades[0] for room in self.rooms}


def _lines(year: SchoolYear) -> Iterator[Line]:
    places = _places(year)
    told = [
        _dates(year),
        _closures(year),
        _kinds(year),
        _activities(year),
        _bells(year, places),
        _rules(year),
        _teams(places),
        _people(year),
    ]
    for step, (state, said, wants) in zip(STEPS, told, strict=True):
        yield Line(step.key, step.title, step.address(year.pk), state, said, wants)
    yield _first_week(places)


Told = tuple[State, str, str]


def _places(year: SchoolYear) -> Places:
    begun = Exists(Week.objects.filter(classroom=OuterRef("pk"), draft=False))
    rooms = year.classrooms.filter(retired=False).annotate(has_week=begun).order_by("team__name", "name", "key")
    return Places(Team.objects.filter(year=year, retired=False).count(), list(rooms))


def _dates(year: SchoolYear) -> Told:
    days = len(school_days_of(year))
    said = f"{full_date(year.first_day)} to {full_date(year.last_day)}: {counted(days, 'school day')}"
    if not days:
        return "to do", f"{said}.", "Give the year dates with at least one school day."
    if year.required_days is None:
        return "done", f"{said}.", "Enter how many school days your school must hold, and they are compared here."
    more = days - year.required_days
    if more < 0:
        return (
            "to do",
            f"{said}, {-more} fewer than the {year.required_days} you entered.",
            "Move the last day, take a closure away, or correct the requirement.",
        )
    compared = f"{more} more than" if more else "exactly"
    return "done", f"{said}, {compared} the {year.required_days} you entered.", ""


def _closures(year: SchoolYear) -> Told:
    spans = list(year.closures.order_by("first_day"))
    if not spans:
        return "to do", "No closure yet: every Monday to Friday counts as a school day.", ""
    return "done", f"{counted(len(spans), 'closure')}, the first on {said_date(spans[0].first_day)}.", ""


def _kinds(year: SchoolYear) -> Told:
    kinds = [kind.name for kind in year.day_kinds.order_by("pk")]
    standing = year.standing_kinds.count()
    cycle = {
        "weekdays": "days named by weekday",
        "alternating weeks": "A and B weeks in turn",
        "rotating days": f"{counted(year.cycle_length, 'day')} in rotation",
    }[year.cycle_kind]
    if len(kinds) < 2 and not standing and year.cycle_kind == "weekdays":
        wants = "If some days are shorter, or your days rotate, say so here before the bells."
        return "can wait", f"Every school day is a regular day; {cycle}.", wants
    said = f"{counted(len(kinds), 'kind')} of day ({listed(kinds)}), {counted(standing, 'standing day')}, {cycle}."
    return "done", said, ""


def _activities(year: SchoolYear) -> Told:
    count = year.activities.count()
    if not count:
        return "to do", "No activity yet.", "Bells, rules and blocks are all made of activities."
    return "done", f"{counted(count, 'activity', 'activities')}.", ""


def _bells(year: SchoolYear, places: Places) -> Told:
    bells = list(BellSchedule.objects.filter(year=year).select_related("kind"))
    if not bells:
        return "to do", "No bell schedule yet.", "A week is drawn between its grade's start and dismissal."
    grades = {bell.grade for bell in bells}
    kinds = {bell.kind_id for bell in bells}
    said = f"Times for {counted(len(grades), 'grade')} on {counted(len(kinds), 'kind')} of day."
    missing = sorted(places.grades - {bell.grade for bell in bells if bell.kind.key == REGULAR})
    if missing:
        grade = "grade" if len(missing) == 1 else "grades"
        return (
            "to do",
            said,
            f"Give {grade} {listed(missing)} times for a regular day: a class follows its first grade.",
        )
    return "done", said, ""


def _rules(year: SchoolYear) -> Told:
    rules = list(Rule.objects.filter(year=year).values_list("standing", "not_checkable"))
    if not rules:
        return "to do", "No rule yet.", "Adopt your state’s from the library, or write your own."
    law = sum(standing == "law" for standing, _ in rules)
    unproved = sum(bool(why) for _, why in rules)
    said = f"{counted(len(rules), 'rule')}, {law} of law"
    return "done", f"{said}; {unproved} no week can prove." if unproved else f"{said}.", ""


def _teams(places: Places) -> Told:
    said = f"{counted(places.teams, 'team')}, {counted(len(places.rooms), 'classroom')}."
    if not places.teams:
        return "to do", "No team yet.", "A team is a grade’s teachers; its classrooms hang on it."
    if not places.rooms:
        return "to do", said, "Add a classroom: minutes are counted for each one."
    return "done", said, ""


def _people(year: SchoolYear) -> Told:
    part = (
        Q(school_roles__school=year.school_id)
        | Q(team_roles__team__year=year)
        | Q(class_teaching__classroom__year=year)
    )
    people = Member.objects.filter(part, is_active=True).distinct().count()
    waiting = Invitation.objects.filter(
        school=year.school_id, accepted_at=None, revoked_at=None, expires_at__gt=timezone.now()
    ).count()
    invited = f", {counted(waiting, 'invitation')} waiting" if waiting else ""
    said = f"{counted(people, 'person', 'people')}{invited}."
    if people > 1 or waiting:
        return "done", said, ""
    return "can wait", said, "Invite the team leads first: they bring in their teams."


def _first_week(places: Places) -> Line:
    title = "The first week"
    if not places.rooms:
        return Line("week", title, "", "to do", "A week belongs to a classroom, and there is none yet.")
    without = [room for room in places.rooms if not room.has_week]  # type: ignore[attr-defined]  # annotated above
    begun = len(places.rooms) - len(without)
    if not begun:
        to = reverse("scheduling:week", args=[without[0].pk])
        return Line("week", title, to, "to do", f"No classroom has a week yet: begin with {without[0]}.")
    said = f"{begun} of {counted(len(places.rooms), 'classroom')} {'has' if begun == 1 else 'have'} a week."
    to = reverse("scheduling:week", args=[without[0].pk]) if without else reverse("home")
    return Line("week", title, to, "done", said, f"Next: {without[0]}." if without else "")
