"""The week's page and the answers to its edits, as HTML."""

import datetime as dt
import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from scheduling.models import Block, FixedStretch, Week
from scheduling.selectors.week_sheet import chosen_week, weeks_of
from scheduling.services import weeks
from teamroom.common.clock import minutes_of
from teamroom.dates.models import School, SchoolYear, StandingKind
from teamroom.members.models import Classroom, Member
from tests.factories import (
    add,
    begin,
    make_classroom,
    make_coordinator,
    make_rule,
    make_teacher,
    make_week,
    make_year,
    placing,
)

pytestmark = pytest.mark.django_db


@pytest.fixture
def year(db: None) -> SchoolYear:
    return make_year()


@pytest.fixture
def classroom(year: SchoolYear) -> Classroom:
    return make_classroom(year)


@pytest.fixture
def teacher(classroom: Classroom) -> Member:
    return make_teacher(classroom)


@pytest.fixture
def week(classroom: Classroom, teacher: Member) -> Week:
    week = make_week(classroom)
    add(week, teacher, ("mon", "08:00", "09:00", "math"), ("mon", "10:00", "11:00", "science"))
    return week


@pytest.fixture
def page(client: Client, teacher: Member) -> Client:
    client.force_login(teacher)
    return client


def url(week: Week) -> str:
    return f"/classrooms/{week.classroom_id}/week/"


def fix(year: SchoolYear, kind: str, start: str, end: str, activity: str) -> None:
    FixedStretch.objects.create(
        bell_schedule=year.bell_schedules.get(kind__key=kind),
        activity=year.activities.get(key=activity),
        start=minutes_of(start),
        end=minutes_of(end),
    )
    begin(year)


def make_wednesdays_short(year: SchoolYear) -> None:
    StandingKind.objects.create(year=year, weekday="wed", kind=year.day_kinds.get(key="minimum"))
    begin(year)


def test_a_block_over_fixed_time_is_said_to_conflict(page: Client, year: SchoolYear, week: Week) -> None:
    fix(year, "regular", "10:45", "11:00", "recess")
    shown = page.get(url(week)).text
    assert "Takes 15 minutes of Recess, which the school fixes at 10:45–11:00" in shown


def test_a_block_outside_the_bell_has_a_gentle_note(page: Client, teacher: Member, week: Week) -> None:
    add(week, teacher, ("tue", "07:30", "08:15", "art"), ("tue", "14:00", "14:45", "math"))
    shown = page.get(url(week)).text
    assert "Starts before the bell at 8:00" in shown
    assert "Ends after dismissal at 2:30" in shown


def test_a_plain_column_cut_to_fit_says_so(page: Client, year: SchoolYear, teacher: Member, week: Week) -> None:
    make_wednesdays_short(year)
    add(week, teacher, ("wed", "12:00", "13:00", "math"), ("wed", "13:00", "13:30", "art"))
    shown = page.get(url(week)).text
    assert "Minimum day: Wednesday’s regular column, cut at 12:30" in shown
    assert "Cut to 30 minutes" in shown
    assert "Not used on this kind of day" in shown


def test_a_kinds_own_column_is_shown_where_its_days_are(
    page: Client, year: SchoolYear, teacher: Member, week: Week
) -> None:
    make_wednesdays_short(year)
    weeks.add_block(
        Week.objects.get(pk=week.pk),
        member=teacher,
        placing=placing(year, "", "08:00", "09:00", "art", kind="minimum"),
    )
    shown = page.get(url(week)).text
    assert "Minimum day: its own column" in shown
    assert "Other days" not in shown


def test_columns_of_other_kinds_stand_on_a_strip_of_their_own(
    page: Client, year: SchoolYear, teacher: Member, week: Week
) -> None:
    where = placing(year, "fri", "08:00", "09:00", "art", kind="minimum")
    weeks.add_block(Week.objects.get(pk=week.pk), member=teacher, placing=where)
    shown = page.get(url(week)).text
    assert "Other days" in shown
    assert 'id="fri-minimum"' in shown


