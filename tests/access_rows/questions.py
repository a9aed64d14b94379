"""Who may ask about a block, answer, settle and withdraw; the question here is of the class's own teacher."""

from scheduling.access import block_for_asking
from scheduling.services import questions
from tests.access_rows.world import DONE, MEMBERS, READ, Addresses, Rows, World

WRITTEN = (422, 422, 422, 422, 404, 422, 422, 422, 404, 302)
ASKER = (302, 403, 403, 403, 404, 403, 403, 403, 404, 302)

ROWS: Rows = {
    ("scheduling:questions", "GET"): MEMBERS,
    ("scheduling:block-ask", "GET"): READ,
    ("scheduling:block-ask", "POST"): WRITTEN,
    ("scheduling:question", "GET"): READ,
    ("scheduling:question-answer", "POST"): WRITTEN,
    ("scheduling:question-settle", "POST"): DONE,
    ("scheduling:question-withdraw", "POST"): ASKER,
}

ADDRESSES: Addresses = {
    "scheduling:questions": (),
    "scheduling:block-ask": ("block",),
    "scheduling:question": ("question",),
    "scheduling:question-answer": ("question",),
    "scheduling:question-settle": ("question",),
    "scheduling:question-withdraw": ("question",),
}


def prepare(world: World) -> None:
    own = world.people["own"]
    block = block_for_asking(own, world.ids["block"])
    world.ids["question"] = questions.ask(block, member=own, text="Why before recess?").pk
