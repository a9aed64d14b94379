"""What the classes of a school share, such as a science lab, a cart or aides: added, changed, taken away.

Weeks speak of it by key and screens by name, both kept by the year's revision, so each change gives
the year a new one.
"""

from django.db import transaction
from django.db.models import Max

from scheduling.models import BlockUse, SharedResource
from teamroom.common.errors import RuleBroken
from teamroom.common.keys import free_key
from teamroom.common.wording import counted
from teamroom.dates.models import SchoolYear
from teamroom.dates.services import begin_year_change

LONGEST_NAME = 120
MOST_IN_A_YEAR = 100
LARGEST_CAPACITY = 99


@transaction.atomic
def add_resource(year: SchoolYear, *, name: str, capacity: int) -> SharedResource:
    """Something that so many classes can have at the same time. RuleBroken at `name` or `capacity`."""
    year = begin_year_change(year.pk)
    tidy = _checked(year, name, capacity)
    keys = list(year.shared_resources.values_list("key", flat=True))
    if len(keys) >= MOST_IN_A_YEAR:
        raise RuleBroken(f"The year has {len(keys)} shared resources: remove one that nobody uses first.", field="name")
    key = free_key(tidy, keys, otherwise="shared")
    return SharedResource.objects.create(year=year, key=key, name=tidy, capacity=capacity)


@transaction.atomic
def change_resource(resource: SharedResource, *, name: str, capacity: int) -> SharedResource:
    """Another name, or another number; never fewer than a single block needs. RuleBroken at `name` or `capacity`."""
    year = begin_year_change(resource.year_id)
    tidy = _checked(year, name, capacity, but=resource)
    largest = BlockUse.objects.filter(resource=resource).aggregate(most=Max("amount"))["most"] or 0
    if capacity < largest:
        raise RuleBroken(f"A block needs {largest} of it: change that block first.", field="capacity")
    resource.name, resource.capacity = tidy, capacity
    resource.save(update_fields=["name", "capacity"])
    return resource


@transaction.atomic
def remove_resource(resource: SharedResource) -> None:
    """Take away what no block needs, drafts and earlier weeks among them. RuleBroken that says how many do."""
    begin_year_change(resource.year_id)
    used = BlockUse.objects.filter(resource=resource)
    if count := used.count():
        rooms = used.values("block__column__week__classroom").distinct().count()
        raise RuleBroken(
            f"{counted(count, 'block')} in {counted(rooms, 'classroom')} "
            f"{'needs' if count == 1 else 'need'} {resource}, earlier weeks and drafts counted. "
            "Take it out of them first."
        )
    resource.delete()


def _checked(year: SchoolYear, name: str, capacity: int, but: SharedResource | None = None) -> str:
    tidy = " ".join(name.split())
    if not tidy:
        raise RuleBroken("Give it a name, such as Science lab.", field="name")
    if len(tidy) > LONGEST_NAME:
        raise RuleBroken(f"Write at most {LONGEST_NAME} characters.", field="name")
    others = [name for pk, name in year.shared_resources.values_list("pk", "name") if but is None or pk != but.pk]
    if tidy.casefold() in {other.casefold() for other in others}:
        raise RuleBroken(f"{tidy} is there already: choose a name that tells them apart.", field="name")
    if not 1 <= capacity <= LARGEST_CAPACITY:
        raise RuleBroken(f"Say how many classes can have it at once: 1 to {LARGEST_CAPACITY}.", field="capacity")
    return tidy
