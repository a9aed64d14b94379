"""A week beside a week of any grade or year of its school, and against a grade's rules; nothing is ever written."""

import datetime as dt
from fractions import Fraction
from typing import Any

import pytest
from django.db import connection, transaction
from django.http import Http404
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scheduling.access import classroom_for_reading, week_for_editing
from scheduling.models import Activity, BellSchedule, Block, BlockUse, FixedStretch, Reading, SharedResource, Week
from scheduling.selectors.beside import choices_beside
from scheduling.services import drafts
from teamroom.common.clock import minutes_of
from teamroom.common.errors import Denied
from teamroom.dates.models import SchoolYear
from teamroom.members.access import year_place
from teamroom.members.models import Classroom, Member, TeamRole
from teamroom.members.selectors.readable import readable_of_school
from tests import factories as make

pytestmark = pytest.mark.django_db
MATH = {"pool": {"of": ["math"]}, "window": "week"}


def page_of(client: Client, member: Member, name: str, *args: object) -> str:
    client.force_login(member)
    return client.get(reverse(f"scheduling:{name}", args=args)).text.replace("\xa0", " ")


def two_grades() -> tuple[Week, Week, Member]:
    """Math is 120 minutes a week in grade 4 and 60 in grade 5, which must have 90; a coordinator reads both."""
    year = make.make_year()
    BellSchedule.objects.create(
        year=year, grade="5", kind=year.day_kinds.get(key="regular"), start=minutes_of("08:00"), dismissal=870
    )
    make.begin(year)
    four, five = make.make_classroom(year), make.make_classroom(year, "room31", ("5",))
    weeks = make.make_week(four), make.make_week(five)
    make.add(
        weeks[0], make.make_teacher(four, "Ana"), ("mon", "08:00", "09:00", "math"), ("tue", "08:00", "09:00", "math")
    )
    make.add(
        weeks[1], make.make_teacher(five, "Ben"), ("mon", "13:00", "14:00", "math"), ("mon", "10:00", "10:30", "art")
    )
    make.make_rule(year, "math_four", {**MATH, "at_least": 110}, name="Math of grade 4")
    make.make_rule(year, "math_five", {**MATH, "at_least": 90}, ("5",), name="Math of grade 5")
    return *weeks, make.make_coordinator(year.school)


def later_year(week: Week, **fields: Any) -> SchoolYear:
    """Another year of the same school, with the same keys under other ids."""
    school = week.classroom.year.school
    return make.make_year(
        school.name, named="2027-28", first_day=dt.date(2027, 9, 6), last_day=dt.date(2027, 10, 29), **fields
    )


def test_weeks_of_two_grades_stand_side_by_side_by_their_own_rules_and_by_the_firsts(client: Client) -> None:
    four, five, cora = two_grades()
    page = page_of(client, cora, "week-compare", four.pk, five.pk)
    own, by_first = page.split("Both by the rules of grade 4")
    assert "120 min of 110 min" in own and "60 min of 90 min" in own
    assert "60 min of 110 min" in by_first and "1 hour less" not in by_first and "60 minutes less" in by_first
    assert "60 min of 90 min" not in by_first
    assert "Math 60 minutes less and Art 30 minutes more" in own
    assert reverse("scheduling:week-against", args=[five.pk, "4"]) in page
    assert reverse("scheduling:week-against", args=[four.pk, "5"]) in page


def test_the_same_rules_are_told_once(client: Client) -> None:
    four, _, cora = two_grades()
    also = make.make_week(make.make_classroom(four.classroom.year, "room13"))
    assert "Both by the rules" not in page_of(client, cora, "week-compare", four.pk, also.pk)


