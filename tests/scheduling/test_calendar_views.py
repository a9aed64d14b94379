"""The calendar's pages: what they show to whom, the way from a date to a deed and back, and anything sent to them."""

import datetime as dt
from collections.abc import Callable
from functools import partial
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.models import CalendarWork, DayChange, Reading
from scheduling.services import calendar, calendar_work, day_changes
from scheduling.services.day_changes import Happening
from scheduling.services.deeds import Close
from scheduling.tasks import do_calendar_work
from teamroom.dates.models import CalendarDay, Closure, SchoolYear
from teamroom.members.models import DistrictRole, Member
from tests import factories as make

pytestmark = pytest.mark.django_db
MONDAY = dt.date(2026, 9, 14)
DAY = dt.timedelta(days=1)


@pytest.fixture
def year() -> SchoolYear:
    """Two classrooms with math on three days; a rule they just meet; 40 days are required and there are 40."""
    year = make.make_year(required_days=40, required_days_source="District policy 6112")
    for key in ("room1", "room2"):
        week = make.make_week(make.make_classroom(year, key))
        teacher = make.make_teacher(week.classroom, f"T{key}")
        make.add(week, teacher, *[(day, "09:00", "10:00", "math") for day in ("mon", "wed", "fri")])
    make.make_rule(year, "math_week", {"pool": {"of": ["math"]}, "at_least": 180}, name="Math in the week")
    return SchoolYear.objects.get(pk=year.pk)


@pytest.fixture
def principal(year: SchoolYear) -> Member:
    return make.make_coordinator(year.school, "Ada", "administrator")


@pytest.fixture
def client(principal: Member) -> Client:
    return signed_in(principal)


def signed_in(member: Member) -> Client:
    client = Client()
    client.force_login(member)
    return client


def at(name: str, *args: Any) -> str:
    return reverse(f"scheduling:{name}", args=args)


def post(client: Client, address: str, sent: dict[str, Any] | None = None) -> Any:
    """The answer, of which `url` is where it sends one."""
    return client.post(address, sent or {})


def the_calendar() -> list[list[Any]]:
    return [list(model.objects.order_by("pk").values()) for model in (Closure, CalendarDay, DayChange, Reading)]


def test_the_page_shows_each_date_by_mark_and_word_and_counts_the_school_days(year: SchoolYear, client: Client) -> None:
    calendar.close_dates(year, MONDAY, MONDAY + 4 * DAY, "Fall break")
    calendar.set_day_kind(year, MONDAY + 7 * DAY, year.day_kinds.get(key="minimum"))
    day_changes.place(year, Happening(MONDAY + 8 * DAY, "Assembly", start=540, end=600))
    page = client.get(at("calendar", year.pk)).text
    assert 'aria-label="Mon 14 Sep, closed: Fall break"' in page
    assert 'aria-label="Mon 21 Sep, Minimum day"' in page and '<span class="mark">M</span>' in page
    assert 'aria-label="Tue 22 Sep, Regular day; Assembly, 9:00\N{EN DASH}10:00"' in page
    assert "<b>14\N{EN DASH}18</b> Fall break" in page
    assert "<b>35</b> school days" in page and "5 fewer than the 40 the school must hold" in page
    assert "District policy 6112" in page


@pytest.mark.parametrize(
    ("cycle", "label", "shown"),
    [
        ("alternating weeks", "Tue 15 Sep, Regular day, week B", 'class="week-letter">B</th>'),
        ("rotating days", "Mon 7 Sep, Regular day, day 1", '<span class="cycle">1</span>'),
    ],
)
def test_the_cycle_is_told_with_each_date(cycle: str, label: str, shown: str) -> None:
    year = make.make_year(cycle_kind=cycle)
    page = signed_in(make.make_coordinator(year.school)).get(at("calendar", year.pk)).text
    assert f'aria-label="{label}"' in page and shown in page


def test_an_empty_calendar_says_what_comes_next_to_who_may_do_it(year: SchoolYear, client: Client) -> None:
    SchoolYear.objects.filter(pk=year.pk).update(required_days=None, required_days_source="")
    page = client.get(at("calendar", year.pk)).text
    assert "Choose a date to close it" in page and "is said nowhere yet" in page
    page = signed_in(make.make_coordinator(year.school)).get(at("calendar", year.pk)).text
    assert "Choose a date" not in page and "is said nowhere yet" not in page


