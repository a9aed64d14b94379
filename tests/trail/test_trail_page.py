"""The trail in words: who did what to rules, people, calendar, bells and classrooms, and what it was before."""

import datetime as dt
from collections.abc import Callable
from typing import Any

import pghistory
import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scheduling.models import BellSchedule, Rule
from teamroom.common.sheet_text import harmless
from teamroom.dates.models import CalendarDay, Closure, DayKind, SchoolYear, StandingKind
from teamroom.members.models import Classroom, DistrictRole, Member, Team, TeamRole
from teamroom.school_file.checking import sound_document
from teamroom.school_file.loading import load
from teamroom.trail.entries import A_PAGE, LINES_OF_ONE, Entry, one_moment, page_of
from teamroom.trail.reading import Asked
from teamroom.trail.sheet import sheet_of
from tests import factories as make
from tests.school_file.files import WHOLE

BODY = {"pool": {"of": ["math"]}, "at_least": 200}


def entries(year: SchoolYear, **asked: Any) -> list[Entry]:
    return list(page_of(Asked(year, **asked)).entries)


def sentences(year: SchoolYear, **asked: Any) -> list[str]:
    return [line.sentence for entry in entries(year, **asked) for line in entry.lines]


def latest(year: SchoolYear) -> Entry:
    return entries(year)[0]


def by(member: Member, deed: Callable[[], object]) -> None:
    """Do something as a request of a member would."""
    with pghistory.context(user=member.pk):
        deed()


@pytest.fixture
def year(transactional_db: None) -> SchoolYear:
    """Each statement is a transaction of its own, so that each is a moment of its own."""
    return make.make_year()


def test_a_role_is_told_by_name_and_so_is_who_gave_it(year: SchoolYear) -> None:
    ada = make.make_coordinator(year.school, "Ada", "administrator")
    team = Team.objects.create(year=year, key="g34", name="Grades 3 and 4", grades=["3", "4"])
    wilma = make.make_member("Wilma")
    by(ada, lambda: TeamRole.objects.create(team=team, member=wilma, role="teacher"))
    assert (latest(year).who, latest(year).lines[0].sentence) == ("Ada", "Wilma became teacher of Grades 3 and 4")
    role = TeamRole.objects.get()
    role.role = "lead"
    role.save()
    assert latest(year).lines[0].sentence == "Wilma became lead of Grades 3 and 4, and was its teacher before"
    role.delete()
    assert latest(year).lines[0].sentence == "Wilma is no longer lead of Grades 3 and 4"
    assert latest(year).who == "The server’s console"


def test_a_figure_of_a_rule_is_told_before_and_after(year: SchoolYear) -> None:
    rule = Rule.objects.create(year=year, key="m", name="Mathematics in the week", grades=["4"], body=BODY)
    assert (
        "Added the rule ‘Mathematics in the week’. At least 3 hours 20 minutes of math"
        in latest(year).lines[0].sentence
    )
    rule.body = {**BODY, "at_least": 225}
    rule.save()
    assert latest(year).lines[0].sentence == ("The rule ‘Mathematics in the week’: at least 200 became 225 minutes")


def test_a_larger_change_stands_side_by_side_with_only_what_differs(year: SchoolYear) -> None:
    rule = Rule.objects.create(year=year, key="m", name="Mathematics", grades=["4"], body=BODY)
    rule.body, rule.standing = {"pool": {"of": ["science"]}, "at_most": 60, "window": "day"}, "law"
    rule.save()
    (line,) = latest(year).lines
    assert line.sentence == "Changed the rule ‘Mathematics’"
    assert [(each.what, each.before, each.after) for each in line.differences] == [
        (
            "demand",
            "At least 3 hours 20 minutes of math in each week. A week of fewer than five school days is asked its due "
            "share.",
            "At most 60 minutes of science on each school day.",
        ),
        ("standing", "school", "law"),
    ]


def test_the_calendar_is_told_as_people_say_it(year: SchoolYear) -> None:
    kind = DayKind.objects.get(year=year, key="minimum")
    date = dt.date(2026, 9, 24)
    Closure.objects.create(year=year, first_day=date, last_day=date, name="Harvest day")
    Closure.objects.create(
        year=year, first_day=dt.date(2026, 10, 5), last_day=dt.date(2026, 10, 9), name="Autumn break"
    )
    day = CalendarDay.objects.create(year=year, date=dt.date(2026, 9, 16), kind=kind)
    StandingKind.objects.create(year=year, weekday="wed", kind=kind)
    day.delete()
    assert sentences(year)[:5] == [
        "Wed 16 Sep 2026 is no longer of the kind ‘Minimum day’",
        "Wednesdays became days of the kind ‘Minimum day’",
        "Wed 16 Sep 2026 became a day of the kind ‘Minimum day’",
        "Closed Mon 5 Oct 2026 to Fri 9 Oct 2026, Autumn break",
        "Closed Thu 24 Sep 2026, Harvest day",
    ]


