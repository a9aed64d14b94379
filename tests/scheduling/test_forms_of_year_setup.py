"""Anything at all sent to the forms of a year's calendar: never a fault of ours, never half a deed."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from scheduling.calendar_reading.ics import Entry
from scheduling.calendar_reading.spans import Span
from scheduling.forms.closures import sealed_entries
from scheduling.services import compliance
from scheduling.services.calendar import close_dates
from teamroom.dates.models import CalendarDay, Closure, DayKind, School, SchoolYear, StandingKind
from tests.factories import (
    FIRST_DAY,
    LAST_DAY,
    add,
    make_classroom,
    make_coordinator,
    make_rule,
    make_teacher,
    make_week,
    make_year,
)

pytestmark = pytest.mark.django_db
quick = settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
anything = st.text(max_size=40)
dates = st.sampled_from(
    ["2026-09-08", "2026-10-30", "2026-10-31", "2025-01-01", "0001-01-01", "9999-12-31", "9/8/2026", "", "x"]
)
numbers = st.sampled_from(["1", "0", "-1", "40", "366", "9" * 30, "1.5", "\N{ARABIC-INDIC DIGIT FIVE}", ""])
Sent = dict[str, str]


def some(**fields: st.SearchStrategy[str]) -> st.SearchStrategy[Sent]:
    return st.fixed_dictionaries({}, optional={name: field | anything for name, field in fields.items()})


@pytest.fixture
def year() -> SchoolYear:
    year = make_year()
    classroom = make_classroom(year)
    add(make_week(classroom), make_teacher(classroom), ("mon", "08:00", "09:00", "math"))
    make_rule(year, "math_week", {"pool": {"of": ["math"]}, "at_least": 60})
    close_dates(year, LAST_DAY, LAST_DAY, "Last")
    return year


@pytest.fixture
def admin(year: SchoolYear) -> Client:
    client = Client()
    client.force_login(make_coordinator(year.school, "Ada", "administrator"))
    return client


@contextmanager
def undone(year: SchoolYear) -> Iterator[list[object]]:
    """What the calendar holds; whatever an example writes is gone after it, and never differs from its readings."""
    models = (School, SchoolYear, DayKind, Closure, StandingKind, CalendarDay)
    with transaction.atomic():
        yield [list(model._default_manager.order_by("pk").values()) for model in models]
        assert not compliance.recompute(SchoolYear.objects.get(pk=year.pk), from_scratch=True)
        transaction.set_rollback(True)


def holds(client: Client, year: SchoolYear, name: str, sent: Sent, *more: int) -> None:
    """The answer is a redirect, or the form again with nothing written."""
    with undone(year) as before:
        status = client.post(reverse(f"scheduling:{name}", args=[year.pk, *more]), sent).status_code
        assert status in (200, 302, 422)
        if status != 302:
            with undone(year) as after:
                assert after == before


@quick
@given(
    some(
        name=st.just("School"),
        place=st.sampled_from(["US-CA", "US-ZZ", ""]),
        time_zone=st.sampled_from(["America/Chicago", "Nowhere"]),
        year_name=st.just("2026-27"),
        first_day=dates,
        last_day=dates,
        required_days=numbers,
        take_out=st.just("x"),
    )
)
@example(
    {
        "name": "S",
        "time_zone": "UTC",
        "year_name": "Y",
        "first_day": "2026-09-07",
        "last_day": "2026-10-29",
        "required_days": "٥",
    }
)
def test_dates(admin: Client, year: SchoolYear, sent: Sent) -> None:
    holds(admin, year, "year-dates", sent)
    query = {key: value for key, value in sent.items() if key in ("first_day", "last_day", "required_days")}
    assert admin.get(reverse("scheduling:year-dates-count", args=[year.pk]), query).status_code in (200, 204)


@quick
@given(some(name=st.just("Late start")))
def test_kinds_of_day(admin: Client, year: SchoolYear, sent: Sent) -> None:
    holds(admin, year, "day-kind-add", sent)
    holds(admin, year, "day-kind-rename", sent, year.day_kinds.get(key="minimum").pk)


@quick
@given(some(kind=st.sampled_from(["weekdays", "alternating weeks", "rotating days"]), length=numbers, starts=dates))
def test_the_cycle(admin: Client, year: SchoolYear, sent: Sent) -> None:
    holds(admin, year, "cycle", sent)
    assert admin.get(reverse("scheduling:cycle-preview", args=[year.pk]), sent).status_code in (200, 204)


@quick
@given(st.dictionaries(st.sampled_from(["mon", "tue", "wed", "thu", "fri", "sat", "seal"]), numbers | anything))
def test_standing_days(admin: Client, year: SchoolYear, sent: Sent) -> None:
    holds(admin, year, "standing-days", sent)


@quick
@given(some(name=st.just("Fair"), first_day=dates, last_day=dates))
def test_a_closure(admin: Client, year: SchoolYear, sent: Sent) -> None:
    holds(admin, year, "closure-add", sent)
    holds(admin, year, "closure-change", sent, Closure.objects.get().pk)


@quick
@given(some(lines=st.sampled_from(["2026-09-07", "2026-10-12", "1", "2"]), seal=anything))
def test_holidays(admin: Client, year: SchoolYear, sent: Sent) -> None:
    holds(admin, year, "closure-holidays", sent)


@quick
@given(
    some(
        text=st.sampled_from(["9/8/2026 Fair\n9/9/2026 Fair", "10/30/2026\tLast", "1/1/0001 x", "9/8/2026\x00Fair"]),
        adopt=st.just("1"),
        lines=st.sampled_from(["1", "2"]),
    )
)
def test_pasted_lines(admin: Client, year: SchoolYear, sent: Sent) -> None:
    holds(admin, year, "closure-paste", sent)


@quick
@given(
    st.fixed_dictionaries(
        {}, optional={f"do-{n}": st.sampled_from(["close", "nothing", "{minimum}", ""]) | anything for n in range(4)}
    ),
    st.booleans(),
)
def test_the_entries_of_a_calendar(admin: Client, year: SchoolYear, chosen: Sent, signed: bool) -> None:
    days = [Span(FIRST_DAY, FIRST_DAY, "Labor Day"), Span(LAST_DAY, LAST_DAY, "Last")]
    entries = sealed_entries(year, [Entry(span.name, (span,)) for span in days] + [Entry("Both", tuple(days), 90)])
    minimum = str(year.day_kinds.get(key="minimum").pk)
    sent = {name: minimum if value == "{minimum}" else value for name, value in chosen.items()}
    holds(admin, year, "closure-import", {"entries": entries if signed else entries[::-1], **sent})