def test_who_may_only_read_sees_a_date_without_its_verbs(year: SchoolYear, client: Client) -> None:
    address = at("calendar-day", year.pk, MONDAY)
    assert "Close it" in client.get(address).text
    page = signed_in(year.classrooms.earliest("pk").teachers.get()).get(address).text
    assert "Monday 14 September 2026" in page and "Close it" not in page


@pytest.mark.parametrize("date", ["2026-09-06", "2026-10-31", "2026-02-30", "2026-13-01", "0000-00-00", "today"])
def test_a_date_outside_the_year_is_nowhere(year: SchoolYear, client: Client, date: str) -> None:
    for more in ("", "close/", "kind/", "changes/add/"):
        assert client.get(f"/years/{year.pk}/calendar/{date}/{more}").status_code == 404


def test_nothing_of_another_year_is_reached_by_its_number(year: SchoolYear, client: Client, principal: Member) -> None:
    other = make.make_year("Another school")
    change, _ = day_changes.place(other, Happening(MONDAY, "Assembly", start=540, end=600))
    theirs = make.make_coordinator(other.school, "Bo", "administrator")
    work = calendar_work.try_out(other, Close(MONDAY, MONDAY, "Storm"), theirs)
    assert client.get(at("calendar-change", year.pk, change.pk)).status_code == 404
    assert client.get(at("calendar-work", year.pk, work.pk)).status_code == 404
    assert post(client, at("calendar-work-yes", year.pk, work.pk)).status_code == 404
    assert not other.closures.exists()


def closing(client: Client, year: SchoolYear, date: dt.date = MONDAY, **more: str) -> Any:
    return post(client, at("calendar-close", year.pk, date), {"name": "Storm", "first_day": str(date), **more})


def test_from_a_date_to_its_closing_and_back(year: SchoolYear, client: Client) -> None:
    before = the_calendar()
    answer = closing(client, year)
    assert the_calendar() == before
    page = client.get(answer.url).text
    assert "Close Mon 14 Sep (Storm)" in page and "In 2 classrooms a rule falls short." in page
    assert "short by 24 minutes, week of 15 Sep" in page and "1 fewer than the 40" in page
    answer = post(client, f"{answer.url}yes/")
    page = client.get(answer.url).text
    assert "Mon 14 Sep is closed: Storm." in page and "39 school days" in page
    assert year.closures.get().name == "Storm"
    answer = post(client, f"{answer.url}undo/")
    assert "is as before" in client.get(answer.url).text
    assert the_calendar() == before


def test_a_yes_to_a_changed_calendar_shows_the_preview_anew(year: SchoolYear, client: Client) -> None:
    answer = closing(client, year)
    calendar.close_dates(year, MONDAY + 7 * DAY, MONDAY + 7 * DAY, "Holiday")
    again = post(client, f"{answer.url}yes/")
    assert again.url != answer.url
    page = client.get(again.url).text
    assert "nothing was done yet" in page and "Close Mon 14 Sep (Storm)" in page
    assert year.closures.count() == 1


def test_an_undo_that_no_longer_fits_is_previewed_or_refused_in_words(year: SchoolYear, client: Client) -> None:
    work = post(client, f"{closing(client, year).url}yes/").url
    calendar.set_day_kind(year, MONDAY + DAY, year.day_kinds.get(key="minimum"))
    again = post(client, f"{work}undo/")
    assert "Put Mon 14 Sep back as it was" in client.get(again.url).text
    assert year.closures.exists()


@pytest.mark.parametrize(
    ("name", "sent", "sentence"),
    [
        ("calendar-close", {"name": ""}, "Say what the school is closed for."),
        ("calendar-close", {"name": "Storm", "first_day": "tomorrow"}, "Write a date"),
        ("calendar-close", {"name": "Storm", "first_day": "2026-09-21", "last_day": "2026-09-20"}, "before"),
        ("calendar-close", {"name": "Storm", "first_day": "2026-10-12"}, "already closed"),
        ("calendar-close", {"name": "Storm", "first_day": "2027-10-12"}, "Choose a date from"),
        ("calendar-kind", {"kind": "nonsense"}, "Select a valid choice"),
        ("calendar-change-add", {"name": "Drill", "date": "2026-09-14"}, "Say from when"),
        ("calendar-change-add", {"name": "Drill", "date": "2026-09-14", "start": "10:00", "end": "9:00"}, "an end"),
    ],
)  # fmt: skip
def test_a_refusal_stands_at_its_field_and_keeps_what_was_typed(
    year: SchoolYear, client: Client, name: str, sent: dict[str, str], sentence: str
) -> None:
    calendar.close_dates(year, dt.date(2026, 10, 12), dt.date(2026, 10, 12), "Holiday")
    answer = post(client, at(name, year.pk, MONDAY), sent)
    assert answer.status_code == 422
    assert sentence in answer.text
    for value in sent.values():
        assert not value or value == "nonsense" or f'value="{value}"' in answer.text
    assert not CalendarWork.objects.exists()


