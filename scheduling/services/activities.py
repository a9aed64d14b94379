"""A year's activities: made, renamed and taken away. Their keys are the app's own, made from their names.

Words are kept by the year's revision, so each change gives it a new one; no reading follows from a name.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from django.db import transaction

from scheduling.models import Activity
from scheduling.rule_library.library import activity_names
from scheduling.selectors.activity_uses import uses_of
from teamroom.common.errors import RuleBroken
from teamroom.common.keys import free_key
from teamroom.dates.models import SchoolYear
from teamroom.dates.services import begin_year_change, year_alone

LONGEST_NAME = 120
MOST_AT_ONCE = 100
MOST_IN_A_YEAR = 300


@dataclass(frozen=True)
class Added:
    """What an adding made, and which of the names were there already."""

    made: Sequence[Activity]
    there: Sequence[str]


@transaction.atomic
def add_activities(year: SchoolYear, names: Iterable[str]) -> Added:
    """Make an activity of each name that the year does not have. RuleBroken at `names`."""
    wanted = [tidy for name in names if (tidy := " ".join(name.split()))]
    if not wanted:
        raise RuleBroken("Write at least one activity, each on a line of its own.", field="names")
    if len(wanted) > MOST_AT_ONCE:
        raise RuleBroken(f"These are {len(wanted)} lines. Add at most {MOST_AT_ONCE} at once.", field="names")
    for place, name in enumerate(wanted, start=1):
        if len(name) > LONGEST_NAME:
            raise RuleBroken(
                f"Line {place} is {len(name)} characters long: write at most {LONGEST_NAME}.", field="names"
            )
    return _make(year, [(name, "") for name in wanted], field="names")


@transaction.atomic
def add_usual_activities(year: SchoolYear, keys: Collection[str]) -> Added:
    """Make activities that published rules speak of, under the keys by which they do. RuleBroken at `keys`."""
    chosen = [(name, key) for key, name in activity_names().items() if key in set(keys)]
    if not chosen:
        raise RuleBroken("Tick at least one activity.", field="keys")
    return _make(year, chosen, field="keys")


@transaction.atomic
def rename_activity(activity: Activity, name: str) -> Activity:
    """Give an activity another name; its key stays, so rules go on speaking of it. RuleBroken at `name`."""
    year = begin_year_change(activity.year_id)
    tidy = " ".join(name.split())
    if not tidy:
        raise RuleBroken("Give the activity a name.", field="name")
    if len(tidy) > LONGEST_NAME:
        raise RuleBroken(f"Write at most {LONGEST_NAME} characters.", field="name")
    others = year.activities.exclude(pk=activity.pk).values_list("name", flat=True)
    if tidy.casefold() in {other.casefold() for other in others}:
        raise RuleBroken(f"{tidy} is the name of another activity: choose one that tells them apart.", field="name")
    activity.name = tidy
    activity.save(update_fields=["name"])
    return activity


@transaction.atomic
def set_frees_teacher(activity: Activity, *, frees: bool) -> Activity:
    """Say whether somebody else has the class during an activity, so that its own teachers can plan together then."""
    # No reading asks for it.
    year_alone(activity.year_id)
    activity.frees_teacher = frees
    activity.save(update_fields=["frees_teacher"])
    return activity


@transaction.atomic
def remove_activity(activity: Activity) -> None:
    """Take away an activity that is used nowhere. Raises RuleBroken that says where it is used."""
    year = begin_year_change(activity.year_id)
    if used := uses_of(year).get(activity.pk):
        raise RuleBroken(f"{activity} is used in {used.said}. Give that time to another activity first.")
    activity.delete()


def _make(year: SchoolYear, wanted: Sequence[tuple[str, str]], *, field: str) -> Added:
    """Make what is new of names with their keys (empty: to be made). Nothing new is refused."""
    year = begin_year_change(year.pk)
    rows = list(year.activities.values_list("key", "name"))
    keys, names = {key for key, _ in rows}, {name.casefold() for _, name in rows}
    made: list[Activity] = []
    there: list[str] = []
    for name, asked in wanted:
        key = asked or _key_for(name, keys)
        if name.casefold() in names or key in keys:
            there.append(name)
            continue
        keys.add(key)
        names.add(name.casefold())
        made.append(Activity(year=year, key=key, name=name))
    if not made:
        raise RuleBroken(_all_there(there), field=field)
    if len(rows) + len(made) > MOST_IN_A_YEAR:
        raise RuleBroken(f"The year has {len(rows)} activities and can have {MOST_IN_A_YEAR}: add fewer.", field=field)
    Activity.objects.bulk_create(made)
    return Added(made, there)


def _key_for(name: str, taken: Collection[str]) -> str:
    """The key by which published rules speak of a thing of this name, else one made from it."""
    for key, usual in activity_names().items():
        if key not in taken and name.casefold() in (usual.casefold(), key.replace("_", " ")):
            return key
    return free_key(name, taken, otherwise="activity")


def _all_there(names: Sequence[str]) -> str:
    if len(names) == 1:
        return f"{names[0]} is there already."
    return f"All {len(names)} are there already."
