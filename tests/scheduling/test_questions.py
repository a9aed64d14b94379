"""Questions on a block: asked, answered, settled, opened again, withdrawn, and listed for whom they wait."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from scheduling.models import Block, Question, Week
from scheduling.selectors.questions import own_questions, waiting_for
from scheduling.services import questions, weeks
from teamroom.common.errors import RuleBroken
from teamroom.members.models import Member
from tests.factories import add, make_classroom, make_teacher, make_teammate, make_week, make_year

pytestmark = pytest.mark.django_db


@pytest.fixture
def week(db: None) -> Week:
    week = make_week(make_classroom(make_year()))
    add(week, make_teacher(week.classroom), ("mon", "08:00", "09:00", "math"))
    return week


@pytest.fixture
def owner(week: Week) -> Member:
    return week.classroom.teachers.get()


@pytest.fixture
def mate(week: Week) -> Member:
    return make_teammate(week.classroom.team)


def the_block() -> Block:
    return Block.objects.select_related("column__week__classroom__year", "column__kind", "activity").get()


def asked_by(member: Member, text: str = "Why before recess?") -> Question:
    return questions.ask(the_block(), member=member, text=text)


def test_a_colleague_asks_and_the_classes_teacher_answers(client: Client, owner: Member, mate: Member) -> None:
    client.force_login(mate)
    assert client.post(f"/blocks/{the_block().pk}/ask/", {"text": "Why before recess?"}).status_code == 302
    question = Question.objects.get()
    assert question.about == "Math, Monday, 8:00–9:00"
    assert (waiting_for(owner), waiting_for(mate)) == (1, 0)
    client.force_login(owner)
    assert "1 question for you to answer" in client.get("/").text
    assert client.post(f"/questions/{question.pk}/answer/", {"text": "The aide leaves at 9."}).status_code == 302
    client.force_login(mate)
    assert "The aide leaves at 9." in client.get(f"/questions/{question.pk}/").text
    assert [line.pk for line in own_questions(mate).answered] == [question.pk]
    assert "1 answer." in client.get(f"/blocks/{the_block().pk}/").text


@pytest.mark.parametrize("text", ["", "   ", "x" * 2001])
def test_a_question_has_one_to_two_thousand_letters(client: Client, mate: Member, text: str) -> None:
    client.force_login(mate)
    assert client.post(f"/blocks/{the_block().pk}/ask/", {"text": text}).status_code == 422
    with pytest.raises(RuleBroken, match="1 and 2,000"):
        asked_by(mate, text)
    assert not Question.objects.exists()


def test_a_settled_question_waits_for_nobody_until_it_is_opened_again(owner: Member, mate: Member) -> None:
    question = asked_by(mate)
    questions.settle(question, member=owner)
    assert waiting_for(owner) == 0
    assert own_questions(mate).asked == []
    questions.reopen(question)
    assert waiting_for(owner) == 1


def test_an_answered_question_is_not_withdrawn(client: Client, owner: Member, mate: Member) -> None:
    question = asked_by(mate)
    questions.answer(question, member=owner, text="The aide leaves at 9.")
    client.force_login(mate)
    answer = client.post(f"/questions/{question.pk}/withdraw/", follow=True)
    assert "Somebody has answered this question: settle it instead." in answer.text
    assert Question.objects.filter(pk=question.pk).exists()


def test_a_question_nobody_answered_is_withdrawn(client: Client, mate: Member) -> None:
    question = asked_by(mate)
    client.force_login(mate)
    assert client.post(f"/questions/{question.pk}/withdraw/").status_code == 302
    assert not Question.objects.exists()


def test_a_question_on_a_removed_block_is_still_found(client: Client, owner: Member, mate: Member) -> None:
    question = asked_by(mate)
    block = the_block()
    weeks.remove_block(block, member=owner, revision=block.revision)
    client.force_login(mate)
    assert "no longer in the week" in client.get(f"/questions/{question.pk}/").text
    assert f"/questions/{question.pk}/" in client.get("/questions/").text


def test_an_answered_question_waits_for_nobody_until_whoever_asked_writes_again(owner: Member, mate: Member) -> None:
    question = asked_by(mate)
    questions.answer(question, member=owner, text="The aide leaves at 9.")
    assert waiting_for(owner) == 0
    assert [line.pk for line in own_questions(mate).answered] == [question.pk]
    questions.answer(question, member=mate, text="Every day?")
    assert waiting_for(owner) == 1
    assert [line.pk for line in own_questions(mate).asked] == [question.pk]


def test_a_team_lead_is_told_and_a_stranger_is_not(week: Week, mate: Member) -> None:
    asked_by(mate)
    assert waiting_for(make_teammate(week.classroom.team, "Lena", "lead")) == 1
    assert waiting_for(make_teacher(make_classroom(make_year("Another school")), "Stella")) == 0


def test_who_has_left_the_team_no_longer_sees_what_they_asked(mate: Member) -> None:
    asked_by(mate)
    mate.team_roles.all().delete()
    assert own_questions(mate).asked == []


def test_the_lists_queries_do_not_grow(client: Client, owner: Member, mate: Member) -> None:
    client.force_login(owner)
    counts = []
    for many in (2, 20):
        for _ in range(many):
            questions.answer(asked_by(mate), member=owner, text="Yes.")
            questions.answer(asked_by(owner), member=mate, text="Yes.")
        with CaptureQueriesContext(
            connection,
        ) as asked:
            client.get("/questions/")
        counts.append(len(asked))
    assert counts[0] == counts[1]
