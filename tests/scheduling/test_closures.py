"""Closures written many at once, and the pages that suggest, read and import them."""

import datetime as dt
from typing import Any

import pytest
from django.contrib.messages import get_messages
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection, transaction
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scheduling.calendar_reading.spans import Span
from scheduling.models import Reading
from scheduling.services import compliance
from scheduling.services.calendar import close_dates, set_day_kind
from scheduling.services.closures import Closing, KindDates, write_calendar
from scheduling.services.day_kinds import add_day_kind, set_standing_kinds
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import Closure, SchoolYear
from tests.factories import add, make_classroom, make_coordinator, make_rule, make_teacher, make_week, make_year

D = dt.date


@pytest.fixture
def year(db: None) -> SchoolYear:
    return make_year(last_day=D(2026, 12, 18))


@pytest.fixture
def admin(year: SchoolYear) -> Client:
    client = Client()
    client.force_login(make_coordinator(year.school, "Ada", "administrator"))
    return client


def at(name: str, year: SchoolYear, *more: Any) -> str:
    return reverse(f"scheduling:{name}", args=[year.pk, *more])


def closed(year: SchoolYear) -> list[tuple[str, str, str]]:
    rows = year.closures.order_by("first_day").values_list("first_day", "last_day", "name")
    return [(f"{first:%m-%d}", f"{last:%m-%d}", name) for first, last, name in rows]


def said(response: Any) -> str:
    return " ".join(str(message) for message in get_messages(response.wsgi_request))


def closing(first: dt.date, last: dt.date, name: str, line: str = "") -> Closing:
    return Closing(Span(first, last, name), line)


# Writing


def test_many_closures_are_written_at_once_without_overlap_and_readings_follow(year: SchoolYear) -> None:
    classroom = make_classroom(year)
    add(make_week(classroom), make_teacher(classroom), ("thu", "08:00", "09:00", "math"))
    make_rule(year, "math_week", {"pool": {"of": ["math"]}, "at_least": 60})
    close_dates(year, D(2026, 11, 11), D(2026, 11, 11), "Veterans Day")
    written = write_calendar(
        year,
        [
            closing(D(2026, 11, 26), D(2026, 11, 26), "Thanksgiving Day"),
            closing(D(2026, 11, 23), D(2026, 11, 27), "Fall break"),
            closing(D(2026, 11, 11), D(2026, 11, 11), "Veterans Day again"),
            closing(D(2026, 12, 17), D(2027, 1, 1), "Winter break"),
        ],
    )
    assert closed(year) == [
        ("11-11", "11-11", "Veterans Day"),
        ("11-23", "11-27", "Fall break"),
        ("12-17", "12-18", "Winter break"),
    ]
    assert written.covered == 2
    assert Reading.objects.get(rule__key="math_week", part=None).status == "short"
    with transaction.atomic():
        assert not compliance.recompute(SchoolYear.objects.get(pk=year.pk), from_scratch=True)


def test_dates_get_a_kind_where_there_is_school_and_it_is_not_so_already(year: SchoolYear) -> None:
    minimum = year.day_kinds.get(key="minimum")
    set_standing_kinds(year, {"wed": minimum})
    dates = (D(2026, 9, 9), D(2026, 9, 10), D(2026, 9, 12), D(2026, 9, 14))
    written = write_calendar(
        year, [closing(D(2026, 9, 14), D(2026, 9, 14), "Fair day")], [KindDates(dates, minimum, "do-1")]
    )
    assert written.dates == ((D(2026, 9, 10), minimum.pk),)
    assert list(year.calendar_days.values_list("date", flat=True)) == [D(2026, 9, 10)]


def test_nothing_is_written_over_a_date_with_a_kind_of_its_own(year: SchoolYear) -> None:
    minimum, regular = year.day_kinds.get(key="minimum"), year.day_kinds.get(key="regular")
    set_day_kind(year, D(2026, 9, 10), minimum)
    with pytest.raises(RuleBroken, match="Thu 10 Sep 2026 is named as a Minimum day") as refused:
        write_calendar(
            year,
            [closing(D(2026, 9, 8), D(2026, 9, 8), "Fine"), closing(D(2026, 9, 9), D(2026, 9, 11), "Not", "do-3")],
        )
    assert refused.value.field == "do-3"
    with pytest.raises(RuleBroken, match="is to be a Minimum day already"):
        write_calendar(year, [], [KindDates((D(2026, 9, 10),), regular)])
    assert closed(year) == []


