"""What open pages ask by themselves."""

from tests.access_rows.world import READ, Addresses, Rows

ROWS: Rows = {
    # Without a topic there is nothing to tell; whose topics are whose is tested with the streams.
    ("live-positions", "GET"): (*(404,) * 9, 302),
    ("scheduling:week-stale", "GET"): READ,
    ("scheduling:classroom-here", "POST"): READ,
}

ADDRESSES: Addresses = {
    "live-positions": (),
    "scheduling:week-stale": ("week",),
    "scheduling:classroom-here": ("classroom",),
}
