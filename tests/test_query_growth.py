"""No page asks the database more often where there is more to show: every page of the access table, twice."""

import datetime as dt

import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scheduling.access import week_for_editing
from scheduling.models import Activity, BellSchedule, FixedStretch, SharedResource, SpecialistPost, Week
from scheduling.services import day_changes, drafts, weeks
from scheduling.services.compliance import recompute
from teamroom.common.clock import written_clock
from teamroom.dates.models import Closure, DayKind, SchoolYear
from teamroom.members.models import Letter
from tests import factories as make
from tests.access_rows.world import PEOPLE, World, make_world
from tests.members.letting_in import invited_to
from tests.test_access_table import ADDRESSES, PARTS, TABLE

FEW, MANY = 2, 20
LISTS = {
    "home",
    "scheduling:activity",
    "members:letters",
    "members:people",
    "members:teams",
    "scheduling:activities",
    "scheduling:bells",
    "scheduling:closures",
    "scheduling:day-kinds",
    "scheduling:rules",
    "scheduling:specialists",
    "scheduling:fitting",
    "scheduling:fitting-way",
    "scheduling:from-nothing",
    "scheduling:take-over",
    "scheduling:week-against",
    "scheduling:week-beside",
    "scheduling:week-compare",
}
PAGES = sorted(name for name, method in TABLE if method == "GET" and not name.startswith("openid"))


def who_sees(name: str) -> str | None:
    answers = dict(zip(PEOPLE, TABLE[name, "GET"], strict=True))
    return next((person for person in ("administrator", "district", "own") if answers[person] == 200), None)


def grown(world: World, first: int, last: int) -> None:
    """More of everything a year and a district hold: rows number `first` up to `last`."""
    year = SchoolYear.objects.get(pk=world.ids["year"])
    choir = year.activities.get(pk=world.ids["activity"])
    for n in range(first, last):
        activity = Activity.objects.create(year=year, key=f"activity{n}", name=f"Activity {n}")
        kind = DayKind.objects.create(year=year, key=f"kind{n}", name=f"Kind {n}")
        room = make.make_classroom(year, f"more{n}", (f"G{n}",))
        make.make_classroom(year, f"also{n}", ("4",))
        teacher = make.make_teacher(room, f"Teacher{n}")
        make.make_teammate(world.classroom.team, f"Mate{n}", ("lead", "teacher", "guest")[n % 3])
        make.make_coordinator(year.school, f"Coordinator{n}", ("administrator", "coordinator")[n % 2])
        bell = BellSchedule.objects.create(year=year, grade=f"G{n}", kind=kind, start=480, dismissal=870)
        FixedStretch.objects.create(bell_schedule=bell, activity=activity, start=720, end=750)
        FixedStretch.objects.create(bell_schedule=bell, activity=choir, start=600, end=620, days=["mon"])
        make.begin(year)
        make.add(
            make.make_week(room), teacher, ("mon", "08:00", "09:00", "choir"), ("tue", "08:00", "09:00", f"activity{n}")
        )
        SpecialistPost.objects.create(year=year, member=teacher, activity=activity)
        make.make_rule(
            year, f"rule{n}", {"pool": {"of": ["choir", f"activity{n}"]}, "at_least": 30}, grades=("4", f"G{n}")
        )
        make.add(make.make_week(make.make_classroom(year, f"main{n}")), make.make_member(f"Nobody{n}"))
        day = make.FIRST_DAY + dt.timedelta(days=n + 1)
        day_changes.place(year, day_changes.Happening(day, f"Assembly {n}", start=800 + n, end=801 + n))
        Closure.objects.create(
            year=year,
            first_day=dt.date(2027, 1, 1) + dt.timedelta(n),
            last_day=dt.date(2027, 1, 1) + dt.timedelta(n),
            name="x",
        )
        invited_to(world.classroom.team, world.people["lead"], f"asked{n}@school.example")
        elsewhere = make.make_year(f"School {n}")
        make.make_classroom(elsewhere)
        Letter.objects.create(to=f"asked{n}@school.example", subject=f"Letter {n}")
    for week in Week.objects.filter(pk__in=[world.ids["week"], world.ids["beside"]]):
        fuller(week, world, first, last)
    recompute(make.begin(year))


def fuller(week: Week, world: World, first: int, last: int) -> None:
    """More blocks in a week, integrated, with a reason and a need, and more drafts of it."""
    own, year = world.people["administrator"], SchoolYear.objects.get(pk=world.ids["year"])
    for n in range(first, last):
        lab, _ = SharedResource.objects.get_or_create(year=year, key=f"lab{n}", defaults={"name": f"Lab {n}"})
        week.classroom.year = make.begin(year)
        placing = make.placing(
            year,
            "tue",
            written_clock(480 + 15 * n),
            written_clock(490 + 15 * n),
            "art",
            credits={"math": 4, f"activity{n}": 3 + n % 3},
            why=f"Reason {n} of {week.pk}",
            uses=((lab.pk, 1),),
        )
        with transaction.atomic():
            held = week_for_editing(own, week.pk)
            weeks.add_block(held, member=own, placing=placing)
            drafts.prepare_draft(held, starts=make.FIRST_DAY + dt.timedelta(n), member=own, name=f"Try {n}")


def measured(world: World) -> dict[str, tuple[int, int]]:
    """How many queries each page takes and how long it is.

    It is asked for the second time: what a process keeps is kept then.
    """
    found = {}
    for name in PAGES:
        person = who_sees(name)
        if person is None:
            continue
        client = Client()
        client.force_login(world.people[person])
        path = reverse(name, args=[world.ids[key] for key in ADDRESSES.get(name, ())])
        client.get(path)
        with CaptureQueriesContext(connection) as queries:
            response = client.get(path)
        assert response.status_code == 200, name
        found[name] = len(queries), len(b"".join(response))
    return found


@pytest.mark.django_db
def test_no_page_asks_more_often_for_more_rows() -> None:
    world = make_world()
    for part in PARTS:
        if hasattr(part, "prepare"):
            part.prepare(world)
    grown(world, 0, FEW)
    few = measured(world)
    grown(world, FEW, MANY)
    many = measured(world)
    longer = {name for name in few if many[name][1] > 1.5 * few[name][1]}
    assert longer >= LISTS, "these should show what there is more of"
    more = {name: (few[name][0], many[name][0]) for name in few if many[name][0] > few[name][0]}
    assert more == {}
