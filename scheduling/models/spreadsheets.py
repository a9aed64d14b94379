"""Weeks out of spreadsheets: what was sent, until somebody says yes to it, and what written names mean."""

from django.conf import settings
from django.db import models

from teamroom.common.fields import KeyField
from teamroom.dates.models import School
from teamroom.members.models import Classroom


class SentSheet(models.Model):
    """The cells of a file that a member sent for a classroom's week, for nobody else to see, and for a day.

    `sheets` is as `spreadsheets.sheet.plain_sheet` writes them, `said` what was guessed in reading the file.
    """

    member = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="+")
    classroom = models.ForeignKey(Classroom, on_delete=models.CASCADE, related_name="+")
    file_name = models.CharField(max_length=120)
    sheets = models.JSONField()
    said = models.JSONField(default=list)
    sent_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.file_name


class WrittenName(models.Model):
    """What a name in a school's spreadsheets means, once somebody has said so: an activity's key, or nothing
    for a name that is left out. `written` is folded (`spreadsheets.names.folded`)."""

    school = models.ForeignKey(School, on_delete=models.CASCADE, related_name="written_names")
    written = models.CharField(max_length=80)
    activity = KeyField(blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["school", "written"], name="one_meaning_a_written_name")]

    def __str__(self) -> str:
        return f"{self.written}: {self.activity or 'left out'}"