def test_times_of_day_order_changes_and_stretches_are_told_with_the_difference(client: Client) -> None:
    four, five, cora = two_grades()
    make.add(four, Member.objects.get(name="Ana"), ("mon", "09:00", "09:30", "art"))
    page = page_of(client, cora, "week-compare", four.pk, five.pk)
    assert "5 hours later, all after midday, in another place in the order" in page
    assert "Math has another place in the order; the rest comes in the same." in page
    assert "60 min" in page and "Monday, 1:00" in page
    assert "0.5 more" in page, "grade 4 changes once on Monday and not at all on Tuesday, grade 5 once on its one day"


def test_the_usual_days_are_drawn_with_what_the_school_fixes_and_say_all_in_words(client: Client) -> None:
    four, five, cora = two_grades()
    lunch = Activity.objects.get(key="lunch", year=four.classroom.year)
    bell = BellSchedule.objects.get(grade="4", kind__key="regular")
    FixedStretch.objects.create(bell_schedule=bell, activity=lunch, start=720, end=750)
    make.begin(four.classroom.year)
    page = page_of(client, cora, "week-compare", four.pk, five.pk)
    assert 'aria-label="First, Monday: Math 8:00–9:00. Lunch 12:00–12:30."' in page
    assert 'aria-label="Second, Monday: Art 10:00–10:30. Math 1:00–2:00."' in page
    assert 'aria-label="Second, Friday: Nothing is planned."' in page
    assert page.count('<i class="fixed-strip" style="--start:720;--length:30" title="Lunch">Lunch</i>') == 5


def test_a_week_of_another_year_of_the_school_is_matched_by_key(client: Client) -> None:
    four, _, cora = two_grades()
    room = make.make_classroom(later_year(four))
    week = make.make_week(room, dt.date(2027, 9, 6))
    make.add(
        week, make.make_teacher(room, "Carl"), ("mon", "08:00", "09:00", "math"), ("tue", "08:00", "08:45", "math")
    )
    make.make_rule(room.year, "math_four", {**MATH, "at_least": 115}, name="Math of grade 4")
    page = page_of(client, cora, "week-compare", four.pk, week.pk)
    assert "1 block of 2 differs" in page and "shorter by 15" in page
    own, by_first = page.split("Both by the rules of grade 4")
    assert "120 min of 110 min" in own and "105 min of 115 min" in own and "105 min of 110 min" in by_first
    assert own.count("Math of grade 4 <small>") == 1, "one rule of two years is one line"
    assert "2026-27" in own and "2027-28" in own


def test_a_rule_that_asks_something_else_in_another_year_has_a_line_of_each(client: Client) -> None:
    four, _, cora = two_grades()
    room = make.make_classroom(later_year(four))
    week = make.make_week(room, dt.date(2027, 9, 6))
    make.add(week, make.make_teacher(room, "Carl"), ("mon", "08:00", "09:00", "math"))
    body = {"pool": {"of": ["math"]}, "at_least": 1000, "window": "year"}
    make.make_rule(room.year, "math_four", body, name="Math of grade 4")
    own = page_of(client, cora, "week-compare", four.pk, week.pk).split("Both by the rules")[0]
    assert own.count("Math of grade 4 <small>") == 2 and own.count("does not apply") == 2
    assert "120 min of 110 min" in own and "8 h 00 of 16 h 40" in own


def test_a_week_that_the_reader_may_not_read_is_not_compared(client: Client) -> None:
    four, five, _ = two_grades()
    ana = Member.objects.get(name="Ana")
    client.force_login(ana)
    for pair in ([four.pk, five.pk], [five.pk, four.pk]):
        assert client.get(reverse("scheduling:week-compare", args=pair)).status_code == 404
    TeamRole.objects.create(team=five.classroom.team, member=ana, role="guest")
    assert client.get(reverse("scheduling:week-compare", args=[four.pk, five.pk])).status_code == 200


def test_years_that_name_their_days_differently_are_not_held_to_one_rule(client: Client) -> None:
    four, _, cora = two_grades()
    room = make.make_classroom(later_year(four, cycle_kind="rotating days"))
    week = make.make_week(room, dt.date(2027, 9, 6))
    make.add(week, make.make_teacher(room, "Carl"), ("1", "08:00", "09:00", "math"))
    page = page_of(client, cora, "week-compare", four.pk, week.pk)
    assert "name their days differently" in page and "Both by the rules" not in page
    assert "70 minutes less" in page, "60 minutes once in six days are 50 in five"


