"""Two people on one block: both changes side by side and a choice, and a block that went meanwhile."""

import re
from typing import Any

import pytest
from django.db import connection
from django.test import Client

from scheduling.models import Activity, Block, Week, WeekChange
from scheduling.services import block_writing, weeks
from scheduling.services.block_writing import placing_of
from teamroom.common.clock import minutes_of
from teamroom.members.models import Member
from tests.factories import add, make_classroom, make_coordinator, make_teacher, make_week, make_year, placing

pytestmark = pytest.mark.django_db


@pytest.fixture
def week(db: None) -> Week:
    week = make_week(make_classroom(make_year()))
    add(week, make_teacher(week.classroom), ("mon", "08:00", "09:00", "math"))
    return week


@pytest.fixture
def colleague(week: Week) -> Member:
    return make_coordinator(week.classroom.year.school, "Ada", "administrator")


@pytest.fixture
def page(client: Client, week: Week) -> Client:
    client.force_login(week.classroom.teachers.get())
    return client


def the_block() -> Block:
    return Block.objects.select_related("column__week__classroom__year", "activity").get()


def form_of(block: Block, **changed: Any) -> dict[str, Any]:
    """What the form of a block sends, had somebody seen it as it is now."""
    sent: dict[str, Any] = {
        "place": f"{block.column.day}:{block.column.kind_id}",
        "start": "08:00",
        "end": "09:00",
        "activity": block.activity_id,
        "why": block.why,
        "revision": block.revision,
        "week": block.column.week_id,
    }
    return {**sent, **changed}


def change(member: Member, **changed: Any) -> None:
    block = the_block()
    weeks.change_block(block, member=member, revision=block.revision, placing=placing_of(block, **changed))


def hidden(html: str) -> dict[str, str]:
    """What the hidden fields of a page's form hold."""
    return dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)"', html))


def test_only_what_both_changed_is_in_question(page: Client, colleague: Member) -> None:
    sent = form_of(the_block(), end="09:30", why="The aide is here.")
    change(colleague, end=minutes_of("09:15"))
    answer = page.post(f"/blocks/{the_block().pk}/", sent)
    assert answer.status_code == 409
    assert "Ada has changed this block meanwhile" in answer.text
    assert re.findall(r"<legend>(\w+)", answer.text) == ["Time"]
    assert "was 8:00–9:00" in answer.text
    assert "Ada’s: <b>8:00–9:15</b>" in answer.text
    assert "Yours: <b>8:00–9:30</b>" in answer.text
    assert "The aide is here., as you want it" in answer.text


@pytest.mark.parametrize(("chosen", "end"), [("mine", "09:30"), ("theirs", "09:15")])
def test_the_choice_is_saved_as_one_edit_and_keeps_what_only_one_changed(
    page: Client, colleague: Member, chosen: str, end: str
) -> None:
    sent = form_of(the_block(), end="09:30", why="The aide is here.", reason="Agreed at lunch")
    change(colleague, end=minutes_of("09:15"))
    url, before = f"/blocks/{the_block().pk}/", WeekChange.objects.count()
    again = {**hidden(page.post(url, sent).text), "take-times": chosen}
    assert page.post(url, again).status_code == 302
    block = the_block()
    assert (block.end, block.why) == (minutes_of(end), "The aide is here.")
    assert WeekChange.objects.count() == before + 1
    assert WeekChange.objects.latest("revision").reason == "Agreed at lunch"


def test_who_changed_nothing_has_nothing_to_save(page: Client, colleague: Member) -> None:
    sent = form_of(the_block())
    change(colleague, end=minutes_of("09:15"))
    answer = page.post(f"/blocks/{the_block().pk}/", sent)
    assert answer.status_code == 409
    assert "You changed nothing of it yourself." in answer.text
    assert "Save it like this" not in answer.text


def test_what_is_in_question_has_to_be_chosen(page: Client, colleague: Member) -> None:
    sent = form_of(the_block(), end="09:30")
    change(colleague, end=minutes_of("09:15"))
    url = f"/blocks/{the_block().pk}/"
    answer = page.post(url, hidden(page.post(url, sent).text))
    assert answer.status_code == 409
    assert "Time: choose whose is to stand." in answer.text
    assert the_block().end == minutes_of("09:15")


def test_a_third_edit_while_one_chooses_is_shown_too(page: Client, colleague: Member) -> None:
    sent = form_of(the_block(), end="09:30")
    change(colleague, end=minutes_of("09:15"))
    url = f"/blocks/{the_block().pk}/"
    again = {**hidden(page.post(url, sent).text), "take-times": "mine"}
    change(colleague, end=minutes_of("09:20"))
    answer = page.post(url, again)
    assert answer.status_code == 409
    assert "Ada’s: <b>8:00–9:20</b>" in answer.text
    assert 'value="mine" required checked' in answer.text


def test_a_choice_whose_time_is_taken_is_refused_in_a_sentence(page: Client, week: Week, colleague: Member) -> None:
    sent = form_of(the_block(), end="10:00")
    block = the_block()
    change(colleague, end=minutes_of("09:15"))
    week.refresh_from_db()
    weeks.add_block(week, member=colleague, placing=placing(week.classroom.year, "mon", "09:30", "10:30", "art"))
    url = f"/blocks/{block.pk}/"
    again = {**hidden(page.post(url, sent).text), "take-times": "mine"}
    answer = page.post(url, again)
    assert answer.status_code in (409, 422)
    assert "Art already takes 9:30 to 10:30" in answer.text


