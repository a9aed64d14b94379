"""Bell schedules: many grades and kinds of day in one go, refusals that name the row, effects shown before yes."""

import re
from collections.abc import Callable
from html import unescape
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.models import Activity, BellSchedule, FixedStretch, Reading
from scheduling.selectors.bells_page import BellLine, bells_page
from scheduling.services.compliance import recompute
from scheduling.services.school_times import BellTimes, Fixed, retire_bell_schedule, set_bell_schedule
from teamroom.common.clock import minutes_of, written_clock
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import DayKind, SchoolYear
from tests import factories as make

pytestmark = pytest.mark.django_db
Row = tuple[str, str, str, str]
"""A fixed stretch as a test writes it: activity, start, end, days with spaces between them."""


@pytest.fixture
def year() -> SchoolYear:
    return SchoolYear.objects.get(pk=make.make_year().pk)


@pytest.fixture
def administrator(year: SchoolYear) -> Client:
    client = Client()
    client.force_login(make.make_coordinator(year.school, "Ada", "administrator"))
    return client


def kind(year: SchoolYear, key: str = "regular") -> DayKind:
    return year.day_kinds.get(key=key)


def fixed(year: SchoolYear, *rows: Row) -> list[Fixed]:
    named = {activity.key: activity for activity in year.activities.all()}
    return [
        Fixed(named[key], minutes_of(start), minutes_of(end), tuple(days.split()) or None)
        for key, start, end, days in rows
    ]


def times(year: SchoolYear, start: str, dismissal: str, *rows: Row) -> BellTimes:
    return BellTimes(minutes_of(start), minutes_of(dismissal), fixed(year, *rows))


def told(year: SchoolYear) -> dict[tuple[str, str], tuple[str, str, list[Row]]]:
    """Every schedule of the year in plain words."""
    return {
        (bell.grade, bell.kind.key): (
            written_clock(bell.start),
            written_clock(bell.dismissal),
            [
                (one.activity.key, written_clock(one.start), written_clock(one.end), " ".join(one.days or ()))
                for one in bell.fixed.order_by("start", "end", "pk")
            ],
        )
        for bell in BellSchedule.objects.filter(year=year)
    }


LUNCH: Row = ("lunch", "12:00", "12:30", "")


def test_several_grades_and_kinds_get_the_same_times_in_one_go(year: SchoolYear) -> None:
    places = [(grade, kind(year, key)) for grade in ("3", "4") for key in ("regular", "minimum")]
    set_bell_schedule(year, places, times(year, "07:50", "14:05", LUNCH, ("pe", "13:00", "13:40", "mon wed")))
    wanted = ("07:50", "14:05", [LUNCH, ("pe", "13:00", "13:40", "mon wed")])
    assert told(year) == {(grade, day.key): wanted for grade, day in places}


def test_only_what_differs_is_written(year: SchoolYear) -> None:
    place = [("4", kind(year))]
    set_bell_schedule(year, place, times(year, "08:00", "14:30", LUNCH, ("recess", "10:00", "10:15", "")))
    lunch = FixedStretch.objects.get(activity__key="lunch").pk
    with CaptureQueriesContext(
        connection,
    ) as queries:
        set_bell_schedule(year, place, times(year, "08:00", "14:30", LUNCH, ("recess", "10:00", "10:20", "")))
    assert FixedStretch.objects.get(activity__key="lunch").pk == lunch
    assert not [query for query in queries if query["sql"].startswith('UPDATE "scheduling_bellschedule"')]
    assert told(year)["4", "regular"][2] == [("recess", "10:00", "10:20", ""), LUNCH]