def test_alternating_weeks_are_two_strips(client: Client) -> None:
    year = make_year("Hartwell School", cycle_kind="alternating weeks")
    classroom = make_classroom(year)
    client.force_login(make_teacher(classroom))
    shown = client.get(url(make_week(classroom))).text
    assert "Week A" in shown and "Week B" in shown
    assert 'id="A-mon"' in shown and 'id="B-fri"' in shown


def test_a_long_rotation_wraps_onto_strips(client: Client) -> None:
    year = make_year("Hartwell School", cycle_kind="rotating days", cycle_length=10)
    classroom = make_classroom(year)
    client.force_login(make_teacher(classroom))
    shown = client.get(url(make_week(classroom))).text
    assert "Day 1 to Day 6" in shown and "Day 7 to Day 10" in shown


@pytest.mark.parametrize(
    ("today", "chosen"),
    [
        ("2026-09-01", "2026-09-07"),
        ("2026-10-04", "2026-09-07"),
        ("2026-10-05", "2026-10-05"),
        ("2027-06-01", "2026-10-05"),
    ],
)
def test_the_version_in_effect_on_a_day_is_chosen(week: Week, today: str, chosen: str) -> None:
    make_week(week.classroom, starts=dt.date(2026, 10, 5))
    found = chosen_week(weeks_of(week.classroom), "", dt.date.fromisoformat(today))
    assert found is not None
    assert str(found.starts) == chosen


def test_another_version_is_shown_when_asked_for(page: Client, week: Week) -> None:
    later = make_week(week.classroom, starts=dt.date(2026, 10, 5))
    for one in (week, later):
        assert f'<option value="{one.pk}" selected>' in page.get(f"{url(week)}?week={one.pk}").text


def test_a_classroom_without_a_week_is_begun_from_its_page(page: Client, classroom: Classroom) -> None:
    assert "has no week yet" in page.get(f"/classrooms/{classroom.pk}/week/").text
    answer = page.post(f"/classrooms/{classroom.pk}/week/begin/", {"starts": "2026-09-07"})
    assert answer.status_code == 302
    assert Week.objects.get(classroom=classroom).starts == dt.date(2026, 9, 7)


def test_a_new_version_is_a_copy_from_its_date(page: Client, week: Week) -> None:
    data = {"starts": "2026-10-05", "how": "count"}
    answer = page.post(f"/weeks/{week.pk}/start/", data)
    copy = Week.objects.get(starts="2026-10-05")
    assert answer["Location"].endswith(f"?week={copy.pk}")
    assert Block.objects.filter(column__week=copy).count() == 2
    assert not copy.draft
    refused = page.post(f"/weeks/{week.pk}/start/", data)
    assert refused.status_code == 422
    assert "Another week of this classroom starts on that date." in refused.text


def test_a_version_is_moved_to_another_date_taken_out_of_effect_and_then_dropped(page: Client, week: Week) -> None:
    later = make_week(week.classroom, starts=dt.date(2026, 10, 5))
    page.post(f"/weeks/{later.pk}/date/", {"starts": "2026-10-12"})
    later.refresh_from_db()
    assert later.starts == dt.date(2026, 10, 12)
    assert "Take this version out of effect" in page.get(f"/weeks/{later.pk}/start/").text
    assert page.post(f"/weeks/{later.pk}/drop/").status_code == 422
    page.post(f"/weeks/{later.pk}/take-out/")
    assert "Drop this draft" in page.get(f"/weeks/{later.pk}/start/").text
    assert page.post(f"/weeks/{later.pk}/drop/").status_code == 302
    assert list(Week.objects.filter(classroom=week.classroom)) == [week]


def test_a_combination_class_sees_which_grade_governs(client: Client) -> None:
    year = make_year()
    classroom = make_classroom(year, grades=("4", "5"))
    teacher = make_teacher(classroom)
    add(make_week(classroom), teacher, ("mon", "08:00", "09:00", "math"))
    for grade, minutes in (("4", 30), ("5", 50)):
        body = {"pool": {"of": ["math"]}, "at_least": minutes}
        make_rule(year, f"math{grade}", body, grades=[grade], name="Mathematics")
    client.force_login(teacher)
    shown = client.get(f"/classrooms/{classroom.pk}/week/").text
    assert "grade 5, governs" in shown
    assert "grade 4, governs" not in shown


