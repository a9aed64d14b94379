"""Two weeks side by side: the difference is whole and true, and the figures are those of each week alone."""

import datetime as dt
from dataclasses import replace

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from scheduling.access import week_for_editing
from scheduling.models import Block
from scheduling.selectors.beside import comparable
from scheduling.services import drafts
from scheduling.week_difference import Pair, Placed, applied, difference, pairs_of
from teamroom.members.models import DistrictRole
from tests import factories as make

PLACED = st.builds(
    lambda day, start, length, activity, needs, why: Placed(day, start, start + length, activity, (), needs, why),
    st.sampled_from(["mon", "tue"]),
    st.integers(480, 800),
    st.integers(5, 90),
    st.sampled_from(["reading", "math", "art"]),
    st.sampled_from([(), (("lab", 1),), (("lab", 2),)]),
    st.sampled_from(["", "Before recess"]),
)
WEEKS = st.lists(PLACED, max_size=8)


@given(WEEKS)
def test_a_week_does_not_differ_from_itself(week: list[Placed]) -> None:
    assert difference(week, week) == []


@given(WEEKS, WEEKS)
def test_the_difference_put_into_one_week_gives_the_other(here: list[Placed], there: list[Placed]) -> None:
    assert applied(difference(here, there), here) == sorted(there)


@given(WEEKS, WEEKS)
def test_each_block_stands_in_one_pair_and_no_pair_joins_two_days(here: list[Placed], there: list[Placed]) -> None:
    pairs = pairs_of(here, there)
    assert sorted(pair.here for pair in pairs if pair.here) == sorted(here)
    assert sorted(pair.there for pair in pairs if pair.there) == sorted(there)
    assert all(pair.here.day == pair.there.day for pair in pairs if pair.here and pair.there)


def test_a_block_meets_its_own_activity_before_what_took_its_time() -> None:
    math, art, later = Placed("mon", 600, 660, "math"), Placed("mon", 600, 660, "art"), Placed("mon", 700, 770, "math")
    assert pairs_of([math], [art, later]) == [Pair(None, art), Pair(math, later)] or pairs_of([math], [art, later]) == [
        Pair(math, later),
        Pair(None, art),
    ]
    assert Pair(math, later).longer == 10


def test_another_reason_is_a_difference_of_its_own_sort() -> None:
    block = Placed("mon", 600, 660, "math", why="Before recess")
    otherwise, needing = replace(block, why="All are awake"), replace(block, why="", needs=(("lab", 1),))
    assert Pair(block, otherwise).differs_in_reason_alone
    assert Pair(block, needing).differs and not Pair(block, needing).differs_in_reason_alone
    assert not Pair(block, block).differs_in_reason_alone and not Pair(None, block).differs_in_reason_alone


@pytest.mark.django_db
def test_two_weeks_stand_side_by_side_in_words_with_the_minutes_of_each(client: Client) -> None:
    room = make.make_classroom(make.make_year())
    make.make_rule(room.year, "science", {"pool": {"of": ["science"]}, "at_least": 90, "window": "week"})
    week, ana = make.make_week(room), make.make_teacher(room, "Ana")
    make.add(week, ana, ("mon", "10:00", "11:00", "science"), ("tue", "10:00", "10:45", "science"))
    with transaction.atomic():
        held = week_for_editing(ana, week.pk)
        draft = drafts.prepare_draft(held, starts=dt.date(2026, 10, 5), member=ana, name="Ana’s try")
    Block.objects.filter(column__week=draft, column__day="mon").update(start=610, end=640)
    client.force_login(ana)
    page = client.get(reverse("scheduling:week-compare", args=[week.pk, draft.pk])).content.decode()
    assert "moved 10 minutes later, shorter by 30" in page
    page = page.replace("\xa0", " ")
    assert "105 min of 90 min" in page and "75 min of 90 min" in page and "30 minutes less" in page
    assert "1 block of 2 differs" in page


@pytest.mark.django_db
def test_weeks_of_other_schools_do_not_stand_side_by_side(client: Client) -> None:
    room, far = (make.make_classroom(make.make_year(name)) for name in ("Fernhollow", "Elsewhere"))
    week, other, dita = make.make_week(room), make.make_week(far), make.make_member("Dita")
    DistrictRole.objects.create(member=dita)
    client.force_login(dita)
    assert client.get(reverse("scheduling:week-compare", args=[week.pk, week.pk])).status_code == 200
    assert client.get(reverse("scheduling:week-compare", args=[week.pk, other.pk])).status_code == 404
    assert comparable(week, week) and not comparable(week, other)
