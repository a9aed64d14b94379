"""Questions as people meet them: on their block, each by itself, and what waits for whom."""

from dataclasses import dataclass

from django.db.models import Count, Exists, F, OuterRef, Q, QuerySet, Subquery

from scheduling.models import Answer, Block, Question
from scheduling.selectors.edit_words import said_moment
from teamroom.members.models import DistrictRole, Member
from teamroom.members.selectors import taught_today

# A question waits for an answer while nobody wrote under it, or whoever asked it did so last.
WRITTEN = Answer.objects.filter(question=OuterRef("pk"))
WAITS = ~Exists(WRITTEN) | Q(asked_by=Subquery(WRITTEN.order_by("-pk").values("written_by")[:1]))


@dataclass(frozen=True, slots=True)
class QuestionLine:
    """A question in a list."""

    pk: int
    classroom: str
    about: str
    text: str
    by: str
    when: str
    answers: int
    open: bool


@dataclass(frozen=True, slots=True)
class Said:
    """Something somebody wrote."""

    by: str
    when: str
    text: str


@dataclass(frozen=True)
class OwnQuestions:
    """A person's open questions: theirs to answer, theirs with an answer, theirs still without one."""

    to_answer: list[QuestionLine]
    answered: list[QuestionLine]
    asked: list[QuestionLine]


def questions_of(block: Block) -> list[QuestionLine]:
    """The questions on a block, open ones first, in one query."""
    rows = _with_words(Question.objects.filter(week=block.column.week_id, block_number=block.pk))
    return [_line(row) for row in rows.order_by(F("settled_at").desc(nulls_first=True), "pk")]


def answers_of(question: Question) -> list[Said]:
    """What was written under a question, in order."""
    year = question.week.classroom.year
    rows = question.answers.select_related("written_by")
    return [Said(row.written_by.name, said_moment(row.written_at, year), row.text) for row in rows]


def still_stands(question: Question) -> bool:
    """Whether the block is still in the week."""
    return Block.objects.filter(pk=question.block_number, column__week=question.week_id).exists()


def own_questions(member: Member) -> OwnQuestions:
    """A person's open questions, in a fixed number of queries."""
    asked = Question.objects.filter(_readable(member), asked_by=member, settled_at=None)
    return OwnQuestions(
        [_line(row) for row in _with_words(_to_answer(member)).order_by("pk")],
        [_line(row) for row in _with_words(asked.exclude(WAITS)).order_by("pk")],
        [_line(row) for row in _with_words(asked.filter(WAITS)).order_by("pk")],
    )


def waiting_for(member: Member) -> int:
    """How many open questions are this person's to answer, in one query."""
    return _to_answer(member).count()


def _to_answer(member: Member) -> QuerySet[Question]:
    """Open questions of others that wait, on the weeks of one's own classrooms or of a team one leads."""
    own = taught_today(member).values("classroom")
    led = member.team_roles.filter(role="lead").values("team")
    place = Q(week__classroom__in=own) | Q(week__classroom__team__in=led)
    return Question.objects.filter(WAITS, place, settled_at=None).exclude(asked_by=member)


def _readable(member: Member) -> Q:
    """Questions on weeks that the member may read today."""
    return (
        Q(week__classroom__in=taught_today(member).values("classroom"))
        | Q(week__classroom__team__in=member.team_roles.values("team"))
        | Q(week__classroom__year__school__in=member.school_roles.values("school"))
        | Q(Exists(DistrictRole.objects.filter(member=member)))
    )


def _with_words(questions: QuerySet[Question]) -> QuerySet[Question]:
    named = questions.select_related("asked_by", "week__classroom__year__school")
    return named.annotate(written=Count("answers"))


def _line(row: Question) -> QuestionLine:
    classroom = row.week.classroom
    return QuestionLine(
        row.pk,
        str(classroom),
        row.about,
        row.text,
        row.asked_by.name,
        said_moment(row.asked_at, classroom.year),
        row.written,  # type: ignore[attr-defined]  # annotated in _with_words
        row.settled_at is None,
    )