def test_a_day_change_is_added_moved_and_lifted(year: SchoolYear, client: Client) -> None:
    room, math = year.classrooms.earliest("pk"), year.activities.get(key="math")
    sent = {"name": "Science visit", "date": str(MONDAY), "start": "09:00", "end": "10:00", "classrooms": [room.pk]}
    sent |= {"credit_activity": [math.pk], "credit_minutes": ["30"]}
    answer = post(client, at("calendar-change-add", year.pk, MONDAY), sent)
    assert "the one classroom" in client.get(answer.url).text
    post(client, f"{answer.url}yes/")
    change = DayChange.objects.get()
    assert "credits Math 30 minutes" in client.get(at("calendar-day", year.pk, MONDAY)).text
    form = client.get(at("calendar-change", year.pk, change.pk)).text
    assert 'value="Science visit"' in form and 'value="30"' in form
    answer = post(client, at("calendar-change", year.pk, change.pk), {**sent, "date": str(MONDAY + DAY)})
    post(client, f"{answer.url}yes/")
    change.refresh_from_db()
    assert change.date == MONDAY + DAY
    answer = post(client, at("calendar-change-lift", year.pk, change.pk), {})
    done = post(client, f"{answer.url}yes/")
    assert not DayChange.objects.exists()
    post(client, f"{done.url}undo/")
    assert DayChange.objects.get().name == "Science visit"


def test_a_closing_change_needs_no_times(year: SchoolYear, client: Client) -> None:
    room = year.classrooms.earliest("pk")
    sent = {"name": "Burst pipe", "date": str(MONDAY), "closed": "on", "start": "9", "end": "", "classrooms": [room.pk]}
    answer = post(client, at("calendar-change-add", year.pk, MONDAY), sent)
    post(client, f"{answer.url}yes/")
    assert DayChange.objects.get().closed


def test_a_date_inside_a_break_is_reopened_alone_or_with_it(year: SchoolYear, client: Client) -> None:
    calendar.close_dates(year, MONDAY, MONDAY + 4 * DAY, "Fall break")
    reopen = at("calendar-reopen", year.pk, MONDAY + 2 * DAY)
    assert "all of Fall break: Mon 14 Sep to Fri 18 Sep" in client.get(reopen).text
    post(client, f"{post(client, reopen, {'which': 'date'}).url}yes/")
    assert year.closures.count() == 2
    rest = at("calendar-closure", year.pk, MONDAY)
    sent = {"name": "Short break", "first_day": str(MONDAY), "last_day": str(MONDAY)}
    post(client, f"{post(client, rest, sent).url}yes/")
    assert year.closures.get(first_day=MONDAY).name == "Short break"
    assert client.get(at("calendar-reopen", year.pk, MONDAY + DAY)).status_code == 404