@pytest.mark.parametrize(
    "wrong",
    [
        closing(D(2025, 9, 8), D(2025, 9, 8), "Last year"),
        closing(D(2026, 9, 9), D(2026, 9, 8), "Backwards"),
        closing(D(2026, 9, 9), D(2026, 9, 9), " "),
        closing(D(2026, 9, 9), D(2026, 9, 9), "x" * 121),
    ],
)
def test_a_closure_that_cannot_be_refuses_them_all(year: SchoolYear, wrong: Closing) -> None:
    with pytest.raises(RuleBroken):
        write_calendar(year, [closing(D(2026, 9, 8), D(2026, 9, 8), "Fine"), wrong])
    assert closed(year) == []


def test_a_kind_of_another_year_is_refused(year: SchoolYear) -> None:
    other = make_year("Another school").day_kinds.get(key="minimum")
    with pytest.raises(RuleBroken):
        write_calendar(year, [], [KindDates((D(2026, 9, 9),), other)])


# The list, and one by hand


def test_the_list_says_how_many_school_days_each_takes_and_all(admin: Client, year: SchoolYear) -> None:
    close_dates(year, D(2026, 11, 21), D(2026, 11, 29), "Fall break")
    close_dates(year, D(2026, 9, 8), D(2026, 9, 8), "Fair day")
    page = admin.get(at("closures", year)).text
    assert "6 school days in all" in page
    assert "Sat 21 Nov to Sun 29 Nov 2026" in page
    assert page.index("Fair day") < page.index("Fall break")


def test_a_closure_is_added_changed_and_taken_back(admin: Client, year: SchoolYear) -> None:
    answer = admin.post(at("closure-add", year), {"name": "Fair day", "first_day": "2026-09-08"})
    assert answer.status_code == 302
    assert "Closed Tue 8 Sep 2026: Fair day. The year has 74 school days now." in said(answer)
    pk = Closure.objects.get().pk
    sent = {"name": "Fair", "first_day": "2026-09-08", "last_day": "2026-09-09"}
    assert admin.post(at("closure-change", year, pk), sent).status_code == 302
    assert closed(year) == [("09-08", "09-09", "Fair")]
    assert "2 school days more" in admin.get(at("closure-remove", year, pk)).text
    assert admin.post(at("closure-remove", year, pk)).status_code == 302
    assert closed(year) == []


def test_a_closure_of_another_year_is_not_found(admin: Client, year: SchoolYear) -> None:
    other = make_year("Another school")
    close_dates(other, D(2026, 9, 8), D(2026, 9, 8), "Theirs")
    pk = Closure.objects.get().pk
    for name in ("closure-change", "closure-remove"):
        assert admin.post(at(name, year, pk), {}).status_code == 404
    assert Closure.objects.exists()


@pytest.mark.parametrize(
    ("sent", "why"),
    [
        ({"name": "", "first_day": "2026-09-09"}, "Name the closure"),
        ({"name": "Fair", "first_day": "soon"}, "Write a date"),
        ({"name": "Fair", "first_day": "2025-09-09"}, "Choose a date from"),
        ({"name": "Fair", "first_day": "2026-09-09", "last_day": "2026-09-08"}, "after the first"),
        ({"name": "Fair", "first_day": "2026-09-07", "last_day": "2026-09-08"}, "already closed"),
    ],
)
def test_a_closure_that_is_refused_keeps_what_was_typed(
    admin: Client, year: SchoolYear, sent: dict[str, str], why: str
) -> None:
    close_dates(year, D(2026, 9, 8), D(2026, 9, 8), "Fair day")
    answer = admin.post(at("closure-add", year), sent)
    assert answer.status_code == 422
    assert why in answer.text
    assert f'value="{sent["first_day"]}"' in answer.text
    assert Closure.objects.count() == 1


def test_a_closure_that_turns_a_verdict_is_asked_about_first_and_then_done(admin: Client, year: SchoolYear) -> None:
    classroom = make_classroom(year)
    add(make_week(classroom), make_teacher(classroom), ("thu", "08:00", "09:00", "math"))
    make_rule(year, "math_week", {"pool": {"of": ["math"]}, "at_least": 60}, name="Math in the week")
    sent = {"name": "Conferences", "first_day": "2026-10-01"}
    asked = admin.post(at("closure-add", year), sent)
    assert asked.status_code == 200
    assert "Nothing is saved yet" in asked.text
    assert "Math in the week" in asked.text
    assert closed(year) == []
    seal = asked.context["told"].seal
    assert admin.post(at("closure-add", year), {**sent, "seal": seal}).status_code == 302
    assert closed(year) == [("10-01", "10-01", "Conferences")]


# Holidays


