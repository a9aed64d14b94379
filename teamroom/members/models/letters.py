"""Letters waiting to be sent: a row is the queue, so a mail server that is away loses nothing."""

from django.db import models
from django.utils import timezone


class Letter(models.Model):
    """One e-mail. Its words are wiped once it is sent, as they may hold a way in."""

    to = models.EmailField(max_length=254)
    subject = models.CharField(max_length=300)
    text = models.TextField(blank=True)
    html = models.TextField(blank=True)
    made_at = models.DateTimeField(default=timezone.now)
    next_try_at = models.DateTimeField(default=timezone.now, db_index=True)
    tries = models.PositiveSmallIntegerField(default=0)
    sent_at = models.DateTimeField(null=True, blank=True)
    fault = models.CharField(max_length=500, blank=True)

    def __str__(self) -> str:
        return f"{self.subject} ({self.to})"