def test_a_big_school_sees_how_far_it_is_and_then_what_came_of_it(
    year: SchoolYear, client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(calendar_work, "MOST_AT_ONCE", 1)
    address = closing(client, year).url
    page = client.get(address).text
    assert "Waits for its turn" in page and "<progress" in page and 'hx-trigger="load delay' in page
    assert 'http-equiv="refresh"' in page
    CalendarWork.objects.update(state="working", classrooms_done=1)
    fragment = client.get(address, headers={"HX-Request": "true"}).text
    assert "1 of 2 classrooms worked out" in fragment and "<html" not in fragment
    CalendarWork.objects.update(state="waiting")
    do_calendar_work()
    fragment = client.get(address, headers={"HX-Request": "true"}).text
    assert "In 2 classrooms a rule falls short." in fragment and "hx-get" not in fragment
    done = post(client, f"{address}yes/").url
    calendar.close_dates(year, MONDAY + 7 * DAY, MONDAY + 7 * DAY, "Holiday")
    do_calendar_work()
    page = client.get(done).text
    assert "Nothing was changed." in page and "See what it does now" in page
    assert "Waits for its turn" in client.get(post(client, f"{done}again/").url).text


def test_all_schools_are_closed_and_opened_again_together(year: SchoolYear) -> None:
    other, shut = make.make_year("Brook School"), make.make_year("Closed School")
    calendar.close_dates(shut, MONDAY, MONDAY, "Their holiday")
    member = make.make_member("Dita")
    DistrictRole.objects.create(member=member)
    client = signed_in(member)
    sent = {"name": "Snow day", "first_day": str(MONDAY), "schools": [one.school_id for one in (year, other, shut)]}
    address = post(client, at("schools-close"), sent).url
    assert "waits" in client.get(address).text and not year.closures.exists()
    do_calendar_work()
    page = client.get(address).text
    assert "It would change 2 schools" in page and "already closed" in page and "40 → 39" in page
    done = post(client, f"{address}yes/").url
    assert client.get(done, headers={"HX-Request": "true"}).text.count("waits") == 2
    do_calendar_work()
    assert "It changed 2 schools" in client.get(done).text
    assert [one.closures.count() for one in (year, other, shut)] == [1, 1, 1]
    post(client, f"{done}undo/")
    do_calendar_work()
    assert [one.closures.count() for one in (year, other, shut)] == [0, 0, 1]


def test_a_school_without_a_year_on_that_date_is_told(year: SchoolYear) -> None:
    make.make_year("Later School", first_day=dt.date(2027, 9, 6), last_day=dt.date(2027, 10, 29))
    member = make.make_member("Dita")
    DistrictRole.objects.create(member=member)
    later = SchoolYear.objects.get(school__name="Later School").school_id
    sent = {"name": "Snow day", "first_day": str(MONDAY), "schools": [year.school_id, later]}
    answer = post(signed_in(member), at("schools-close"), sent)
    assert answer.status_code == 422 and "1 of the schools has no school year on these dates" in answer.text
    assert not CalendarWork.objects.exists()


def queries(act: Callable[[], Any]) -> int:
    with CaptureQueriesContext(
        connection,
    ) as seen:
        act()
    return len(seen)


def test_a_fuller_calendar_asks_no_more_queries(year: SchoolYear, client: Client) -> None:
    def fill(first: int, last: int) -> None:
        for n in range(first, last):
            date = MONDAY + n * DAY
            calendar.close_dates(year, date, date, f"Closed {n}")
            changed = MONDAY + (n + 21) * DAY
            day_changes.place(
                year, Happening(changed, "Drill", start=540, end=550, classrooms=tuple(year.classrooms.all()))
            )

    pages = [at("calendar", year.pk), at("calendar-day", year.pk, MONDAY)]
    fill(0, 2)
    few = [queries(partial(client.get, page)) for page in pages]
    fill(2, 20)
    assert [queries(partial(client.get, page)) for page in pages] == few


def test_more_classrooms_ask_no_more_queries_of_a_preview_and_its_yes(year: SchoolYear, client: Client) -> None:
    def both(date: dt.date) -> int:
        return queries(lambda: post(client, f"{closing(client, year, date).url}yes/"))

    few = both(MONDAY)
    for n in range(20):
        make.make_week(make.make_classroom(year, f"more{n}"))
    make.begin(year)
    both(MONDAY + DAY)
    assert both(MONDAY + 2 * DAY) <= few


anything = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)
dates = st.sampled_from(["2026-09-14", "2026-09-16", "2026-10-30", "1-1-1", "9999-12-31", "2026-02-30", ""]) | anything
times = st.sampled_from(["09:00", "10:30", "24:00", "25:00", ""]) | anything
numbers = (
    st.sampled_from(["1", "30", "0", "-5", "9" * 4400, "\N{ARABIC-INDIC DIGIT FOUR}", "{room}", "{math}"]) | anything
)
FORMS = {
    "calendar-close": {"name": anything, "first_day": dates, "last_day": dates},
    "calendar-kind": {"kind": st.sampled_from(["minimum", "regular", ""]) | anything},
    "calendar-change-add": {
        "name": anything,
        "date": dates,
        "start": times,
        "end": times,
        "closed": st.sampled_from(["", "on"]),
        "classrooms": numbers,
        "teams": numbers,
        "credit_activity": numbers,
        "credit_minutes": numbers,
    },
}


@pytest.mark.parametrize("name", FORMS)
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_anything_sent_to_a_form_is_previewed_or_refused_and_changes_nothing(
    year: SchoolYear, client: Client, name: str, data: st.DataObject
) -> None:
    known = {"{room}": str(year.classrooms.earliest("pk").pk), "{math}": str(year.activities.get(key="math").pk)}
    sent = data.draw(st.fixed_dictionaries({}, optional=FORMS[name]))
    before = the_calendar()
    answer = post(client, at(name, year.pk, MONDAY), {key: known.get(value, value) for key, value in sent.items()})
    assert answer.status_code in (302, 422)
    assert the_calendar() == before
