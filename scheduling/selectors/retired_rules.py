"""Rules that a year had and has no more, out of the trail."""

from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django.apps import apps
from django.db.models import QuerySet
from django.utils import timezone

from scheduling.models import Rule
from teamroom.common.wording import full_date
from teamroom.dates.grades import said_grades
from teamroom.dates.models import SchoolYear

MOST = 12


@dataclass(frozen=True, slots=True)
class RetiredRule:
    """A rule that is gone, and the day it went."""

    pk: int
    name: str
    grades: str
    when: str


def retired_rules(year: SchoolYear) -> list[RetiredRule]:
    """The rules last retired that could come back, the latest first, in two queries."""
    there = set(Rule.objects.filter(year=year).values_list("pk", "key"))
    ids, keys = {pk for pk, _ in there}, {key for _, key in there}
    zone = ZoneInfo(year.school.time_zone)
    found: dict[str, RetiredRule] = {}
    for event in _ends(year)[: 4 * MOST]:
        if event.pgh_obj_id not in ids and event.key not in keys and event.key not in found:
            when = timezone.localdate(event.pgh_created_at, zone)
            found[event.key] = RetiredRule(event.pgh_obj_id, event.name, said_grades(event.grades), full_date(when))
    return list(found.values())[:MOST]


def last_of(year: SchoolYear, pk: int) -> Any | None:
    """The last record of a retired rule of the year: the columns of a rule, as it was; None if there is none."""
    return _ends(year).filter(pgh_obj_id=pk).first()


def _ends(year: SchoolYear) -> QuerySet[Any]:
    events = apps.get_model("scheduling", "RuleEvent")
    ends: QuerySet[Any] = events._default_manager.filter(pgh_label="delete", year_id=year.pk).order_by("-pgh_id")
    return ends