def test_federal_holidays_are_ticked_and_those_without_a_school_day_are_shown_and_not_offered(
    admin: Client, year: SchoolYear
) -> None:
    year.school.place = "US-TX"
    year.school.save()
    close_dates(year, D(2026, 11, 23), D(2026, 11, 27), "Fall break")
    answer = admin.get(at("closure-holidays", year))
    lines = {line.holiday.name: line for line in answer.context["lines"]}
    assert lines["Labor Day"].ticked
    assert lines["Columbus Day"].ticked
    assert lines["Thanksgiving Day"].look.said == "closed already as Fall break"
    assert not lines["Friday After Thanksgiving"].ticked
    assert "Texas" in answer.text
    sent = {"lines": ["2026-09-07", "2026-11-11"]}
    answer = admin.post(at("closure-holidays", year), sent)
    assert answer.status_code == 302
    assert "2 closures added." in said(answer)
    assert [name for *_, name in closed(year)] == ["Labor Day", "Veterans Day", "Fall break"]


def test_only_what_is_offered_can_be_ticked(admin: Client, year: SchoolYear) -> None:
    for lines in ([], ["2026-09-08"], ["nonsense"]):
        assert admin.post(at("closure-holidays", year), {"lines": lines}).status_code == 422
    assert closed(year) == []


# Pasting

PASTED = "Date\tName\n9/7/2026\tLabor Day\nNov 23-27, 2026\tFall break\n9/12/2026\tSaturday\nsomeday\tGone fishing\n"


def test_pasted_lines_are_shown_first_and_closed_where_they_are_ticked(admin: Client, year: SchoolYear) -> None:
    shown = admin.post(at("closure-paste", year), {"text": PASTED})
    assert shown.status_code == 200
    assert "Mon 23 Nov to Fri 27 Nov 2026" in shown.text
    assert "on a weekend" in shown.text
    assert "Line 5" in shown.text
    assert closed(year) == []
    answer = admin.post(at("closure-paste", year), {"text": PASTED, "adopt": "1", "lines": ["2", "3"]})
    assert answer.status_code == 302
    assert closed(year) == [("09-07", "09-07", "Labor Day"), ("11-23", "11-27", "Fall break")]


def test_ticks_for_lines_that_are_not_offered_are_refused(admin: Client, year: SchoolYear) -> None:
    for ticks in ([], ["4"], ["5"], ["99"]):
        answer = admin.post(at("closure-paste", year), {"text": PASTED, "adopt": "1", "lines": ticks})
        assert answer.status_code == 422
        assert "Gone fishing" in answer.text
    assert closed(year) == []


# A calendar file


def ics(*events: str) -> bytes:
    body = "".join(f"BEGIN:VEVENT\r\nUID:{n}\r\n{event}\r\nEND:VEVENT\r\n" for n, event in enumerate(events))
    return f"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\n{body}END:VCALENDAR\r\n".encode()


DISTRICT = ics(
    "DTSTART;VALUE=DATE:20260907\r\nSUMMARY:Labor Day - No School",
    "DTSTART;VALUE=DATE:20261123\r\nDTEND;VALUE=DATE:20261128\r\nSUMMARY:Fall Break",
    "DTSTART;VALUE=DATE:20260916\r\nRRULE:FREQ=WEEKLY;COUNT=3\r\nSUMMARY:Early Release",
    "DTSTART:20261008T230000Z\r\nDTEND:20261009T010000Z\r\nSUMMARY:Board Meeting",
)


def send(client: Client, year: SchoolYear, data: bytes) -> Any:
    file = SimpleUploadedFile("district.ics", data, content_type="text/calendar")
    return client.post(at("closure-import", year), {"file": file})


def test_a_calendar_is_shown_with_what_each_entry_would_do_and_then_written_as_chosen(
    admin: Client, year: SchoolYear
) -> None:
    minimum = str(year.day_kinds.get(key="minimum").pk)
    shown = send(admin, year, DISTRICT)
    assert shown.status_code == 200
    suggested = {line.entry.name: line.suggested for _, line, *_ in shown.context["rows"]}
    assert suggested == {
        "Labor Day - No School": "close",
        "Early Release": minimum,
        "Board Meeting": "nothing",
        "Fall Break": "close",
    }
    assert closed(year) == []
    sent = {name: line.suggested for name, line, *_ in shown.context["rows"]}
    answer = admin.post(at("closure-import", year), {"entries": shown.context["entries"], **sent})
    assert answer.status_code == 302
    assert "2 closures added. 3 dates got a kind of day." in said(answer)
    assert closed(year) == [("09-07", "09-07", "Labor Day - No School"), ("11-23", "11-27", "Fall Break")]
    assert [f"{day:%m-%d}" for day in year.calendar_days.order_by("date").values_list("date", flat=True)] == [
        "09-16",
        "09-23",
        "09-30",
    ]


