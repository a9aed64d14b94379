"""Who may look at a team's week and at what classes share; the administrator says what there is to share."""

from scheduling.models import SharedResource
from tests.access_rows.world import READ_YEAR, SET_UP, SET_UP_DONE, SET_UP_SENT, Addresses, Rows, World
from tests.factories import begin

ROWS: Rows = {
    ("scheduling:shared-resources", "GET"): READ_YEAR,
    ("scheduling:shared-resource", "GET"): READ_YEAR,
    ("scheduling:shared-resource-add", "GET"): SET_UP,
    ("scheduling:shared-resource-add", "POST"): SET_UP_SENT,
    ("scheduling:shared-resource-change", "GET"): SET_UP,
    ("scheduling:shared-resource-change", "POST"): SET_UP_SENT,
    ("scheduling:shared-resource-remove", "POST"): SET_UP_DONE,
}

ADDRESSES: Addresses = {
    "scheduling:shared-resources": ("year",),
    "scheduling:shared-resource": ("year", "resource"),
    "scheduling:shared-resource-add": ("year",),
    "scheduling:shared-resource-change": ("year", "resource"),
    "scheduling:shared-resource-remove": ("year", "resource"),
}


def prepare(world: World) -> None:
    """A science lab that no block needs."""
    lab = SharedResource.objects.create(year_id=world.ids["year"], key="lab", name="Science lab")
    begin(lab.year)
    world.ids["resource"] = lab.pk
