"""Where topics stand. Without a topic there is nothing to tell; whose topics are whose is tested with the streams."""

from tests.access_rows.world import Addresses, Rows

ROWS: Rows = {("live-positions", "GET"): (*(404,) * 9, 302)}

ADDRESSES: Addresses = {"live-positions": ()}
