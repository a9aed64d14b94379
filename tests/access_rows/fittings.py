"""Who may have a week fitted, see what was found, decide about it, and make a draft of it."""

from typing import Any

from scheduling.models import Block, Fitting, Week
from tests.access_rows.world import DONE, EDIT, SENT, Addresses, Rows, World

ROWS: Rows = {
    ("scheduling:take-over", "GET"): EDIT,
    ("scheduling:take-over", "POST"): SENT,
    ("scheduling:from-nothing", "GET"): EDIT,
    ("scheduling:from-nothing", "POST"): SENT,
    ("scheduling:week-mend", "GET"): EDIT,
    ("scheduling:week-mend", "POST"): SENT,
    ("scheduling:fitting", "GET"): EDIT,
    ("scheduling:fitting-stop", "POST"): DONE,
    ("scheduling:fitting-way", "GET"): EDIT,
    ("scheduling:fitting-again", "POST"): SENT,
    ("scheduling:fitting-take", "POST"): DONE,
}

ADDRESSES: Addresses = {
    "scheduling:take-over": ("classroom",),
    "scheduling:from-nothing": ("classroom",),
    "scheduling:week-mend": ("week",),
    "scheduling:fitting": ("fitting",),
    "scheduling:fitting-stop": ("fitting",),
    "scheduling:fitting-way": ("fitting", "fitting's way"),
    "scheduling:fitting-again": ("fitting", "fitting's way"),
    "scheduling:fitting-take": ("fitting", "fitting's way"),
}


def way_of(week: Week, later: int = 0) -> dict[str, Any]:
    """A week's Monday as it stands, so many minutes later, as a fitting keeps what it found."""
    blocks = list(Block.objects.filter(column__week=week, column__day="mon").select_related("activity"))
    kept = [
        {"place": [0, b.start + later, b.end + later], "activity": b.activity.key, "credits": [], "block": b.pk}
        for b in blocks
    ]
    changes = [
        {
            "key": f"{b.pk}@mon:regular",
            "said": f"{b.activity} moved.",
            "was": [0, b.start, b.end],
            "now": [0, b.start + later, b.end + later],
        }
        for b in blocks
    ]
    told = dict.fromkeys(("shortfall", "advice", "wishes", "dropped", "moved_days", "moving", "bound", "free"), 0)
    days = [["mon", "regular"]]
    return {**told, "proven": True, "stopped": False, "changes": changes, "days": days, "blocks": kept}


def prepare(world: World) -> None:
    week = Week.objects.get(pk=world.ids["week"])
    fitting = Fitting.objects.create(
        classroom=world.classroom,
        kind="mend",
        source=week,
        starts=week.starts,
        asked={},
        state="done",
        ways=[way_of(week, 5), way_of(week, 10)],
    )
    world.ids |= {"fitting": fitting.pk, "fitting's way": 0}