def test_what_is_gone_meanwhile_is_still_called_by_its_name(year: SchoolYear) -> None:
    team = Team.objects.create(year=year, key="g6", name="Grade 6", grades=["6"])
    room = Classroom.objects.create(year=year, team=team, key="r21", name="Room 21", grades=["6"])
    teacher = make.make_member("Tobin")
    room.teachers.add(teacher)
    room.delete()
    team.delete()
    told = sentences(year)
    assert "Tobin became teacher of Room 21" in told
    assert "Tobin is no longer teacher of Room 21" in told
    assert "Removed the team ‘Grade 6’" in told


def test_bells_are_told_with_grade_kind_and_times(year: SchoolYear) -> None:
    bell = BellSchedule.objects.get(year=year, kind__key="regular")
    bell.dismissal = 880
    bell.save()
    assert latest(year).lines[0].sentence == (
        "The bell schedule of grade 4, Regular day: dismissal was 2:30, became 2:40"
    )


def test_a_year_that_is_set_up_is_told_so(year: SchoolYear) -> None:
    SchoolYear.objects.filter(pk=year.pk).update(being_set_up=True)
    SchoolYear.objects.filter(pk=year.pk).update(being_set_up=False)
    assert sentences(year)[:2] == ["The year 2026-27 is set up", "The year 2026-27 is being set up again"]


def test_a_new_revision_of_the_year_is_nothing_to_tell(year: SchoolYear) -> None:
    before = sentences(year)
    make.begin(year)
    assert sentences(year) == before


def test_what_changed_before_the_trail_began_is_told_as_not_recorded(year: SchoolYear) -> None:
    team = Team.objects.create(year=year, key="g6", name="Grade 6", grades=["6"])
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM members_teamevent")
    team.name = "Sixth grade"
    team.save()
    assert latest(year).lines[0].sentence == "Changed the team ‘Sixth grade’; what it was before was not recorded yet"


def test_a_school_file_is_one_entry_that_can_be_read_whole(year: SchoolYear) -> None:
    loaded = load(sound_document(WHOLE)).year
    entry = latest(loaded)
    assert entry.summary.startswith("Loaded a school file: ")
    assert f"{len(WHOLE['rules'])} rules" in entry.summary
    assert entry.who == "The server’s console" and entry.lines == ()
    read: list[str] = []
    after, asked = (-1, -1), Asked(loaded)
    while part := one_moment(asked, entry.moment, after):
        assert len(part.lines) <= LINES_OF_ONE
        read += [line.sentence for line in part.lines]
        if part.next is None:
            break
        after = part.next
    assert len(read) == entry.total == len(list(sheet_of(Asked(loaded, first=entry.moment.at)))) - 1


def test_moments_are_told_by_the_clock_of_the_school(year: SchoolYear) -> None:
    client = Client()
    client.force_login(make.make_coordinator(year.school, "Ada", "administrator"))
    rule = make.make_rule(year, "m", BODY)
    with connection.cursor() as cursor:
        # 3:30 in the night at Greenwich is half past ten of the evening before in Chicago.
        cursor.execute(
            "UPDATE scheduling_ruleevent SET pgh_created_at = '2026-10-02T03:30:00Z' WHERE id = %s", [rule.pk]
        )
    page = client.get(reverse("trail", args=[year.pk]), {"sort": "rules", "first": "2026-10-01", "last": "2026-10-01"})
    assert "Thu 1 Oct 2026" in page.text and "10:30 p.m." in page.text
    page = client.get(reverse("trail", args=[year.pk]), {"sort": "rules", "first": "2026-10-02", "last": "2026-10-02"})
    assert "Nothing was kept for that" in page.text


def test_many_changes_in_one_go_are_counted(year: SchoolYear) -> None:
    with transaction.atomic():
        for number in range(7):
            make.make_classroom(year, f"room{number}")
    assert latest(year).summary == "Added 1 team and 7 classrooms"
    assert latest(year).lines == ()


def test_the_trail_ends_at_its_own_year_and_school(year: SchoolYear) -> None:
    other = make.make_year("Another school")
    make.make_teacher(make.make_classroom(other), "Stella")
    make.make_rule(other, "elsewhere", BODY)
    last = SchoolYear.objects.create(
        school=year.school, name="2025-26", first_day=dt.date(2025, 9, 1), last_day=dt.date(2026, 6, 1)
    )
    make.make_rule(last, "last_year", BODY)
    told = " ".join(sentences(year))
    for foreign in ("Another school", "Stella", "Elsewhere", "Last year", "2025-26"):
        assert foreign not in told


def test_the_district_is_told_of_its_own_roles_and_nobody_else_is(year: SchoolYear) -> None:
    DistrictRole.objects.create(member=make.make_member("Dita"))
    assert "Dita became a district administrator" in sentences(year, of_district=True)
    assert "Dita" not in " ".join(sentences(year))


