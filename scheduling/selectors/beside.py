"""What a week can be held beside: other weeks of its school that the reader may read, and a grade's rules."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from django.db.models import Q, QuerySet

from scheduling.models import Week
from scheduling.selectors.days_drawn import DaysDrawn, days_drawn
from scheduling.selectors.ledger import Ledger, ledger_of
from scheduling.selectors.shape_words import ShapeTold, shape_told
from scheduling.selectors.sides import Side, room_said
from scheduling.selectors.week_sheet import version_said
from teamroom.dates.grades import said_grades
from teamroom.members.models import Classroom


@dataclass(frozen=True, slots=True)
class Choice:
    """A week by its id, whose it is, and since when."""

    pk: int
    room: str
    said: str


@dataclass(frozen=True, slots=True)
class Choices:
    """Weeks to choose from under a heading."""

    title: str
    weeks: tuple[Choice, ...]


def comparable(week: Week, other: Week) -> bool:
    """Whether two weeks may stand side by side: of one school, whatever the year and the grade, as only within a
    school one key is one activity."""
    return week.classroom.year.school_id == other.classroom.year.school_id


def choices_beside(week: Week, rooms: QuerySet[Classroom]) -> list[Choices]:
    """The weeks that can stand beside one, out of the classrooms that the reader may read, in two queries.

    Of its own classroom all; of others the one in effect today, or the last or the first where none is. Its own
    come first, then its team's, those of its year and the other years', the latest before.
    """
    room = week.classroom
    own = Week.objects.filter(classroom=room).exclude(pk=week.pk).select_related("drafted_by").order_by("starts", "pk")
    groups = [Choices("This classroom", tuple(Choice(one.pk, str(room), version_said(one)) for one in own))]
    groups += _of_others(room, rooms)
    return [group for group in groups if group.weeks]


def _of_others(room: Classroom, rooms: QuerySet[Classroom]) -> Iterator[Choices]:
    today = room.year.school.today()
    found = Week.objects.filter(classroom__in=rooms, draft=False).exclude(classroom=room)
    # Retired classrooms stand in no list of the year at hand; of a year that is over all are told alike.
    found = found.filter(Q(classroom__retired=False) | ~Q(classroom__year=room.year_id))
    found = found.select_related("classroom__year", "classroom__team")
    chosen: dict[int, Week] = {}
    for one in found.order_by("classroom", "starts"):
        if one.classroom_id not in chosen or one.starts <= today:
            chosen[one.classroom_id] = one
    weeks = sorted(chosen.values(), key=lambda one: _rank(one.classroom, room))
    for title, some in groupby(weeks, key=lambda one: _title(one.classroom, room)):
        yield Choices(title, tuple(_choice(one) for one in some))


def _choice(week: Week) -> Choice:
    return Choice(week.pk, room_said(week.classroom), version_said(week))


def _rank(room: Classroom, own: Classroom) -> tuple[object, ...]:
    year = room.year
    team = room.team_id != own.team_id
    return room.year_id != own.year_id, -year.first_day.toordinal(), year.pk, team, room.team.name, str(room), room.pk


def _title(room: Classroom, own: Classroom) -> str:
    if room.year_id != own.year_id:
        return room.year.name
    return "The team" if room.team_id == own.team_id else "Other classrooms"


@dataclass(frozen=True, slots=True)
class Missing:
    """A rule that is not met, and by how much each of its parts is missed; with `any_of` one of them is enough."""

    name: str
    verdict: str
    any_of: bool
    told: str


@dataclass(frozen=True)
class AgainstGrade:
    """A week by a grade's rules: the ledger of that, what of it is missing, and the week's own shape."""

    grade: str
    ledger: Ledger
    missing: tuple[Missing, ...]
    shape: ShapeTold
    drawn: DaysDrawn


def against_grade(side: Side) -> AgainstGrade:
    """A week's side that was worked out for one grade, in words; no query."""
    grades = side.plan.grades
    ledger = ledger_of(side.week.classroom, side.words, would_be=side.readings, grades=grades)
    return AgainstGrade(said_grades(grades), ledger, tuple(_missing(ledger)), shape_told(side), days_drawn(side))


def _missing(ledger: Ledger) -> Iterator[Missing]:
    for entry in (entry for group in ledger.groups for entry in group.entries):
        if entry.look in ("met", "unchecked"):
            continue
        lines = [line for line in entry.lines if line.look != "met"]
        told = [f"{line.margin} {line.period}" + (f" ({line.windows})" if line.windows else "") for line in lines]
        yield Missing(entry.name, entry.verdict, entry.any_of, "; ".join(told))


def grades_beside(week: Week, other: Week) -> tuple[Sequence[str], Sequence[str]]:
    """The grades of each of two weeks that the other could be held against: those it has not, of one year."""
    here, there = week.classroom, other.classroom
    if here.year_id != there.year_id:
        return (), ()
    return (
        [grade for grade in there.grades if grade not in here.grades],
        [grade for grade in here.grades if grade not in there.grades],
    )
