"""Which school year a command means when it names none, or only half."""

from typing import NamedTuple

from teamroom.common.near import did_you_mean, quoted
from teamroom.dates.models import SchoolYear


class NoSuchYear(Exception):
    """No school year fits the names given; the message says which there are."""


class Choice(NamedTuple):
    """The year meant, and a line that says so where others would have fitted too, else ''."""

    year: SchoolYear
    remark: str


def year_meant(school: str | None, year: str | None) -> Choice:
    """The year of those names; of several that fit, the one loaded or made last.

    Raises NoSuchYear with a sentence that names the nearest.
    """
    everything = SchoolYear.objects.select_related("school").order_by("-loaded_at")
    if not everything:
        raise NoSuchYear("There is no school year yet: load one with manage.py load_school FILE.")
    fitting = [row for row in everything if school in (None, row.school.name) and year in (None, row.name)]
    if not fitting:
        raise NoSuchYear(_nearest(list(everything), school, year))
    chosen = fitting[0]
    if len(fitting) == 1:
        return Choice(chosen, "")
    others = "is 1 other" if len(fitting) == 2 else f"are {len(fitting) - 1} others"
    return Choice(
        chosen, f"This is {chosen.school.name}, {chosen.name}; there {others}: name one with --school and --year."
    )


def _nearest(rows: list[SchoolYear], school: str | None, year: str | None) -> str:
    schools = list(dict.fromkeys(row.school.name for row in rows))
    if school is not None and school not in schools:
        return f"There is no school {quoted(school)}: {did_you_mean(school, schools)}"
    names = list(dict.fromkeys(row.name for row in rows if school in (None, row.school.name)))
    where = f" of {school}" if school else ""
    return f"There is no year {quoted(year or '')}{where}: {did_you_mean(year or '', names)}"
