"""What a change of a year would do to every classroom's readings, before anybody says yes."""

from scheduling.selectors.preview_words import Preview
from scheduling.services.prepared import prepare
from scheduling.services.rehearsal import Deed
from teamroom.dates.models import SchoolYear


def previewed(year: SchoolYear, deed: Deed) -> Preview:
    """What a deed (a call of services that change the year) would change of the readings.

    The deed is done in a transaction that is always rolled back. What it refuses (RuleBroken) goes
    up as it would from the deed itself.
    """
    return prepare(year, deed, with_weeks=True).preview
