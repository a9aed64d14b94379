"""Writes of the school year, and the holds that keep edits and year-wide changes apart."""

import uuid

from teamroom.dates.models import SchoolYear


def hold_year(pk: int) -> SchoolYear:
    """The year, held unchanged until the transaction ends; many edits may hold it at once.

    A change of the year itself waits for them, and they for it, so no reading is worked out from
    half of a change.
    """
    (year,) = SchoolYear.objects.raw("SELECT * FROM dates_schoolyear WHERE id = %s FOR SHARE", [pk])
    return year


def begin_year_change(pk: int) -> SchoolYear:
    """The year, for this transaction alone, with a new revision."""
    year = SchoolYear.objects.select_for_update().get(pk=pk)
    year.revision = uuid.uuid4()
    year.save(update_fields=["revision"])
    return year
