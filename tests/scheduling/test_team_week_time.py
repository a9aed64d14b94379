"""A team's common planning time on its week: what frees a teacher, who stands in the way, and a count of the rows."""

from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduling.access import week_for_editing
from scheduling.models import Activity, Block, Column, FixedStretch, SpecialistPost
from scheduling.selectors.team_week import team_week
from scheduling.services import weeks
from teamroom.common.clock import minutes_of
from teamroom.members.models import Team
from tests import factories as make
from tests.scheduling.sharing_rooms import Rooms, put
from tests.scheduling.team_week_pages import make_freeing_rooms, page, told

pytestmark = pytest.mark.django_db

DASH = "\N{EN DASH}"


@pytest.fixture
def rooms(db: None) -> Rooms:
    """Two classrooms of grade 4; art and PE are taught by somebody else."""
    return make_freeing_rooms()


def test_the_times_that_all_have_are_a_band_on_the_day_and_a_list_for_the_week(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "09:40", "art"))
    put(rooms, 14, ("mon", "09:10", "09:50", "pe"))
    week = told(rooms)
    (band,) = week.day(("mon", "regular")).bands
    assert (band.times, band.length) == (f"9:10{DASH}9:40", 30)
    assert (week.common.minutes, week.common.strips[0].days[0].minutes) == (30, 30)
    shown = page(rooms, day="mon")
    assert "<b>All free</b>" in shown
    assert f"<td>9:10{DASH}9:40</td>" in shown
    assert "<b>All free</b>" not in page(rooms, day="tue")


def test_the_shortest_time_to_show_is_a_choice(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "09:40", "art"))
    put(rooms, 14, ("mon", "09:10", "09:50", "pe"))
    assert [told(rooms, shortest=n).common.minutes for n in (30, 45)] == [30, 0]
    assert "All are never free at once" in page(rooms, shortest=45)
    assert "All are never free at once" not in page(rooms, shortest="rubbish")


def test_what_the_bells_fix_counts_and_so_does_a_specialists_post(rooms: Rooms) -> None:
    Activity.objects.filter(year=rooms.year).update(frees_teacher=False)
    FixedStretch.objects.create(
        bell_schedule=rooms.year.bell_schedules.get(kind__key="regular"),
        activity=rooms.year.activities.get(key="art"),
        start=minutes_of("10:00"),
        end=minutes_of("10:40"),
        days=["thu"],
    )
    make.begin(rooms.year)
    assert told(rooms).common.why_none == "nobody"
    theo = make.make_member("Theo")
    post = SpecialistPost.objects.create(year=rooms.year, member=theo, activity=rooms.year.activities.get(key="art"))
    assert told(rooms).common.minutes == 40
    post.classrooms.add(rooms.weeks[12].classroom)
    week = told(rooms)
    assert (week.common.minutes, week.common.nearly) == (
        0,
        (f"Thursday 10:00{DASH}10:40, 40 minutes: all but Room14, which has Art 10:00{DASH}10:40.",),
    )


def test_a_block_that_is_only_in_part_a_special_leaves_the_teacher_there(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "10:00", "art"))
    placing = make.placing(rooms.year, "mon", "09:00", "10:00", "art", credits={"art": 30, "reading": 30})
    with transaction.atomic():
        week = week_for_editing(rooms.ada, rooms.weeks[14].pk)
        weeks.add_block(week, member=rooms.ada, placing=placing)
    found = told(rooms).common
    assert found.minutes == 0
    assert found.nearly == (
        f"Monday 9:00{DASH}10:00, 60 minutes: all but Room14, which has Art with Reading 9:00{DASH}10:00.",
    )


def test_nearly_names_the_classroom_what_it_has_and_the_days_alike(rooms: Rooms) -> None:
    for day in ("mon", "wed"):
        put(rooms, 12, (day, "09:00", "09:40", "art"))
        put(rooms, 14, (day, "09:00", "09:30", "math"))
    assert told(rooms).common.nearly == (
        f"Mon and Wed 9:00{DASH}9:40, 40 minutes: all but Room14, which has Math 9:00{DASH}9:30.",
    )


def test_where_all_never_are_the_pairs_with_the_most_time_are_told(rooms: Rooms) -> None:
    rooms.weeks[15] = make.make_week(make.make_classroom(rooms.year, "room15"))
    put(rooms, 12, ("mon", "09:00", "10:00", "art"))
    put(rooms, 14, ("mon", "09:20", "10:00", "pe"))
    put(rooms, 15, ("tue", "09:00", "10:00", "art"))
    found = told(rooms).common
    assert (found.minutes, found.pairs) == (0, ("Room12 and Room14, 40 minutes a week",))
    put(rooms, 15, ("mon", "09:30", "10:00", "art"))
    assert told(rooms).common.pairs == ()


def test_a_classroom_without_a_week_is_left_out_and_said_to_be(rooms: Rooms) -> None:
    put(rooms, 12, ("mon", "09:00", "09:40", "art"))
    put(rooms, 14, ("mon", "09:00", "09:40", "art"))
    make.make_classroom(rooms.year, "room15")
    found = told(rooms).common
    assert (found.minutes, found.without) == (40, "Room15")


stretches = st.lists(
    st.tuples(
        st.sampled_from(("room12", "room14", "room15")),
        st.sampled_from(("mon", "tue")),
        st.integers(32, 57),
        st.integers(1, 6),
        st.sampled_from(("art", "pe", "math")),
    ),
    max_size=12,
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(stretches, st.sampled_from((10, 15, 30)))
def test_common_time_is_that_of_a_count_of_the_rows_minute_by_minute(some: list[Any], shortest: int) -> None:
    with transaction.atomic():
        year = make.make_year()
        Activity.objects.filter(year=year, key__in=("art", "pe")).update(frees_teacher=True)
        own = {key: make.make_week(make.make_classroom(year, key)) for key in ("room12", "room14", "room15")}
        regular = year.day_kinds.get(key="regular")
        activities = {one.key: one for one in year.activities.all()}
        taken: dict[tuple[str, str], set[int]] = {}
        free: dict[tuple[str, str], set[int]] = {}
        for room, day, start, length, activity in some:
            minutes = set(range(start * 15, (start + length) * 15))
            if taken.setdefault((room, day), set()) & minutes:
                continue
            taken[room, day] |= minutes
            column, _ = Column.objects.get_or_create(week=own[room], day=day, kind=regular)
            Block.objects.create(
                column=column, start=start * 15, end=(start + length) * 15, activity=activities[activity]
            )
            if activity != "math":
                free.setdefault((room, day), set()).update(minutes)
        week = team_week(Team.objects.select_related("year__school").get(year=year), make.FIRST_DAY, [], shortest)
        for day in ("mon", "tue", "wed"):
            both = [minute for minute in range(1440) if all(minute in free.get((r, day), ()) for r in own)]
            rows: list[list[int]] = []
            for minute in both:
                if rows and rows[-1][-1] == minute - 1:
                    rows[-1].append(minute)
                else:
                    rows.append([minute])
            wanted = [(row[0], len(row)) for row in rows if len(row) >= shortest]
            assert [(band.start, band.length) for band in week.day((day, "regular")).bands] == wanted
        transaction.set_rollback(True)
