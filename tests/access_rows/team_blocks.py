"""Who may let others hold a block, and who may step out of a team block: here of the class's own, held with another."""

from django.db import transaction

from scheduling.access import block_for_sharing
from scheduling.models import Block
from scheduling.selectors.team_blocks import ways_into
from scheduling.services import team_blocks
from tests.access_rows.world import EDIT, SENT, Addresses, Rows, World
from tests.factories import add, make_classroom, make_week

ROWS: Rows = {
    ("scheduling:block-share", "GET"): EDIT,
    ("scheduling:block-share", "POST"): SENT,
    ("scheduling:block-step-out", "GET"): EDIT,
    ("scheduling:block-step-out", "POST"): SENT,
}

ADDRESSES: Addresses = {
    "scheduling:block-share": ("team_block",),
    "scheduling:block-step-out": ("team_block",),
}


@transaction.atomic
def prepare(world: World) -> None:
    lead, year = world.people["lead"], world.classroom.year
    week = make_week(make_classroom(year, "room14"))
    own = Block.objects.get(pk=world.ids["block"]).column.week
    add(own, lead, ("thu", "13:00", "13:30", "art"))
    block = Block.objects.get(column__week=own, activity__key="art")
    sharing = block_for_sharing(lead, block.pk, [week.classroom_id])
    seen = [way.token for way in ways_into(sharing.block, [(week.classroom, week)])]
    team_blocks.share(sharing, member=lead, revision=block.revision, seen=seen)
    world.ids["team_block"] = block.pk