REFUSED: dict[str, tuple[tuple[str, str, list[Row]], str, str]] = {
    "a day that ends before it begins": (("08:00", "07:00", []), "dismissal", "after the start at 8:00"),
    "a stretch before the day": (
        ("08:00", "14:00", [("recess", "07:45", "08:15", "")]),
        "fixed-0",
        "Row 1, Recess, begins before the day does: start it at 8:00 or later",
    ),
    "a stretch after dismissal": (
        ("08:00", "14:00", [LUNCH, ("recess", "13:45", "14:15", "")]),
        "fixed-1",
        "Row 2, Recess, ends after dismissal: end it by 2:00",
    ),
    "a stretch that ends before it starts": (
        ("08:00", "14:00", [("recess", "10:15", "10:00", "")]),
        "fixed-0",
        "Row 1, Recess, ends before it starts: give it an end after 10:15",
    ),
    "two at once": (
        ("08:00", "14:00", [LUNCH, ("recess", "12:15", "12:45", "")]),
        "fixed-1",
        "Row 2, Recess, takes time that row 1 gives to Lunch, 12:00\N{EN DASH}12:30: move one of them",
    ),
    "two at once on one day of several": (
        ("08:00", "14:00", [("pe", "13:00", "13:40", "tue wed"), ("art", "13:20", "13:50", "mon wed")]),
        "fixed-1",
        "to PE, 1:00\N{EN DASH}1:40 on Wed",
    ),
    "a day that the cycle has not": (
        ("08:00", "14:00", [("pe", "13:00", "13:40", "A-mon")]),
        "fixed-0",
        "Row 1, PE, is set for A Mon, which this year",
    ),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_refusal_names_the_row_and_how_to_mend_it_and_writes_nothing(year: SchoolYear, case: str) -> None:
    (start, dismissal, rows), field, sentence = REFUSED[case]
    before, revision = told(year), year.revision
    with pytest.raises(RuleBroken) as refused:
        set_bell_schedule(year, [("4", kind(year)), ("5", kind(year))], times(year, start, dismissal, *rows))
    assert (refused.value.field, sentence in refused.value.message) == (field, True), refused.value.message
    assert told(year) == before
    assert SchoolYear.objects.get(pk=year.pk).revision == revision


def test_nothing_of_another_year_is_taken(year: SchoolYear) -> None:
    other = make.make_year("Elsewhere")
    with pytest.raises(RuleBroken, match="this year's kinds of day"):
        set_bell_schedule(year, [("4", kind(other))], times(year, "08:00", "14:00"))
    with pytest.raises(RuleBroken, match="this year's activities"):
        set_bell_schedule(year, [("4", kind(year))], BellTimes(480, 840, fixed(other, LUNCH)))
    with pytest.raises(RuleBroken, match="at least one grade"):
        set_bell_schedule(year, [], times(year, "08:00", "14:00"))


@pytest.fixture
def counted(year: SchoolYear) -> SchoolYear:
    """Classes of grades 4 and 5 whose lunch is only in the bells, and a rule that asks for half an hour a day."""
    for grade in ("4", "5"):
        room = make.make_classroom(year, f"room{grade}", (grade,))
        make.add(make.make_week(room), make.make_teacher(room, f"T{grade}"), ("mon", "08:00", "09:00", "math"))
    set_bell_schedule(year, [("4", kind(year)), ("5", kind(year))], times(year, "08:00", "14:30", LUNCH))
    body = {"pool": {"of": ["lunch"]}, "at_least": 30, "window": "day", "day_kinds": ["regular"]}
    make.make_rule(year, "lunch_day", body, grades=("4", "5"), name="Lunch each day")
    return SchoolYear.objects.get(pk=year.pk)


def verdicts() -> dict[str, str]:
    return dict(Reading.objects.filter(part=None).values_list("classroom__key", "status"))


def test_one_change_brings_every_class_that_its_grades_lead_up_to_date(counted: SchoolYear) -> None:
    assert verdicts() == {"room4": "met", "room5": "met"}
    short: Row = ("lunch", "12:00", "12:20", "")
    set_bell_schedule(counted, [("4", kind(counted)), ("5", kind(counted))], times(counted, "08:00", "14:30", short))
    assert verdicts() == {"room4": "short", "room5": "short"}
    retire_bell_schedule(BellSchedule.objects.get(year=counted, grade="5", kind__key="regular"))
    assert not recompute(make.begin(counted), from_scratch=True)


def sent(year: SchoolYear, *rows: Row, start: str = "08:00", dismissal: str = "14:30", **more: Any) -> dict[str, Any]:
    """A form of bell times as a browser sends it."""
    ids = dict(year.activities.values_list("key", "pk"))
    data: dict[str, Any] = {
        "start": start,
        "dismissal": dismissal,
        "seen": bells_page(SchoolYear.objects.get(pk=year.pk)).seal,
        "places": [f"4:{kind(year).pk}"],
        **more,
    }
    for number, (key, begins, ends, days) in enumerate(rows):
        data |= {
            f"fixed-{number}-activity": str(ids.get(key, key)),
            f"fixed-{number}-start": begins,
            f"fixed-{number}-end": ends,
            f"fixed-{number}-days": days.split(),
        }
    return data


def post(client: Client, year: SchoolYear, data: dict[str, Any]) -> Any:
    return client.post(f"/years/{year.pk}/bells/set/", data)


def hidden(text: str, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]*)"', text)
    assert found, name
    return unescape(found[1])


