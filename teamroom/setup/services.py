"""Whether a year is still being set up, which its administrator alone decides."""

from django.db import transaction

from teamroom.dates.models import SchoolYear


@transaction.atomic
def end_setting_up(year: SchoolYear) -> None:
    """Show the way from step to step no longer. Nothing else changes, and it can be taken back."""
    SchoolYear.objects.filter(pk=year.pk).update(being_set_up=False)


@transaction.atomic
def set_up_again(year: SchoolYear) -> None:
    """Show the way from step to step again."""
    SchoolYear.objects.filter(pk=year.pk).update(being_set_up=True)