def test_a_drag_of_a_changed_block_opens_the_choice_in_the_panel(page: Client, colleague: Member) -> None:
    block = the_block()
    sent = {**form_of(block, start="10:00", end="11:00"), "dragged": "1"}
    change(colleague, start=minutes_of("08:15"))
    answer = page.post(f"/blocks/{block.pk}/move/", sent, headers={"HX-Request": "true"})
    assert answer.status_code == 409
    assert answer["HX-Retarget"] == "#panel-body"
    again = {**hidden(answer.text), "take-times": "mine"}
    assert page.post(f"/blocks/{block.pk}/", again).status_code == 302
    assert the_block().start == minutes_of("10:00")


@pytest.mark.parametrize(("verb", "button"), [("remove", "Remove it anyway"), ("split", "Split it anyway")])
def test_removing_or_splitting_a_changed_block_shows_what_it_is_now(
    page: Client, colleague: Member, verb: str, button: str
) -> None:
    block = the_block()
    change(colleague, end=minutes_of("09:15"))
    sent = {"revision": block.revision, "at": "08:30", "week": block.column.week_id}
    answer = page.post(f"/blocks/{block.pk}/{verb}/", sent)
    assert answer.status_code == 409
    assert "Ada changed this block while you were at it" in answer.text
    assert "8:00–9:15" in answer.text
    assert button in answer.text
    assert page.post(f"/blocks/{block.pk}/{verb}/", {**sent, **hidden(answer.text)}).status_code == 302


@pytest.mark.parametrize("verb", ["", "move/", "split/", "remove/"])
def test_a_block_that_is_gone_says_who_removed_it_and_can_be_put_in_again(
    page: Client, week: Week, colleague: Member, verb: str
) -> None:
    block = the_block()
    sent, pk = form_of(block, end="09:30"), block.pk
    weeks.remove_block(block, member=colleague, revision=block.revision)
    answer = page.post(f"/blocks/{pk}/{verb}", sent)
    assert answer.status_code == 409
    assert "Ada has removed this block" in answer.text
    assert 'value="09:30"' in answer.text
    assert page.post(f"/weeks/{week.pk}/blocks/add/", sent).status_code == 302
    assert the_block().end == minutes_of("09:30")


def test_a_block_that_never_was_is_not_found(page: Client, week: Week) -> None:
    assert page.post("/blocks/99999999/", {"week": week.pk}).status_code == 404
    assert page.post("/blocks/99999999/", {"week": "nine"}).status_code == 404


def test_a_stranger_learns_nothing_of_a_block_that_is_gone(client: Client, week: Week, colleague: Member) -> None:
    block = the_block()
    pk = block.pk
    weeks.remove_block(block, member=colleague, revision=block.revision)
    client.force_login(make_teacher(make_classroom(make_year("Another school")), "Stella"))
    assert client.post(f"/blocks/{pk}/", {"week": week.pk}).status_code == 404


def another_comes(monkeypatch: pytest.MonkeyPatch, column: int, start: int, end: int) -> None:
    """Somebody writes a block of art past the locks, between the next edit's own check and its end."""
    art = Activity.objects.get(key="art").pk
    checked = block_writing.check_room

    def and_then_another_comes(*args: Any, **kwargs: Any) -> None:
        checked(*args, **kwargs)
        if Block.objects.count() > 1:
            return
        another = connection.copy()
        with another.cursor() as cursor:
            cursor.execute(
                'INSERT INTO scheduling_block (column_id, activity_id, start, "end", why, revision) '
                "VALUES (%s, %s, %s, %s, '', 1)",
                [column, art, start, end],
            )
        another.close()

    monkeypatch.setattr(block_writing, "check_room", and_then_another_comes)


@pytest.mark.django_db(transaction=True)
def test_what_the_database_refuses_at_the_end_reads_as_a_sentence(
    page: Client, week: Week, monkeypatch: pytest.MonkeyPatch
) -> None:
    block = the_block()
    another_comes(monkeypatch, block.column_id, 560, 600)
    answer = page.post(f"/blocks/{block.pk}/", form_of(block, end="10:00"))
    assert answer.status_code == 422
    assert "Art already takes 9:20 to 10:00" in answer.text
    assert 'value="10:00"' in answer.text
    assert Block.objects.get(pk=block.pk).end == minutes_of("09:00")


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("deed", ["undo", "restore"])
def test_so_does_what_it_refuses_of_a_taking_back(
    page: Client, week: Week, monkeypatch: pytest.MonkeyPatch, deed: str
) -> None:
    block = the_block()
    assert page.post(f"/blocks/{block.pk}/", form_of(block, end="08:30")).status_code == 302
    change = WeekChange.objects.latest("pk")
    another_comes(monkeypatch, block.column_id, 510, 540)
    sent = {"change": change.pk} if deed == "undo" else {"revision": change.revision - 1, "seen": change.revision}
    answer = page.post(f"/weeks/{week.pk}/{deed}/", sent, follow=True)
    assert "Art " in answer.text and " 8:30 to 9:00" in answer.text
    assert Block.objects.get(pk=block.pk).end == minutes_of("08:30")
