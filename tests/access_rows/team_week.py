"""Who may look at a team's week and at what classes share; the administrator says what there is to share."""

from scheduling.models import SharedResource
from tests.access_rows.world import READ_YEAR, SET_UP, SET_UP_DONE, SET_UP_SENT, Addresses, Rows, World
from tests.factories import begin

# Of another team one may know that it is there, as on the page of teams, and not its weeks.
OF_THE_TEAM = (200, 200, 200, 200, 403, 200, 200, 200, 404, 302)

ROWS: Rows = {
    ("scheduling:team-week", "GET"): OF_THE_TEAM,
    ("scheduling:shared-resources", "GET"): READ_YEAR,
    ("scheduling:shared-resource", "GET"): READ_YEAR,
    ("scheduling:shared-resource-add", "GET"): SET_UP,
    ("scheduling:shared-resource-add", "POST"): SET_UP_SENT,
    ("scheduling:shared-resource-change", "GET"): SET_UP,
    ("scheduling:shared-resource-change", "POST"): SET_UP_SENT,
    ("scheduling:shared-resource-remove", "POST"): SET_UP_DONE,
}

ADDRESSES: Addresses = {
    "scheduling:team-week": ("team",),
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
