"""Saying why a change was made, at once or any time later."""

from django.db import transaction

from scheduling.models import WeekChange
from scheduling.services.block_writing import LONGEST_WHY
from teamroom.common.errors import RuleBroken
from teamroom.common.live.announcing import announce, classroom_topic


@transaction.atomic
def say_why(change: WeekChange, reason: str) -> WeekChange:
    """Keep a reason with a change, in place of what was said before; nothing takes it away. The
    caller has the change from `access`, which lets only its maker do this."""
    reason = reason.strip()
    if len(reason) > LONGEST_WHY:
        raise RuleBroken(f"Say why in {LONGEST_WHY:,} letters or fewer.", field="reason")
    change.reason = reason
    change.save(update_fields=["reason"])
    announce(classroom_topic(change.week.classroom_id))
    return change
