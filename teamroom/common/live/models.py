"""Topics that pages follow, each with its edition."""

from django.db import models


class Topic(models.Model):
    """Something pages show, by name (`classroom-12`), and how often it was changed: its edition.

    A page that knows the edition it shows knows by one number what it missed.
    """

    name = models.CharField(max_length=60, primary_key=True)
    edition = models.PositiveBigIntegerField(default=1)

    def __str__(self) -> str:
        return f"{self.name} {self.edition}"