def test_times_that_turn_no_verdict_are_saved_at_once_and_said(counted: SchoolYear, administrator: Client) -> None:
    data = sent(counted, LUNCH, dismissal="14:45")
    response = administrator.post(f"/years/{counted.pk}/bells/set/", data, follow=True)
    assert "Grade 4 on a regular day: 8:00\N{EN DASH}2:45, 6\N{NO-BREAK SPACE}h\N{NO-BREAK SPACE}45" in response.text
    assert "No reading of any classroom changes." in response.text
    assert told(counted)["4", "regular"][1] == "14:45"


def test_times_that_turn_a_verdict_are_shown_first_and_saved_on_yes(counted: SchoolYear, administrator: Client) -> None:
    before = told(counted)
    data = sent(counted, ("lunch", "12:00", "12:20", ""))
    shown = post(administrator, counted, data)
    assert shown.status_code == 200
    assert "Nothing is saved yet" in shown.text
    assert "In 1 classroom a rule falls short." in shown.text
    assert told(counted) == before
    changed = sent(counted, ("lunch", "12:00", "12:10", ""), seal=hidden(shown.text, "seal"))
    again = post(administrator, counted, changed)
    assert (again.status_code, told(counted)) == (200, before), "another change wants another look"
    assert post(administrator, counted, {**data, "seal": hidden(shown.text, "seal")}).status_code == 302
    assert told(counted)["4", "regular"][2] == [("lunch", "12:00", "12:20", "")]
    assert verdicts() == {"room4": "short", "room5": "met"}


def test_blocks_that_now_stand_in_the_way_are_told(counted: SchoolYear, administrator: Client) -> None:
    data = sent(counted, LUNCH, ("recess", "08:30", "08:45", "mon"))
    response = administrator.post(f"/years/{counted.pk}/bells/set/", data, follow=True)
    assert "1 block of Room4 lies in fixed time or outside the bell now: the week shows it." in response.text
    data = sent(counted, LUNCH, ("recess", "08:30", "08:45", "tue"))
    assert "in fixed time" not in administrator.post(f"/years/{counted.pk}/bells/set/", data, follow=True).text


def test_whoever_is_second_overwrites_nothing(counted: SchoolYear, administrator: Client) -> None:
    mine = sent(counted, LUNCH, dismissal="14:40")
    set_bell_schedule(counted, [("4", kind(counted))], times(counted, "08:00", "15:00", LUNCH))
    response = post(administrator, counted, mine)
    assert response.status_code == 409
    assert "Somebody changed the bell schedules" in response.text
    assert 'value="14:40"' in response.text
    assert told(counted)["4", "regular"][1] == "15:00"
    again = {**mine, "seen": hidden(response.text, "seen")}
    assert post(administrator, counted, again).status_code == 302
    assert told(counted)["4", "regular"][1] == "14:40"


def test_a_refused_form_keeps_all_that_was_typed_and_marks_the_row(year: SchoolYear, administrator: Client) -> None:
    rows: list[Row] = [LUNCH, ("", "", "", ""), ("art", "12:10", "12:50", "mon tue")]
    response = post(administrator, year, sent(year, *rows, more_grades="K, 1", more_kinds=[str(kind(year).pk)]))
    assert response.status_code == 422
    assert response.text.count("takes time that row 1 gives to Lunch") == 2, "above the form and at its row"
    marked = re.search(r'<fieldset class="fixed-row wrong" data-row="(\d+)">', response.text)
    assert marked and marked[1] == "2"
    for typed in ('value="12:10"', 'value="12:50"', 'value="K, 1"', 'value="mon" checked'):
        assert typed in response.text


def test_rows_can_be_left_out_and_every_day_ticked_is_every_day(year: SchoolYear, administrator: Client) -> None:
    rows: list[Row] = [("out", "12:00", "12:30", ""), ("pe", "13:00", "13:30", "mon tue wed thu fri")]
    assert post(administrator, year, sent(year, *rows)).status_code == 302
    assert told(year)["4", "regular"][2] == [("pe", "13:00", "13:30", "")]


def test_grades_without_a_team_can_be_written_in(year: SchoolYear, administrator: Client) -> None:
    kinds = [str(kind(year, key).pk) for key in ("regular", "minimum")]
    data = sent(year, places=[], more_grades="K-2", more_kinds=kinds)
    assert post(administrator, year, data).status_code == 302
    assert {grade for grade, _ in told(year)} == {"4", "K", "1", "2"}
    for wrong in ({"more_grades": "blue"}, {"more_grades": "3", "more_kinds": []}):
        refused = post(administrator, year, {**sent(year, places=[], more_kinds=kinds), **wrong})
        assert refused.status_code == 422
        assert "Not understood as a grade" in refused.text or "Tick the kinds of day" in refused.text


