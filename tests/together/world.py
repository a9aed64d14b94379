"""A team whose members edit each other's weeks."""

from dataclasses import dataclass

from scheduling.models import Week
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Member
from tests import factories as make

DAY = (("08:00", "09:00", "reading"), ("09:00", "10:00", "math"), ("10:15", "11:00", "science"))
RULES = {
    "math_week": {"pool": {"of": ["math"]}, "at_least": 200},
    "science_days": {"pool": {"of": ["science"]}, "days_met": {"at_least": 2, "minutes": 30}, "window": "week"},
    "reading_day": {"pool": {"of": ["reading"]}, "recommended": 45, "window": "day"},
    "year": {"pool": {"except": ["lunch", "recess"]}, "at_least": 5000, "window": "year"},
}


@dataclass(frozen=True)
class TeamWorld:
    year: SchoolYear
    weeks: list[Week]
    members: list[Member]


def make_team(classrooms: int, members: int, name: str = "Fernhollow Elementary") -> TeamWorld:
    """Classrooms with a few blocks on three days each, and members who may edit all of them."""
    year = make.make_year(name)
    weeks = [make.make_week(make.make_classroom(year, f"room{n}")) for n in range(classrooms)]
    team = weeks[0].classroom.team
    team.edits_together = True
    team.save()
    people = [make.make_teammate(team, f"Person{year.pk}x{n}") for n in range(members)]
    for week in weeks:
        make.add(week, people[0], *[(day, *block) for day in ("mon", "tue", "wed") for block in DAY])
    for key, body in RULES.items():
        make.make_rule(year, key, body)
    return TeamWorld(SchoolYear.objects.get(pk=year.pk), weeks, people)