def test_reasons_and_needs_show_where_they_differ_and_nowhere_else(client: Client) -> None:
    four, _, cora = two_grades()
    lab = SharedResource.objects.create(year=four.classroom.year, key="lab", name="Science lab", capacity=2)
    make.begin(four.classroom.year)
    Block.objects.filter(column__week=four).update(why="Everybody is awake")
    with transaction.atomic():
        held = week_for_editing(Member.objects.get(name="Ana"), four.pk)
        draft = drafts.prepare_draft(held, starts=dt.date(2026, 10, 5), member=Member.objects.get(name="Ana"))
    assert "Everybody is awake" not in page_of(client, cora, "week-compare", four.pk, draft.pk)
    Block.objects.filter(column__week=draft, column__day="mon").update(why="The lab is free")
    BlockUse.objects.create(block=Block.objects.get(column__week=draft, column__day="tue"), resource=lab, amount=2)
    page = page_of(client, cora, "week-compare", four.pk, draft.pk)
    monday, tuesday = page.split("Day by day")[1].split("Tuesday", 1)
    assert "Why: Everybody is awake" in monday and "Why: The lab is free" in monday and "another reason" in monday
    assert "other needs" in tuesday and "Needs Science lab (2)" in tuesday and "Why" not in tuesday
    assert "1 block of 2 differs, and 1 block only in its reason." in page


def test_a_week_against_its_own_grade_gives_what_its_ledger_says(client: Client) -> None:
    four, _, cora = two_grades()
    FixedStretch.objects.create(
        bell_schedule=BellSchedule.objects.get(grade="4", kind__key="regular"),
        activity=Activity.objects.get(key="lunch", year=four.classroom.year),
        start=720,
        end=750,
    )
    make.make_rule(four.classroom.year, "lunch", {"pool": {"of": ["lunch"]}, "at_least": 20, "window": "day"})
    stored = Reading.objects.filter(classroom=four.classroom).order_by("rule", "part")
    side = drafts.all_year(four, ["4"])
    found = sorted(side.readings, key=lambda row: (row.rule_id, row.part is None, row.part))
    figures = ("rule_id", "part", "status", "required", "planned", "margin", "windows", "short_windows")
    assert len(stored) == 4
    assert [[getattr(row, name) for name in figures] for row in found] == [
        list(row) for row in stored.values_list(*figures)
    ]


def test_a_week_against_another_grade_says_what_is_missing_and_writes_nothing(client: Client) -> None:
    four, five, cora = two_grades()
    make.make_rule(four.classroom.year, "art", {"pool": {"of": ["art"]}, "at_least": 40, "window": "week"}, ("4", "5"))
    client.force_login(cora)
    client.get(reverse("home"))
    before = [list(model.objects.order_by("pk").values()) for model in (Reading, Week, Block)]
    with CaptureQueriesContext(connection) as queries:
        page = client.get(reverse("scheduling:week-against", args=[five.pk, "4"])).text.replace("\xa0", " ")
    assert not [one["sql"] for one in queries if one["sql"].lstrip().upper().startswith(("INSERT", "UPDATE", "DELETE"))]
    assert before == [list(model.objects.order_by("pk").values()) for model in (Reading, Week, Block)]
    missing = page.split("What is missing")[1].split("drawn to scale")[0]
    assert "Math of grade 4" in missing and "−50 min a week" in missing and "all 8" not in missing
    assert "8 of 8 weeks short" in missing and "−10 min a week" in missing
    assert "Math of grade 5" not in page and "meets 0 of 2 rules" in page


