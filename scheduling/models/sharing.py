"""What the classrooms of a school share: blocks a team has in common, and rooms, carts and people."""

from django.db import models
from django.db.models import Q

from scheduling.models.weeks import Block
from teamroom.common.fields import KeyField
from teamroom.common.trail import kept_in_trail
from teamroom.dates.models import SchoolYear


@kept_in_trail()
class SharedResource(models.Model):
    """Something several classes use in turn, such as a science lab, a cart or an aide.

    `capacity` is how many classes can have it at the same time.
    """

    year = models.ForeignKey(SchoolYear, on_delete=models.CASCADE, related_name="shared_resources")
    key = KeyField()
    name = models.CharField(max_length=120)
    capacity = models.PositiveSmallIntegerField(default=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["year", "key"], name="one_shared_resource_a_key"),
            models.CheckConstraint(
                condition=Q(capacity__gte=1),
                name="shared_resource_has_room",
                violation_error_message="Say how many classes can use it at once: one or more.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class BlockUse(models.Model):
    """A shared resource that a block needs, and how much of its capacity: one unless it says more."""

    block = models.ForeignKey(Block, on_delete=models.CASCADE, related_name="uses")
    resource = models.ForeignKey(SharedResource, on_delete=models.PROTECT, related_name="+")
    amount = models.PositiveSmallIntegerField(default=1)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["block", "resource"], name="one_use_a_resource"),
            models.CheckConstraint(condition=Q(amount__gte=1), name="use_of_one_or_more"),
        ]

    def __str__(self) -> str:
        return f"{self.resource} {self.amount}"
