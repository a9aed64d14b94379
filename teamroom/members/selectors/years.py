"""Which years and classes are a member's, as of today."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import DateField, F, Func, Q, QuerySet
from django.db.models.functions import Now

from teamroom.dates.models import SchoolYear
from teamroom.members.models import ClassTeacher, Member


class DateAt(Func):
    """A moment's date by the clock of a time zone: `DateAt(F("...__time_zone"), Now())`."""

    function = "timezone"
    template = "(%(function)s(%(expressions)s))::date"
    output_field = DateField()


def taught_today(member: Member) -> QuerySet[ClassTeacher]:
    """A member's classes as of today at the school."""
    today = DateAt(F("classroom__year__school__time_zone"), Now())
    begun = Q(first_day__isnull=True) | Q(first_day__lte=today)
    goes_on = Q(last_day__isnull=True) | Q(last_day__gte=today)
    return ClassTeacher.objects.filter(begun & goes_on, member=member)


def years_of(member: Member) -> list[SchoolYear]:
    """The current year of each school in which the member has a part; the district's part is none."""
    return current_years(all_years_of(member))


def all_years_of(member: Member) -> QuerySet[SchoolYear]:
    """Every year in which the member has a part, of any school."""
    years = SchoolYear.objects.filter(
        Q(school__roles__member=member)
        | Q(teams__roles__member=member)
        | Q(classrooms__class_teachers__in=taught_today(member))
    )
    return years.select_related("school").distinct()


@dataclass(frozen=True)
class SchoolYears:
    """A school's years that are somebody's, the latest first among the others."""

    current: SchoolYear
    others: list[SchoolYear]


def years_by_school(member: Member) -> list[SchoolYears]:
    """The schools in which the member has a part, by name, each with its years, in one query."""
    years = sorted(all_years_of(member), key=lambda year: (year.first_day, year.pk), reverse=True)
    return [
        SchoolYears(now, [year for year in years if year.school_id == now.school_id and year != now])
        for now in current_years(years)
    ]


def current_years(years: Iterable[SchoolYear]) -> list[SchoolYear]:
    """Of each school's years the one that holds its today, else the next, else the last."""
    by_school: dict[int, list[SchoolYear]] = defaultdict(list)
    for year in years:
        by_school[year.school_id].append(year)
    found = []
    for some in by_school.values():
        some.sort(key=lambda year: year.first_day)
        today = some[0].school.today()
        found.append(next((year for year in some if year.last_day >= today), some[-1]))
    return sorted(found, key=lambda year: (year.school.name, year.pk))