def test_a_rule_that_cannot_be_checked_says_why(page: Client, year: SchoolYear, week: Week) -> None:
    make_rule(year, "groups", {}, not_checkable="It is owed to some pupils only.")
    shown = page.get(url(week)).text
    assert "not checkable here" in shown
    assert "It is owed to some pupils only." in shown
    assert "No rule to meet, 1 not checkable" in shown


def test_an_edit_answers_with_the_changed_column_and_rules_alone(page: Client, year: SchoolYear, week: Week) -> None:
    math = make_rule(year, "math_week", {"pool": {"of": ["math"]}, "at_least": 60})
    art = make_rule(year, "art_week", {"pool": {"of": ["art"]}, "at_least": 0})
    shown = page.get(url(week))
    block = Block.objects.get(activity__key="math")
    sheet = shown.context["sheet"]
    data = {
        "place": f"mon:{block.column.kind_id}",
        "start": "08:00",
        "end": "08:45",
        "revision": block.revision,
        "seen": sheet.week.revision,
        "shape": sheet.shape,
    }
    answer = page.post(f"/blocks/{block.pk}/move/", data, headers={"HX-Request": "true"})
    assert answer.status_code == 200
    assert "Math on Mon is now 45 minutes, 8:00–8:45. Math week is 15 minutes short" in answer.text
    assert 'id="mon"' in answer.text and 'id="tue"' not in answer.text
    assert f'id="rule-{math.pk}"' in answer.text and f'id="rule-{art.pk}"' not in answer.text
    assert "<html" not in answer.text


def test_an_edit_of_a_page_that_missed_another_answers_with_the_whole_sheet(page: Client, week: Week) -> None:
    block = Block.objects.get(activity__key="math")
    data = {"place": f"mon:{block.column.kind_id}", "start": "08:00", "end": "08:45", "revision": block.revision}
    answer = page.post(f"/blocks/{block.pk}/move/", data, headers={"HX-Request": "true"})
    assert 'id="week-grid"' in answer.text and 'id="tue"' in answer.text


def test_a_stale_edit_is_a_conflict_that_shows_both(page: Client, week: Week) -> None:
    block = Block.objects.get(activity__key="math")
    data = {"place": f"mon:{block.column.kind_id}", "start": "09:00", "end": "09:45", "revision": 0}
    answer = page.post(f"/blocks/{block.pk}/move/", data, headers={"HX-Request": "true"})
    assert answer.status_code == 409
    assert "Math, Mon 8:00–9:00" in answer.text
    assert "Yours: <b>9:00–9:45</b>" in answer.text
    assert 'value="09:00"' in answer.text
    block.refresh_from_db()
    assert block.start == minutes_of("08:00")


def test_somebody_signed_out_meanwhile_is_sent_to_sign_in_and_back(client: Client, week: Week) -> None:
    headers = {"HX-Request": "true", "HX-Current-URL": f"http://testserver{url(week)}?week=1"}
    answer = client.get(f"/weeks/{week.pk}/blocks/add/", headers=headers)
    assert answer.status_code == 204
    assert answer["HX-Redirect"] == f"/sign-in/?next=%2Fclassrooms%2F{week.classroom_id}%2Fweek%2F%3Fweek%3D1"


def test_signing_in_never_leads_to_another_host(client: Client, teacher: Member) -> None:
    data = {"login": teacher.email.upper(), "password": "a long enough phrase", "next": "https://elsewhere.example/"}
    assert client.post("/sign-in/", data)["Location"] == "/"


def test_a_traces_addends_sum_to_what_is_planned(page: Client, year: SchoolYear, week: Week, teacher: Member) -> None:
    rule = make_rule(year, "all", {"pool": {"except": ["science"]}, "at_least": 60})
    add(week, teacher, ("thu", "08:00", "08:45", "art"))
    shown = page.get(f"/classrooms/{week.classroom_id}/rules/{rule.pk}/0/?from=2026-09-14")
    told = shown.context["page"]
    assert sum(int(line.adds) for line in told.counted) == int(told.total) == 105
    assert [line.what for line in told.uncounted] == ["Science"]
    assert told.window.said == "Week of 14 Sep"
    assert len(told.windows) == 8
    assert "local policy" in shown.text.lower()


