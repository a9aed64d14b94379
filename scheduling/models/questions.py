"""Questions that colleagues ask on a block, and their answers."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from scheduling.models.weeks import Week


class Question(models.Model):
    """A question on a block of a week, open until somebody settles it.

    `block_number` is the block's id without a key to it: a block that was removed comes back under
    its id when that is undone, and its questions wait for it. `about` keeps what the block was.
    """

    week = models.ForeignKey(Week, on_delete=models.CASCADE, related_name="questions")
    block_number = models.PositiveBigIntegerField()
    about = models.CharField(max_length=200)
    asked_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    asked_at = models.DateTimeField(auto_now_add=True)
    text = models.TextField()
    settled_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    settled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = [
            models.Index(fields=["block_number"], name="question_of_block"),
            # The list of what is still open, for each person.
            models.Index(fields=["week"], name="question_open", condition=Q(settled_at=None)),
        ]
        constraints = [
            models.CheckConstraint(condition=~Q(text=""), name="question_asks_something"),
            models.CheckConstraint(
                condition=Q(settled_at=None, settled_by=None) | Q(settled_at__isnull=False, settled_by__isnull=False),
                name="question_settled_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.about}: {self.text[:40]}"


class Answer(models.Model):
    """What somebody wrote under a question."""

    question = models.ForeignKey(Question, on_delete=models.CASCADE, related_name="answers")
    written_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    written_at = models.DateTimeField(auto_now_add=True)
    text = models.TextField()

    class Meta:
        ordering = ["written_at", "pk"]
        constraints = [models.CheckConstraint(condition=~Q(text=""), name="answer_says_something")]

    def __str__(self) -> str:
        return self.text[:40]
