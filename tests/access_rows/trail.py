"""Who may read the trail: administrators, coordinators and the district."""

from tests.access_rows.world import Addresses, Rows

TRAIL = (403, 403, 403, 403, 403, 200, 200, 200, 404, 302)
# Without a moment of this year there is nothing to show.
NO_MOMENT = (403, 403, 403, 403, 403, 404, 404, 404, 404, 302)

ROWS: Rows = {
    ("trail", "GET"): TRAIL,
    ("trail-sheet", "GET"): TRAIL,
    ("trail-moment", "GET"): NO_MOMENT,
}

ADDRESSES: Addresses = {"trail": ("year",), "trail-sheet": ("year",), "trail-moment": ("year",)}
