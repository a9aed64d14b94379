"""What an open page of a week is told that it must draw anew."""

from typing import Any

import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext

from scheduling.access import block_for_asking, block_for_editing, week_for_editing
from scheduling.models import Block, Week, WeekChange
from scheduling.selectors.live_week import MOST_MISSED, topics_of
from scheduling.selectors.week_sheet import sheet_of
from scheduling.services import questions, week_versions, weeks
from teamroom.dates.services import begin_year_change
from teamroom.members.models import Member
from tests import factories as make

pytestmark = pytest.mark.django_db
SCIENCE = {"pool": {"of": ["science"]}, "at_least": 90, "window": "week"}
DAYS = ("mon", "tue", "wed", "thu", "fri")


@pytest.fixture
def week() -> Week:
    classroom = make.make_classroom(make.make_year())
    make.make_rule(classroom.year, "science", SCIENCE, name="Science in the week")
    return make.make_week(classroom)


@pytest.fixture
def ana(week: Week) -> Member:
    member = make.make_teacher(week.classroom, "Ana")
    make.add(week, member, *((day, "10:00", "10:45", "science") for day in DAYS))
    return member


@pytest.fixture
def ben(week: Week) -> Member:
    return make.make_teammate(week.classroom.team, "Ben")


class Page:
    """A page of a week, open since it was made."""

    def __init__(self, week: Week, reader: Member) -> None:
        self.pk, self.client = week.pk, Client()
        self.client.force_login(reader)
        shown = Week.objects.get(pk=week.pk)
        self.knows: dict[str, Any] = {
            "topics": topics_of(shown.classroom),
            "seen": shown.revision,
            "shape": sheet_of(shown).shape,
        }

    def asks(self, **other: Any) -> tuple[int, str]:
        answer = self.client.get(f"/weeks/{self.pk}/stale/", {**self.knows, **other}, headers={"HX-Request": "true"})
        return answer.status_code, answer.content.decode()


@transaction.atomic
def taken_out(week: Week, member: Member, day: str) -> Block:
    block = Block.objects.get(column__week=week, column__day=day)
    held = block_for_editing(member, block.pk)
    weeks.remove_block(held, member=member, revision=held.revision)
    return block


def columns(html: str) -> list[str]:
    return [part.partition('"')[0] for part in html.split('role="row" id="')[1:]]


def test_a_page_that_is_current_is_told_nothing(week: Week, ana: Member, ben: Member) -> None:
    assert Page(week, ben).asks() == (204, "")


def test_only_the_days_that_somebody_changed_are_drawn_anew_and_the_ledger(
    week: Week, ana: Member, ben: Member
) -> None:
    page = Page(week, ben)
    block = taken_out(week, ana, "tue")
    status, html = page.asks()
    assert status == 200
    assert columns(html) == ["tue"]
    assert 'id="week-grid"' not in html
    assert "+90\xa0min" in html
    assert f'<p data-blocks="{block.pk}">Ana: Science on Tue 10:00–10:45 removed.</p>' in html


def test_one_s_own_edits_are_not_told_to_oneself(week: Week, ana: Member) -> None:
    page = Page(week, ana)
    taken_out(week, ana, "tue")
    status, html = page.asks()
    assert (status, columns(html)) == (200, ["tue"])
    assert "<p data-blocks" not in html


def test_of_several_edits_the_last_is_shown_and_the_others_are_counted(week: Week, ana: Member, ben: Member) -> None:
    page = Page(week, ben)
    for day in ("mon", "wed", "fri"):
        taken_out(week, ana, day)
    _, html = page.asks()
    assert columns(html) == ["mon", "wed", "fri"]
    assert html.count("hidden>Ana: Science") == 2
    assert "Ana: Science on Fri 10:00–10:45 removed. <a" in html
    assert "2 more before" in html


def test_after_a_change_of_the_year_everything_is_drawn_anew(week: Week, ana: Member, ben: Member) -> None:
    page = Page(week, ben)
    with transaction.atomic():
        begin_year_change(week.classroom.year_id)
    status, html = page.asks()
    assert (status, columns(html)) == (200, list(DAYS))
    assert 'id="week-grid"' in html
    assert "calendar, times, rules or names were changed" in html


@pytest.mark.parametrize("other", [{"shape": "another"}, {"seen": 999}, {"seen": "x", "topics": ""}, {"seen": -1}])
def test_whoever_shows_something_else_altogether_is_given_all_of_it(
    other: dict[str, Any], week: Week, ana: Member, ben: Member
) -> None:
    status, html = Page(week, ben).asks(**{"topics": "classroom-1:0 year-1:0", **other})
    assert (status, columns(html)) == (200, list(DAYS))


def test_who_missed_much_is_given_the_whole_sheet(week: Week, ana: Member, ben: Member) -> None:
    page = Page(week, ben)
    make.add(week, ana, *(("mon", f"08:{n:02}", f"08:{n + 1:02}", "math") for n in range(MOST_MISSED + 1)))
    status, html = page.asks()
    assert (status, columns(html)) == (200, list(DAYS))


def test_a_new_version_is_offered_on_a_page_that_was_open_before(week: Week, ana: Member, ben: Member) -> None:
    page = Page(week, ben)
    assert "<option" not in page.asks(seen=0)[1]
    with transaction.atomic():
        held = week_for_editing(ana, week.pk)
        later = week_versions.start_week(held, starts=make.LAST_DAY, member=ana)[0]
    status, html = page.asks()
    assert status == 200
    assert f'<option value="{later.pk}"' in html


def test_it_asks_the_database_as_often_for_many_edits_as_for_one(week: Week, ana: Member, ben: Member) -> None:
    def queries(count: int) -> int:
        page = Page(week, ben)
        first = WeekChange.objects.filter(week=week).count()
        make.add(week, ana, *(("mon", f"08:{n:02}", f"08:{n + 1:02}", "math") for n in range(first, first + count)))
        with CaptureQueriesContext(connection) as made:
            assert page.asks()[0] == 200
        return len(made)

    queries(1)
    assert queries(1) == queries(20)


def test_a_question_marks_its_block_until_it_is_settled(week: Week, ana: Member, ben: Member) -> None:
    page = Page(week, ben)
    block = Block.objects.get(column__week=week, column__day="tue")
    with transaction.atomic():
        asked = questions.ask(block_for_asking(ana, block.pk), member=ana, text="Why before recess?")
    status, told = page.asks()
    assert status == 200
    marked = told[told.index(f'data-pk="{block.pk}"') :].partition("</div>")[0]
    assert ">asked<" in marked and "A question on it is open." in marked
    assert told.count(">asked<") == 1
    questions.settle(asked, member=ben)
    assert ">asked<" not in page.asks()[1]