def test_filters_narrow_by_sort_person_and_time(year: SchoolYear) -> None:
    ada = make.make_coordinator(year.school, "Ada", "administrator")
    by(ada, lambda: make.make_rule(year, "m", BODY))
    make.make_rule(year, "n", BODY)
    assert [line.split(".")[0] for line in sentences(year, sort="rules", by=ada.pk)] == ["Added the rule ‘M’"]
    assert "Added the rule ‘N’" in " ".join(sentences(year, by="console"))
    assert "Added the rule ‘M’" not in " ".join(sentences(year, by="console"))
    now = latest(year).moment.at
    assert sentences(year, first=now + dt.timedelta(days=1)) == []
    assert sentences(year, until=now - dt.timedelta(days=1)) == []
    assert sentences(year, sort="people") == ["Ada became administrator of the school"]


def test_pages_go_on_where_the_one_before_ended(year: SchoolYear) -> None:
    for number in range(A_PAGE + 5):
        Team.objects.create(year=year, key=f"t{number}", name=f"Team {number}", grades=["4"])
    first = page_of(Asked(year, sort="classrooms"))
    assert first.older is not None and len(first.entries) == A_PAGE
    second = page_of(Asked(year, sort="classrooms"), first.older)
    told = [line.sentence for entry in (*first.entries, *second.entries) for line in entry.lines]
    assert told == [f"Added the team ‘Team {number}’" for number in reversed(range(A_PAGE + 5))]
    assert second.older is None


def test_the_page_asks_as_much_for_many_records_as_for_few(year: SchoolYear) -> None:
    client = Client()
    client.force_login(make.make_coordinator(year.school, "Ada", "administrator"))
    counts = []
    for size in (2, 25):
        for number in range(size):
            room = make.make_classroom(year, f"room{size}-{number}")
            room.teachers.add(make.make_member(f"Tam{size}x{number}"))
            make.make_rule(year, f"rule{size}-{number}", BODY)
        with CaptureQueriesContext(connection) as asked:
            assert client.get(reverse("trail", args=[year.pk])).status_code == 200
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_a_request_leaves_the_name_of_who_sent_it_and_nothing_else_about_it(year: SchoolYear) -> None:
    ada = make.make_coordinator(year.school, "Ada", "administrator")
    client = Client()
    client.force_login(ada)
    client.post(reverse("setup-again", args=[year.pk]))
    assert latest(year).who == "Ada"
    with connection.cursor() as cursor:
        cursor.execute("SELECT pgh_context FROM dates_schoolyearevent ORDER BY pgh_id DESC LIMIT 1")
        (context,) = cursor.fetchone()
    assert str(ada.pk) in str(context) and "setup" not in str(context)


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@sum", "\tx", "\rx", "\uff1dx"])
def test_no_cell_of_the_sheet_is_a_formula(text: str) -> None:
    assert harmless(text) == f"'{text}"
    assert harmless(f"a{text}") == f"a{text}"


def test_the_sheet_holds_every_record_and_no_name_in_it_becomes_a_formula(year: SchoolYear) -> None:
    teacher = make.make_teacher(make.make_classroom(year))
    Member.objects.filter(pk=teacher.pk).update(name="=cmd|'/c calc'!A1")
    client = Client()
    client.force_login(make.make_coordinator(year.school, "Ada", "administrator"))
    answer = client.get(reverse("trail-sheet", args=[year.pk]), {"sort": "people"})
    lines = b"".join(answer.streaming_content).decode("utf-8-sig").splitlines()  # type: ignore[attr-defined]  # streamed
    assert lines[0] == "Date,Time,Who,Sort,What,Before,After"
    assert len(lines) == 4
    assert any(",'=cmd|" in line for line in lines) and not any(",=" in line for line in lines)


@pytest.mark.parametrize(
    "query",
    [
        "?before=yesterday",
        "?before=2026-01-01",
        "?before=99999-01-01T00:00:00%2B00:00",
        "?sort=everything&by=me&first=soon&last=9999-12-31",
        "?by=999999999999999999999",
        "?first=0001-01-01&last=0001-01-01",
    ],
)
def test_an_address_with_nonsense_in_it_is_answered(year: SchoolYear, query: str) -> None:
    client = Client()
    client.force_login(make.make_coordinator(year.school, "Ada", "administrator"))
    assert client.get(reverse("trail", args=[year.pk]) + query).status_code == 200


@pytest.mark.parametrize(
    "query",
    ["", "?at=x&of=y", "?at=2026-01-01T00:00:00%2B00:00&of=nobody", "?at=2026-01-01T00:00:00%2B00:00&after=99-1"],
)
def test_a_moment_that_there_was_none_of_is_not_found(year: SchoolYear, query: str) -> None:
    client = Client()
    client.force_login(make.make_coordinator(year.school, "Ada", "administrator"))
    assert client.get(reverse("trail-moment", args=[year.pk]) + query).status_code == 404
