"""What the people of the demo school have asked each other about blocks, all invented."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A question on a day's first block of an activity, and what was answered; people by their addresses."""

    by: str
    classroom: str
    day: str
    activity: str
    text: str
    answers: tuple[tuple[str, str], ...] = ()


QUESTIONS = (
    Asked(
        by="tobin@demo.example",
        classroom="room-21",
        day="mon",
        activity="math",
        text="Sixty-five minutes in one go: do they last? In grade 4 I split it around recess.",
        answers=(
            (
                "priya@demo.example",
                "They do from about October, with the ten minutes of mental arithmetic standing up. "
                "Split it until then if you like: the ledger shows at once what that does.",
            ),
        ),
    ),
    Asked(
        by="anselm@demo.example",
        classroom="room-21",
        day="wed",
        activity="science",
        text="Is the sink free on Wednesday mornings, or do you carry water?",
    ),
)