def test_what_a_calendar_s_form_carries_is_checked_when_it_comes_back(admin: Client, year: SchoolYear) -> None:
    shown = send(admin, year, DISTRICT)
    entries = shown.context["entries"]
    other = make_year("Another school")
    their_kind = str(other.day_kinds.get(key="minimum").pk)
    for sent in (
        {"entries": entries},
        {"entries": entries, "do-0": "nothing"},
        {"entries": entries, "do-0": their_kind},
        {"entries": entries, "do-0": "explode"},
        {"entries": entries[:-3], "do-0": "close"},
        {"entries": "", "do-0": "close"},
    ):
        assert admin.post(at("closure-import", year), sent).status_code == 422
    assert closed(year) == []
    # Signed for one year, it is nothing in another.
    client = Client()
    client.force_login(make_coordinator(other.school, "Otto", "administrator"))
    assert client.post(at("closure-import", other), {"entries": entries, "do-0": "close"}).status_code == 422
    assert not Closure.objects.exists()


def test_entries_that_overlap_what_is_closed_say_so_and_a_named_date_refuses_at_its_line(
    admin: Client, year: SchoolYear
) -> None:
    set_day_kind(year, D(2026, 11, 25), year.day_kinds.get(key="minimum"))
    close_dates(year, D(2026, 9, 7), D(2026, 9, 7), "Labor Day")
    shown = send(admin, year, DISTRICT)
    notes = {line.entry.name: line.note for _, line, *_ in shown.context["rows"]}
    assert notes["Labor Day - No School"] == "closed already as Labor Day"
    assert "named as a Minimum day" in notes["Fall Break"]
    place = next(name for name, line, *_ in shown.context["rows"] if line.entry.name == "Fall Break")
    answer = admin.post(at("closure-import", year), {"entries": shown.context["entries"], place: "close"})
    assert answer.status_code == 422
    assert "Wed 25 Nov 2026 is named as a Minimum day" in answer.text
    assert f'id="{place}-fault"' in answer.text


@pytest.mark.parametrize("data", [b"no calendar", b"", ics("SUMMARY")[:-20]])
def test_a_file_that_is_no_calendar_is_refused_with_what_to_do(admin: Client, year: SchoolYear, data: bytes) -> None:
    answer: HttpResponse = send(admin, year, data)
    assert answer.status_code == 422
    assert 'class="fault"' in answer.text


def test_what_was_written_at_once_can_be_taken_back_at_once_but_for_what_has_changed_since(
    admin: Client, year: SchoolYear
) -> None:
    close_dates(year, D(2026, 11, 11), D(2026, 11, 11), "Veterans Day")
    shown = send(admin, year, DISTRICT)
    sent = {name: line.suggested for name, line, *_ in shown.context["rows"]}
    admin.post(at("closure-import", year), {"entries": shown.context["entries"], **sent})
    assert "Added last: 2 closures and 3 dates of another kind" in admin.get(at("closures", year)).text
    Closure.objects.filter(name="Fall Break").update(name="Fall break week")
    answer = admin.post(at("closure-take-back", year))
    assert "Taken back: 1 closure and 3 dates of another kind." in said(answer)
    assert [name for *_, name in closed(year)] == ["Veterans Day", "Fall break week"]
    assert not year.calendar_days.exists()
    assert "Added last" not in admin.get(at("closures", year)).text
    assert "nothing left" in said(admin.post(at("closure-take-back", year)))


# Reading, and growth


def test_everybody_of_the_year_reads_closures_dates_and_kinds_without_the_verbs(year: SchoolYear) -> None:
    close_dates(year, D(2026, 9, 8), D(2026, 9, 8), "Fair day")
    client = Client()
    client.force_login(make_teacher(make_classroom(year)))
    for name, words in (("closures", "Fair day"), ("year-dates", "74 school days"), ("day-kinds", "Minimum day")):
        page = client.get(at(name, year)).text
        assert words in page
        assert "<form" not in page.split("</header>")[1]


def test_more_kinds_of_day_ask_for_no_more_queries(admin: Client, year: SchoolYear) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            admin.get(at("day-kinds", year))
        return len(queries)

    few = asked()
    for n in range(20):
        kind = add_day_kind(year, f"Kind {n}")
        set_day_kind(year, D(2026, 9, 8) + dt.timedelta(days=n), kind)
    assert asked() == few


@pytest.mark.parametrize("name", ["closures", "closure-holidays", "year-dates"])
def test_more_closures_ask_for_no_more_queries(admin: Client, year: SchoolYear, name: str) -> None:
    def asked() -> int:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            admin.get(at(name, year))
        return len(queries)

    days = [D(2026, 9, 8) + dt.timedelta(days=2 * n) for n in range(20)]
    for day in days[:2]:
        close_dates(year, day, day, "A day")
    few = asked()
    for day in days[2:]:
        close_dates(year, day, day, "A day")
    assert asked() == few
