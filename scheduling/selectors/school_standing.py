"""How the classrooms of several school years stand with their rules, counted."""

from collections.abc import Collection
from dataclasses import dataclass

from django.db.models import Count, Exists, OuterRef, Q

from scheduling.models import Reading
from teamroom.members.models import Classroom

FAILS = ("short", "over")


@dataclass(frozen=True, slots=True)
class YearStanding:
    """Of a year's classrooms, but for retired ones: how many there are, how many have rules to meet,
    and how many meet all of them.

    Advice is no rule to meet, and what cannot be checked here counts for neither.
    """

    classrooms: int = 0
    ruled: int = 0
    meeting: int = 0


def standings_of(years: Collection[int]) -> dict[int, YearStanding]:
    """By the id of each year that has classrooms, in one query."""
    verdicts = Reading.objects.filter(classroom=OuterRef("pk"), part=None)
    fails, meets = Exists(verdicts.filter(status__in=FAILS)), Exists(verdicts.filter(status="met"))
    rooms = Classroom.objects.filter(year__in=years, retired=False).annotate(fails=fails, meets=meets)
    counted = rooms.values("year").annotate(
        all=Count("pk"),
        ruled=Count("pk", filter=Q(fails=True) | Q(meets=True)),
        meeting=Count("pk", filter=Q(fails=False, meets=True)),
    )
    return {row["year"]: YearStanding(row["all"], row["ruled"], row["meeting"]) for row in counted.order_by()}
