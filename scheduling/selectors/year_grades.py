"""The grades a year speaks of, for forms to begin with."""

from scheduling.models import BellSchedule
from teamroom.dates.grades import LADDER
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom, Team


def grades_of(year: SchoolYear) -> list[str]:
    """Every grade that a team, a classroom or a bell schedule of the year names, the lowest first."""
    lists = [
        *Team.objects.filter(year=year, retired=False).values_list("grades", flat=True),
        *Classroom.objects.filter(year=year, retired=False).values_list("grades", flat=True),
        list(BellSchedule.objects.filter(year=year).values_list("grade", flat=True)),
    ]
    found = {grade for grades in lists for grade in grades}
    return sorted(found, key=lambda grade: (LADDER.index(grade) if grade in LADDER else len(LADDER), grade))
