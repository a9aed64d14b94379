"""A next year takes along what is ticked and what that needs, and never a week."""

import datetime as dt
from collections.abc import Collection

import pytest
from django.test import Client
from django.urls import reverse

from scheduling.models import BellSchedule, FixedStretch, Reading, Rule, Week
from teamroom.dates.models import DayKind, SchoolYear, StandingKind
from teamroom.members.models import Classroom, ClassTeacher, Team, TeamRole
from teamroom.school_file.checking import sound_document
from teamroom.school_file.dumping import document_of
from teamroom.school_file.loading import load
from teamroom.setup.forms.next_year import next_guess
from teamroom.setup.next_year import PARTS, begin_next_year
from tests import factories as make
from tests.school_file.files import WHOLE

FIRST, LAST = dt.date(2027, 9, 6), dt.date(2028, 6, 9)


def next_of(old: SchoolYear, take: Collection[str] = tuple(PARTS), name: str = "2027-28") -> SchoolYear:
    return begin_next_year(old, name=name, first_day=FIRST, last_day=LAST, take=take)


@pytest.mark.django_db
def test_everything_of_a_school_file_comes_along_but_its_calendar_and_weeks() -> None:
    old = load(sound_document(WHOLE)).year
    whole, before = document_of(old), document_of(old)
    after = document_of(next_of(old))
    for part in ("activities", "shared_resources", "bell_schedules", "rules"):
        assert after[part] == before[part], part
    for part in ("teams", "classrooms"):
        before[part] = [place for place in before[part] if not place.get("retired")]
    assert after["teams"] == before["teams"]
    for room in before["classrooms"]:
        room.pop("enrolment", None)
    assert after["classrooms"] == before["classrooms"]
    # The regular kind is there before any other, as every year begins with it.
    assert len(after["year"]["day_kinds"]) == len(before["year"]["day_kinds"])
    assert all(kind in before["year"]["day_kinds"] for kind in after["year"]["day_kinds"])
    assert after["year"]["standing_kinds"] == before["year"]["standing_kinds"]
    assert after["year"]["cycle"]["length"] == before["year"]["cycle"]["length"]
    assert not {"closed", "days"} & after["year"].keys()
    assert not {"weeks", "day_changes"} & after.keys()
    # The year before keeps what it had.
    assert document_of(old) == whole


@pytest.mark.django_db
def test_nothing_of_the_new_year_points_back_into_the_old_one() -> None:
    year = next_of(load(sound_document(WHOLE)).year)
    assert not BellSchedule.objects.filter(year=year).exclude(kind__year=year).exists()
    stretches = FixedStretch.objects.filter(bell_schedule__year=year)
    assert stretches.exists() and not stretches.exclude(activity__year=year).exists()
    assert not StandingKind.objects.filter(year=year).exclude(kind__year=year).exists()
    assert not Classroom.objects.filter(year=year).exclude(team__year=year).exists()
    assert not Week.objects.filter(classroom__year=year).exists()


@pytest.mark.django_db
def test_a_year_that_takes_nothing_along_is_an_empty_one() -> None:
    year = next_of(make.make_year(), take=())
    assert [kind.key for kind in DayKind.objects.filter(year=year)] == ["regular"]
    assert not year.activities.exists() and not year.classrooms.exists()
    assert year.being_set_up


@pytest.mark.django_db
def test_rules_bring_along_what_they_speak_of() -> None:
    old = make.make_year()
    make.make_rule(old, "math_week", {"pool": {"of": ["math"]}, "at_least": 60, "day_kinds": ["minimum"]})
    year = next_of(old, take=["rules"])
    assert Rule.objects.get(year=year).key == "math_week"
    assert set(year.activities.values_list("key", flat=True)) == set(make.ACTIVITIES)
    assert set(year.day_kinds.values_list("key", flat=True)) == {"regular", "minimum"}
    assert not BellSchedule.objects.filter(year=year).exists()


