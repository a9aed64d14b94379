"""States and time zones as people choose them from a list."""

import zoneinfo
from collections.abc import Iterable
from functools import cache

from holidays.countries.united_states import US

COUNTRY = "US"

# The zones of the United States and its territories, by the names their people use; the codes are IANA's.
NEAR_ZONES = (
    ("America/New_York", "Eastern (New York)"),
    ("America/Detroit", "Eastern (Detroit)"),
    ("America/Indiana/Indianapolis", "Eastern (Indianapolis)"),
    ("America/Chicago", "Central (Chicago)"),
    ("America/Denver", "Mountain (Denver)"),
    ("America/Boise", "Mountain (Boise)"),
    ("America/Phoenix", "Mountain, no summer time (Phoenix)"),
    ("America/Los_Angeles", "Pacific (Los Angeles)"),
    ("America/Anchorage", "Alaska (Anchorage)"),
    ("America/Adak", "Aleutian (Adak)"),
    ("Pacific/Honolulu", "Hawaii (Honolulu)"),
    ("America/Puerto_Rico", "Atlantic (Puerto Rico)"),
    ("Pacific/Guam", "Chamorro (Guam)"),
    ("Pacific/Pago_Pago", "Samoa (Pago Pago)"),
)

Choices = list[tuple[str, str]]


@cache
def state_choices() -> Choices:
    """States and territories by name, each with its ISO 3166-2 code; nothing chosen first."""
    names: dict[str, str] = {}
    for name, code in US.subdivisions_aliases.items():
        names.setdefault(code, name)
    found = sorted((names.get(code, code), f"{COUNTRY}-{code}") for code in US.subdivisions)
    return [("", "Not given"), *((code, name) for name, code in found)]


def state_name(place: str) -> str:
    """A state's name by its ISO 3166-2 code; '' where none was given."""
    return dict(state_choices()).get(place, place) if place else ""


@cache
def zone_choices() -> list[tuple[str, Choices]]:
    """Every time zone that this machine knows, those of the United States first."""
    near = {zone for zone, _ in NEAR_ZONES}
    others = sorted(zone for zone in zoneinfo.available_timezones() if "/" in zone and zone not in near)
    return [
        ("United States", list(NEAR_ZONES)),
        ("Everywhere else", [*_named(others), ("UTC", "UTC")]),
    ]


def _named(zones: Iterable[str]) -> Choices:
    return [(zone, zone.replace("_", " ")) for zone in zones if not zone.startswith(("Etc/", "SystemV/", "posix/"))]
