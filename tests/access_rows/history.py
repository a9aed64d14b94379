"""Who may reach a week's history, and who may say why something was changed: only its maker."""

from scheduling.models import WeekChange
from tests.access_rows.world import DONE, EDIT, READ, SENT, Addresses, Rows, World

MAKER = (200, 403, 403, 403, 404, 403, 403, 403, 404, 302)
MAKER_SENT = (302, 403, 403, 403, 404, 403, 403, 403, 404, 302)

ROWS: Rows = {
    ("scheduling:week-history", "GET"): READ,
    ("scheduling:week-restore", "GET"): EDIT,
    ("scheduling:week-restore", "POST"): SENT,
    ("scheduling:week-redo", "POST"): DONE,
    ("scheduling:change-reason", "GET"): MAKER,
    ("scheduling:change-reason", "POST"): MAKER_SENT,
}

ADDRESSES: Addresses = {
    "scheduling:week-history": ("week",),
    "scheduling:week-restore": ("week",),
    "scheduling:week-redo": ("week",),
    "scheduling:change-reason": ("week_change",),
}


def prepare(world: World) -> None:
    world.ids["week_change"] = WeekChange.objects.filter(week=world.ids["week"]).order_by("revision")[0].pk