def test_a_form_begins_with_what_is_asked_for(year: SchoolYear, administrator: Client) -> None:
    set_bell_schedule(year, [("4", kind(year))], times(year, "07:50", "14:05", LUNCH))
    regular, minimum = (BellSchedule.objects.get(year=year, kind=kind(year, key)) for key in ("regular", "minimum"))
    own = administrator.get(f"/years/{year.pk}/bells/set/?for=4:{kind(year).pk}").text
    assert 'value="07:50"' in own and 'value="12:30"' in own
    assert f'value="4:{kind(year).pk}" checked' in own
    like = administrator.get(f"/years/{year.pk}/bells/set/?for=4:{kind(year).pk}&like={minimum.pk}").text
    assert 'value="08:00"' in like and 'value="07:50"' not in like
    elsewhere = BellSchedule.objects.filter(year=make.make_year("Elsewhere")).earliest("pk")
    for strange in (elsewhere.pk, "x", -1, 10**30):
        found = administrator.get(f"/years/{year.pk}/bells/set/?for=9:{strange}&like={strange}")
        assert (found.status_code, " checked" in found.text.split("more-grades")[0]) == (200, False)
    assert regular.pk != minimum.pk


def test_removing_shows_what_goes_and_then_it_is_gone(counted: SchoolYear, administrator: Client) -> None:
    bell = BellSchedule.objects.get(year=counted, grade="4", kind__key="regular")
    address = f"/years/{counted.pk}/bells/{bell.pk}/remove/"
    shown = administrator.get(address).text
    assert "Lunch 12:00\N{EN DASH}12:30" in shown
    assert "In 1 classroom a rule falls short." in shown
    assert BellSchedule.objects.filter(pk=bell.pk).exists()
    assert "Grade 4 on a regular day has no times" in administrator.post(address, follow=True).text
    assert not BellSchedule.objects.filter(pk=bell.pk).exists()
    assert verdicts()["room4"] == "short"


def line(year: SchoolYear, grade: str, key: str = "regular") -> BellLine:
    page = bells_page(SchoolYear.objects.get(pk=year.pk))
    return next(one for one in page.lines if (one.grade, one.kind) == (grade, kind(year, key).pk))


def test_the_page_tells_the_day_in_figures_and_draws_days_that_differ(year: SchoolYear) -> None:
    rows: list[Row] = [LUNCH, ("pe", "13:00", "13:40", "wed mon"), ("art", "13:00", "13:30", "tue")]
    set_bell_schedule(year, [("4", kind(year))], times(year, "07:50", "14:05", *rows))
    found = line(year, "4")
    assert (found.length, found.free) == (375, (305, 345))
    assert [strip.title for strip in found.strips] == ["Mon and Wed", "Tue", "Thu and Fri"]
    assert [[one.name for one in strip.stretches] for strip in found.strips] == [
        ["Lunch", "PE"],
        ["Lunch", "Art"],
        ["Lunch"],
    ]
    assert [one.days for one in found.stretches] == ["", "Tue", "Mon and Wed"]


def test_grades_come_from_teams_classrooms_and_schedules_and_gaps_are_shown(
    year: SchoolYear, administrator: Client
) -> None:
    make.make_classroom(year, "combo", ("1", "2"))
    set_bell_schedule(year, [("K", kind(year))], times(year, "08:00", "12:00"))
    page = bells_page(SchoolYear.objects.get(pk=year.pk))
    assert page.grades == ["K", "1", "2", "4"]
    regular = page.kinds[0]
    assert (regular.name, regular.missing) == ("Regular day", 1)
    assert [(one.grade, one.leads) for one in regular.lines if not one.pk] == [("1", 1), ("2", 0)]
    shown = administrator.get(f"/years/{year.pk}/bells/").text
    assert f'?for=1%3A{regular.pk}"' in shown or f'?for=1:{regular.pk}"' in shown


def many(year: SchoolYear, grades: int) -> None:
    for number in range(grades):
        grade = str(number + 1)
        make.make_classroom(year, f"class{grades}-{number}", (grade,))
        set_bell_schedule(year, [(grade, one) for one in year.day_kinds.all()], times(year, "08:00", "14:30", LUNCH))


