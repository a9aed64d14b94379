"""Questions on a block and their answers: asked, answered, settled, opened again, withdrawn.

The caller has the block or the question from `access`, inside the same transaction; a question's row
is locked, so that none is withdrawn while somebody answers it.
"""

from django.db import transaction
from django.utils import timezone

from scheduling.models import Answer, Block, Question
from scheduling.selectors.block_words import block_words
from teamroom.common.errors import RuleBroken
from teamroom.common.live.announcing import announce, classroom_topic
from teamroom.members.models import Member

LONGEST = 2000


@transaction.atomic
def ask(block: Block, *, member: Member, text: str) -> Question:
    """Ask about a block. What the block was then stays with the question."""
    told = block_words(block)
    question = Question.objects.create(
        week=block.column.week,
        block_number=block.pk,
        about=f"{told.name}, {told.where}, {told.times}"[:200],
        asked_by=member,
        text=_checked(text),
    )
    _tell(question)
    return question


@transaction.atomic
def answer(question: Question, *, member: Member, text: str) -> Answer:
    """Write under a question, settled or not."""
    written = Answer.objects.create(question=question, written_by=member, text=_checked(text))
    _tell(question)
    return written


@transaction.atomic
def settle(question: Question, *, member: Member) -> None:
    """Say that nothing is left to answer."""
    if question.settled_at is not None:
        raise RuleBroken("This question is settled already.")
    question.settled_by, question.settled_at = member, timezone.now()
    question.save(update_fields=["settled_by", "settled_at"])
    _tell(question)


@transaction.atomic
def reopen(question: Question) -> None:
    """Take back that it is settled."""
    if question.settled_at is None:
        raise RuleBroken("This question is still open.")
    question.settled_by, question.settled_at = None, None
    question.save(update_fields=["settled_by", "settled_at"])
    _tell(question)


@transaction.atomic
def withdraw(question: Question) -> None:
    """Take a question away that nobody has answered."""
    if question.answers.exists():
        raise RuleBroken("Somebody has answered this question: settle it instead.")
    question.delete()
    _tell(question)


def _checked(text: str) -> str:
    text = text.strip()
    if not 1 <= len(text) <= LONGEST:
        raise RuleBroken(f"Write between 1 and {LONGEST:,} letters.", field="text")
    return text


def _tell(question: Question) -> None:
    announce(classroom_topic(question.week.classroom_id))
