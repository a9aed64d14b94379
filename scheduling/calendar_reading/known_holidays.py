"""Federal and state holidays within a school year, from the `holidays` package."""

import datetime as dt
from dataclasses import dataclass

from holidays import country_holidays
from holidays.countries.united_states import US

COUNTRY = "US"


@dataclass(frozen=True, slots=True)
class Holiday:
    """A holiday on the date it falls on, or (as its name then says) on the day it is observed."""

    date: dt.date
    name: str
    is_federal: bool


def is_known_place(place: str) -> bool:
    """Whether a place, as ISO 3166-2 writes it (US-CA), has holidays of its own here."""
    country, _, code = place.partition("-")
    return country == COUNTRY and code in US.subdivisions


def holidays_between(first: dt.date, last: dt.date, place: str) -> tuple[Holiday, ...]:
    """The holidays from a first to a last date, in order: federal ones (5 U.S.C. 6103, with the days
    on which they are observed), and on other dates those of the place, where it is a known one."""
    years = range(first.year, last.year + 1)
    federal = country_holidays(COUNTRY, years=years, observed=True, language="en_US")
    found = [Holiday(date, name, is_federal=True) for date, name in federal.items()]
    if is_known_place(place):
        code = place.partition("-")[2]
        own = country_holidays(COUNTRY, subdiv=code, years=years, observed=True, language="en_US")
        found += [Holiday(date, name, is_federal=False) for date, name in own.items() if date not in federal]
    return tuple(sorted((one for one in found if first <= one.date <= last), key=lambda one: one.date))