def test_the_weeks_own_bell_times_stay_under_another_grades_rules() -> None:
    four, five, _ = two_grades()
    lunch = Activity.objects.get(key="lunch", year=four.classroom.year)
    for grade, start in (("4", 720), ("5", 600)):
        bell = BellSchedule.objects.get(grade=grade, kind__key="regular")
        FixedStretch.objects.create(bell_schedule=bell, activity=lunch, start=start, end=start + 30)
    make.make_rule(four.classroom.year, "lunch", {"pool": {"of": ["lunch"]}, "at_least": 150, "window": "week"})
    # In grade 5 the art at 10:00 covers Monday's lunch; grade 4's would be free.
    (reading,) = (
        row
        for row in drafts.all_year(Week.objects.get(pk=five.pk), ["4"]).readings
        if row.part == 0 and row.required == 150
    )
    assert reading.planned == 120


def test_a_grade_that_the_year_has_not_is_not_found_and_one_with_a_slash_is(client: Client) -> None:
    four, _, cora = two_grades()
    make.make_classroom(four.classroom.year, "room45", ("4/5",))
    client.force_login(cora)
    answers = {grade: reverse("scheduling:week-against", args=[four.pk, grade]) for grade in ("4/5", "6", "4/")}
    assert {grade: client.get(url).status_code for grade, url in answers.items()} == {"4/5": 200, "6": 404, "4/": 404}


def test_what_a_week_can_stand_beside_is_what_the_reader_may_read(client: Client) -> None:
    four, five, cora = two_grades()
    year, past = four.classroom.year, make.make_classroom(later_year(four))
    mate, gone = make.make_classroom(year, "room13"), make.make_classroom(year, "room14")
    Classroom.objects.filter(pk=gone.pk).update(retired=True)
    today = year.school.today()
    _, now, _ = (make.make_week(mate, today + dt.timedelta(days)) for days in (-14, -7, 7))
    far = make.make_week(past, dt.date(2027, 9, 6))
    make.make_week(gone)
    ana = Member.objects.get(name="Ana")

    def chosen(member: Member) -> dict[str, list[int]]:
        rooms = readable_of_school(year, member, year_place(member, year).roles)
        return {group.title: [one.pk for one in group.weeks] for group in choices_beside(four, rooms)}

    assert chosen(ana) == {"The team": [now.pk]}
    assert chosen(cora) == {**chosen(ana), "Other classrooms": [five.pk], "2027-28": [far.pk]}
    page = page_of(client, ana, "week-beside", four.pk)
    assert reverse("scheduling:week-against", args=[four.pk, "5"]) in page
    assert reverse("scheduling:week-compare", args=[four.pk, five.pk]) not in page


def test_the_readable_classrooms_of_a_school_are_those_that_access_lets_read_one_by_one() -> None:
    four, five, cora = two_grades()
    year, later = four.classroom.year, later_year(four)
    make.make_classroom(later), make.make_classroom(make.make_year("Elsewhere"))
    people = [*Member.objects.all(), make.make_teammate(five.classroom.team, "Gus", "guest"), make.make_member("Nora")]
    for one in people:
        asked = set()
        for room in Classroom.objects.all():
            try:
                asked.add(classroom_for_reading(one, room.pk).pk)
            except (Denied, Http404):
                continue
        roles = year_place(one, year).roles
        assert set(readable_of_school(year, one, roles).values_list("pk", flat=True)) == asked, one.name
    assert readable_of_school(year, cora, year_place(cora, year).roles).count() == 3


def test_an_integrated_block_counts_by_what_it_credits(client: Client) -> None:
    four, five, cora = two_grades()
    block = Block.objects.get(column__week=five, activity__key="math")
    ids = dict(Activity.objects.filter(year=four.classroom.year).values_list("key", "pk"))
    block.credits.create(place=0, activity_id=ids["science"], minutes=20)
    assert drafts.all_year(Week.objects.get(pk=five.pk)).shape.minutes == {"science": 20, "art": 30}
    assert drafts.all_year(Week.objects.get(pk=five.pk)).shape.changes_a_day == Fraction(1)