@pytest.mark.django_db
def test_a_rule_that_is_over_before_the_year_begins_stays_behind() -> None:
    old = make.make_year()
    for key, ends in (("over", FIRST - dt.timedelta(days=1)), ("last_day", FIRST), ("goes_on", None)):
        make.make_rule(old, key, {"pool": {"of": ["math"]}, "at_least": 60}, effective_to=ends)
    assert set(Rule.objects.filter(year=next_of(old)).values_list("key", flat=True)) == {"last_day", "goes_on"}


@pytest.mark.django_db
def test_people_come_along_only_when_ticked_and_only_who_is_still_there() -> None:
    old = make.make_year()
    room = make.make_classroom(old)
    stays, left = make.make_teacher(room, "Olive"), make.make_teacher(room, "Lew")
    ClassTeacher.objects.filter(member=left).update(last_day=old.last_day - dt.timedelta(days=5))
    gone = make.make_teammate(room.team, "Gil")
    gone.is_active = False
    gone.save()
    without = next_of(old, take=["teams"])
    assert not TeamRole.objects.filter(team__year=without).exists()
    year = next_of(old, take=["people"], name="2028-29")
    assert {role.member for role in TeamRole.objects.filter(team__year=year)} == {stays, left}
    (teaching,) = ClassTeacher.objects.filter(classroom__year=year)
    assert (teaching.member, teaching.first_day, teaching.last_day) == (stays, None, None)


@pytest.mark.django_db
def test_retired_teams_and_classrooms_stay_behind() -> None:
    old = make.make_year()
    kept, retired = make.make_classroom(old), make.make_classroom(old, "room13")
    of_retired = make.make_classroom(old, "room31", ("5",))
    Classroom.objects.filter(pk=retired.pk).update(retired=True)
    Team.objects.filter(pk=of_retired.team_id).update(retired=True)
    year = next_of(old)
    assert [room.key for room in year.classrooms.all()] == [kept.key]
    assert [team.key for team in Team.objects.filter(year=year)] == [kept.team.key]


@pytest.mark.django_db
def test_the_new_classrooms_have_readings_from_the_start() -> None:
    old = make.make_year()
    make.make_classroom(old)
    make.make_rule(old, "math_week", {"pool": {"of": ["math"]}, "at_least": 60})
    year = next_of(old)
    assert Reading.objects.filter(classroom__year=year, rule__year=year).exists()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("fields", "field"),
    [({"year_name": "2026-27"}, "year_name"), ({"last_day": "2027-01-01"}, "last_day"), ({"take": "weeks"}, "take")],
)
def test_what_cannot_be_begun_is_refused_at_the_field_and_leaves_nothing(fields: dict[str, str], field: str) -> None:
    old = make.make_year()
    client = Client()
    client.force_login(make.make_coordinator(old.school, "Ada", "administrator"))
    sent = {"year_name": "2027-28", "first_day": "2027-09-06", "last_day": "2028-06-09", "take": "activities"}
    page = client.post(reverse("next-year", args=[old.pk]), sent | fields)
    assert page.status_code == 422 and f'id="id_{field}_error"' in page.text
    assert SchoolYear.objects.count() == 1


@pytest.mark.django_db
def test_the_page_begins_with_a_guess_and_leads_to_the_new_years_list() -> None:
    old = make.make_year()
    client = Client()
    client.force_login(make.make_coordinator(old.school, "Ada", "administrator"))
    page = client.get(reverse("next-year", args=[old.pk]))
    assert 'value="2027-28"' in page.text and 'value="2027-09-06"' in page.text
    guess = next_guess(old)
    answer = client.post(reverse("next-year", args=[old.pk]), {**guess, "take": ["activities"]}, follow=True)
    new = SchoolYear.objects.get(name="2027-28")
    assert answer.redirect_chain == [(reverse("setup", args=[new.pk]), 302)]
    assert "2027-28 has begun" in answer.text


@pytest.mark.parametrize(
    ("name", "then"),
    [
        ("2026-27", "2027-28"),
        ("2098-99", "2099-00"),
        ("2026/2027", "2027/2028"),
        ("Year 9", "Year 10"),
        ("First", "First"),
    ],
)
def test_the_next_years_name_is_counted_on(name: str, then: str) -> None:
    old = SchoolYear(name=name, first_day=FIRST, last_day=LAST)
    assert next_guess(old)["year_name"] == then