@pytest.mark.parametrize("page", ["bells/", "bells/set/", "activities/", "activities/usual/"])
def test_pages_ask_the_database_no_more_for_more_rows(
    year: SchoolYear, administrator: Client, page: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    counts = []
    for number in (2, 10):
        many(year, number)
        Activity.objects.bulk_create(
            Activity(year=year, key=f"a{number}-{n}", name=f"A {number} {n}") for n in range(20)
        )
        make.begin(year)
        administrator.get(f"/years/{year.pk}/{page}")
        with CaptureQueriesContext(connection) as queries:
            assert administrator.get(f"/years/{year.pk}/{page}").status_code == 200
        counts.append(len(queries))
    assert counts[0] == counts[1]


CLOCKS = st.one_of(
    st.integers(0, 1440).map(written_clock),
    st.sampled_from(["", "8:00", "24:00", "24:01", "noon", "08:00\x00", "9" * 40]),
)
DAYS = st.lists(st.sampled_from(["mon", "tue", "wed", "thu", "fri", "sat", "A-mon", "1", "", "\x00"]), max_size=4)
ACTIVITIES = st.sampled_from(["math", "lunch", "pe", "art", "out", "", "0", "-1", "9" * 30, "\x00"])
ROWS = st.lists(st.tuples(ACTIVITIES, CLOCKS, CLOCKS, DAYS.map(" ".join)), max_size=4)
MORE: st.SearchStrategy[dict[str, Any]] = st.fixed_dictionaries(
    {},
    optional={
        "more_grades": st.sampled_from(["", "K, 1", "3-5", "x" * 300, "\x00", "12 12"]),
        "more_kinds": st.lists(st.sampled_from(["1", "2", "x", "9" * 30]), max_size=2),
        "places": st.lists(st.sampled_from(["4:1", ":", "4:", "\x00", "9" * 40]), max_size=2),
        "seen": st.sampled_from(["", "x" * 100]),
        "seal": st.sampled_from(["", "\x00", "x"]),
        "fixed-99999-activity": st.just("1"),
        "fixed--1-start": st.just("08:00"),
    },
)


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(ROWS, CLOCKS, CLOCKS, MORE)
def test_whatever_is_sent_is_saved_whole_or_not_at_all(
    counted: SchoolYear, administrator: Client, rows: list[Row], start: str, dismissal: str, more: dict[str, Any]
) -> None:
    before = told(counted)
    response = post(administrator, counted, sent(counted, *rows, start=start, dismissal=dismissal, **more))
    assert response.status_code in (200, 302, 409, 422)
    if response.status_code != 302:
        assert told(counted) == before
        return
    for bell in BellSchedule.objects.filter(year=counted).prefetch_related("fixed"):
        for one in bell.fixed.all():
            assert bell.start <= one.start < one.end <= bell.dismissal
    assert not recompute(make.begin(counted), from_scratch=True)


def test_too_many_rows_are_refused_and_not_dropped(year: SchoolYear, administrator: Client) -> None:
    rows: list[Row] = [("math", written_clock(480 + 5 * n), written_clock(485 + 5 * n), "") for n in range(45)]
    response = post(administrator, year, sent(year, *rows))
    assert response.status_code == 422
    assert "Give at most 40 fixed stretches." in response.text


DEEDS: dict[str, Callable[[SchoolYear], object]] = {
    "given": lambda year: set_bell_schedule(year, [("4", kind(year))], times(year, "08:00", "14:31")),
    "taken away": lambda year: retire_bell_schedule(BellSchedule.objects.filter(year=year).earliest("pk")),
}


@pytest.mark.parametrize("deed", DEEDS)
def test_every_change_gives_the_year_a_new_revision(year: SchoolYear, deed: str) -> None:
    DEEDS[deed](year)
    assert SchoolYear.objects.get(pk=year.pk).revision != year.revision


def test_grades_with_the_same_times_share_a_line_and_its_verbs(year: SchoolYear, administrator: Client) -> None:
    day = kind(year)
    for grade, dismissal in (("1", "14:00"), ("2", "14:00"), ("3", "15:00"), ("5", "14:00")):
        set_bell_schedule(year, [(grade, day)], times(year, "08:00", dismissal, LUNCH))
    year.bell_schedules.filter(grade="4").delete()
    groups = next(one for one in bells_page(year).kinds if one.pk == day.pk).groups
    assert [group.title for group in groups] == ["Grades 1, 2 and 5", "Grade 3"]
    shown = unescape(administrator.get(f"/years/{year.pk}/bells/").text)
    assert all(f"Remove Grade {grade}<" in shown for grade in "125")
    edit = administrator.get(f"/years/{year.pk}/bells/set/?{groups[0].asked}").context["form"]
    assert edit["places"].value() == [f"{grade}:{day.pk}" for grade in "125"]