def test_a_trace_is_read_from_monday_on_although_its_year_begins_on_a_tuesday(client: Client, db: None) -> None:
    classroom = make_classroom(make_year(first_day=dt.date(2026, 9, 8)))
    teacher = make_teacher(classroom)
    rule = make_rule(classroom.year, "math", {"pool": {"of": ["math"]}, "at_least": 60, "window": "year"})
    days = ("wed", "mon", "tue")
    add(make_week(classroom, classroom.year.first_day), teacher, *((day, "08:00", "09:00", "math") for day in days))
    client.force_login(teacher)
    shown = client.get(f"/classrooms/{classroom.pk}/rules/{rule.pk}/0/").context["page"].counted
    assert [line.where for line in shown] == ["Mondays", "Tuesdays", "Wednesdays"]


def _queries(page: Client, path: str) -> int:
    page.get(path)
    with CaptureQueriesContext(connection) as caught:
        assert page.get(path).status_code == 200
    return len(caught)


def test_the_weeks_queries_do_not_grow_with_blocks_and_rules(
    page: Client, year: SchoolYear, week: Week, teacher: Member
) -> None:
    few = _queries(page, url(week))
    for day in ("tue", "wed", "thu", "fri"):
        add(week, teacher, *((day, f"{hour:02d}:00", f"{hour:02d}:30", "art") for hour in range(8, 14)))
    for number in range(6):
        make_rule(year, f"rule{number}", {"pool": {"of": ["art"]}, "at_least": number + 1})
    assert _queries(page, url(week)) == few
    assert few <= 14


def test_the_homes_queries_do_not_grow_with_classrooms(page: Client, year: SchoolYear, week: Week) -> None:
    few = _queries(page, "/")
    for number in range(12):
        room = make_classroom(year, f"other{number}")
        make_week(room)
    make_rule(year, "art", {"pool": {"of": ["art"]}, "at_least": 1})
    assert _queries(page, "/") == few
    assert few <= 12


def test_home_counts_the_rules_that_each_classroom_meets(page: Client, year: SchoolYear, week: Week) -> None:
    make_rule(year, "math", {"pool": {"of": ["math"]}, "at_least": 60}, name="Mathematics")
    make_rule(year, "art", {"pool": {"of": ["art"]}, "at_least": 60}, name="Art in the week")
    shown = page.get("/").text
    assert "Your classroom" in shown
    assert "meets 1 of 2 rules" in shown
    assert "Art in the week (short)" in shown


def test_today_is_the_schools_own_date_wherever_the_server_stands() -> None:
    """Kiritimati is a day ahead of Midway for most of each day, 25 hours by the clock (time zone database)."""
    ahead, behind = School(name="East", time_zone="Pacific/Kiritimati"), School(name="West", time_zone="Pacific/Midway")
    assert (ahead.today() - behind.today()).days in (1, 2)


def test_a_first_week_is_offered_from_the_first_day_of_the_year_and_says_what_the_date_means(
    page: Client, classroom: Classroom
) -> None:
    shown = page.get(f"/classrooms/{classroom.pk}/week/")
    assert shown.context["form"]["starts"].value() == classroom.year.first_day
    assert "Weeks before it count as not planned." in shown.text
    refused = page.post(f"/classrooms/{classroom.pk}/week/begin/", {"starts": "soon"})
    assert refused.status_code == 422
    assert "Weeks before it count as not planned." in refused.text


def test_free_time_offers_a_block_once_and_only_to_who_may_add_one(page: Client, week: Week) -> None:
    labels = re.findall(r'aria-label="(Free, [^"]*)"', page.get(url(week)).text)
    assert labels and all(label.count("Add a block.") == 1 for label in labels)
    page.force_login(make_coordinator(week.classroom.year.school))
    labels = re.findall(r'aria-label="(Free, [^"]*)"', page.get(url(week)).text)
    assert labels and not any("Add a block." in label for label in labels)
