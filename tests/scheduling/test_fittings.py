"""Weeks taken over, mended and made from nothing: what is asked, found, decided about and made a draft of."""

import datetime as dt
from dataclasses import replace

import pytest
from django.db import transaction
from django.utils import timezone

from scheduling.models import Block, BlockUse, Fitting, FixedStretch, Question, SharedResource, Week
from scheduling.refit.fitting import Stop
from scheduling.services import compliance, drafts, fittings, queue
from scheduling.services.block_writing import placing_of
from scheduling.services.fitting_work import made_ready, solve
from scheduling.services.proposed import beside_its_source, would_do
from scheduling.tasks import clear_old_fittings, do_fittings
from teamroom.common.clock import minutes_of
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import DayKind, SchoolYear
from teamroom.members.models import Classroom, Member
from tests import factories as make

# The pulse of a worker has a connection of its own, which sees what is committed alone.
pytestmark = pytest.mark.django_db(transaction=True)
DAYS = ("mon", "tue", "wed", "thu", "fri")
START = make.FIRST_DAY


@pytest.fixture
def year() -> SchoolYear:
    """Grade 4 has lunch at noon and recess at 10; grade 5 at 11:30, and its specials at 9."""
    year = make.make_year()
    lunch, art = year.activities.get(key="lunch"), year.activities.get(key="art")
    regular = year.day_kinds.get(key="regular")
    four = year.bell_schedules.get(grade="4", kind=regular)
    FixedStretch.objects.create(bell_schedule=four, activity=lunch, start=720, end=750)
    five = year.bell_schedules.create(grade="5", kind=regular, start=480, dismissal=870)
    FixedStretch.objects.create(bell_schedule=five, activity=lunch, start=690, end=720)
    FixedStretch.objects.create(bell_schedule=five, activity=art, start=540, end=580, days=["tue"])
    for grade in ("4", "5"):
        make.make_rule(year, f"math_{grade}", {"pool": {"of": ["math"]}, "at_least": 300}, (grade,), name="Mathematics")
        make.make_rule(year, f"science_{grade}", {"pool": {"of": ["science"]}, "at_least": 100}, (grade,))
    make.begin(year)
    year.refresh_from_db()
    return year


@pytest.fixture
def source(year: SchoolYear) -> Week:
    """A fourth grade's week that works: math 9:00, reading 10:00, science after lunch, three days with reasons."""
    room = make.make_classroom(year, "room21")
    week, teacher = make.make_week(room), make.make_teacher(room, "Tamsin")
    for day in DAYS:
        make.add(week, teacher, (day, "09:00", "10:00", "math"), (day, "10:00", "11:00", "reading"))
        make.add(week, teacher, (day, "12:30", "13:00", "science"))
    Block.objects.filter(column__week=week, activity__key="math").update(why="The aide is free until 10")
    return Week.objects.get(pk=week.pk)


@pytest.fixture
def target(year: SchoolYear) -> Classroom:
    return make.make_classroom(year, "room31", ("5",))


@pytest.fixture
def newcomer(target: Classroom) -> Member:
    return make.make_teacher(target, "Nuria")


def asked(target: Classroom, newcomer: Member, source: Week | None, kind: str = "take over", **more: object) -> Fitting:
    return fittings.ask(target, kind=kind, starts=START, member=newcomer, source=source, asked=more)


def fitted(*args: object, **more: object) -> Fitting:
    fitting = asked(*args, **more)  # type: ignore[arg-type]  # handed on
    do_fittings()
    fitting.refresh_from_db()
    assert fitting.state == "done", fitting.fault
    return fitting


def times(week: Week, activity: str) -> dict[str, list[tuple[int, int]]]:
    found: dict[str, list[tuple[int, int]]] = {}
    blocks = Block.objects.filter(column__week=week, activity__key=activity).order_by("column__day", "start")
    for day, start, end in blocks.values_list("column__day", "start", "end"):
        found.setdefault(day, []).append((start, end))
    return found


def test_a_week_taken_over_meets_the_rules_of_its_new_class_and_lies_outside_what_its_day_fixes(
    target: Classroom, newcomer: Member, source: Week
) -> None:
    fitting = fitted(target, newcomer, source)
    assert Week.objects.filter(classroom=target).count() == 0, "nothing is written before it is taken"
    draft = fittings.take(fitting, way=0, member=newcomer)
    assert draft.draft and draft.classroom == target
    assert all(start >= 580 or end <= 540 for start, end in times(draft, "math")["tue"]), "art is fixed at 9:00"
    drafts.put_in_effect(draft, seen=drafts.mark_of(draft), member=newcomer)
    assert set(target.readings.filter(part=None).values_list("status", flat=True)) == {"met"}


def test_nothing_of_the_source_changes(target: Classroom, newcomer: Member, source: Week) -> None:
    before = [placing_of(block) for block in Block.objects.filter(column__week=source).order_by("pk")]
    fittings.take(fitted(target, newcomer, source), way=0, member=newcomer)
    assert [placing_of(block) for block in Block.objects.filter(column__week=source).order_by("pk")] == before
    source.refresh_from_db()
    assert not Week.objects.filter(classroom=source.classroom).exclude(pk=source.pk).exists()


def test_reasons_come_along_marked_with_whose_they_are_and_keep_that_mark(
    target: Classroom, newcomer: Member, source: Week, year: SchoolYear
) -> None:
    draft = fittings.take(fitted(target, newcomer, source), way=0, member=newcomer)
    whys = set(Block.objects.filter(column__week=draft, activity__key="math").values_list("why", flat=True))
    assert whys == {"From Room21 2026-27: The aide is free until 10"}
    drafts.put_in_effect(draft, seen=drafts.mark_of(draft), member=newcomer)
    third = make.make_classroom(year, "room32", ("5",))
    again = fittings.take(fitted(third, make.make_teacher(third, "Ola"), draft), way=0, member=newcomer)
    assert set(Block.objects.filter(column__week=again, activity__key="math").values_list("why", flat=True)) == whys
    assert not Question.objects.exists()


def test_what_classes_share_is_never_wanted_while_another_class_has_it(
    target: Classroom, newcomer: Member, source: Week, year: SchoolYear
) -> None:
    lab = SharedResource.objects.create(year=year, key="lab", name="Science lab", capacity=1)
    for block in Block.objects.filter(column__week=source, activity__key="science"):
        BlockUse.objects.create(block=block, resource=lab, amount=1)
    make.begin(year)
    draft = fittings.take(fitted(Classroom.objects.get(pk=target.pk), newcomer, source), way=0, member=newcomer)
    taken, wanted = times(source, "science"), times(draft, "science")
    assert BlockUse.objects.filter(block__column__week=draft).count() == 5
    for day, spans in wanted.items():
        assert all(end <= s or start >= e for start, end in spans for s, e in taken[day]), day


def test_of_a_week_taken_over_in_part_the_rest_of_the_own_week_stays(
    target: Classroom, newcomer: Member, source: Week
) -> None:
    own = make.make_week(target)
    make.add(own, newcomer, ("mon", "08:00", "09:00", "reading"), ("tue", "08:00", "09:00", "pe"))
    fitting = fitted(Classroom.objects.get(pk=target.pk), newcomer, source, keep=["mon", "science"])
    draft = fittings.take(fitting, way=0, member=newcomer)
    assert set(times(draft, "math")) == {"mon"}
    assert set(times(draft, "science")) == set(DAYS)
    assert times(draft, "pe") == {"tue": [(480, 540)]}
    assert set(times(draft, "reading")) == {"mon"}, "Monday is the colleague's, wholly"


def test_the_rest_is_fitted_around_what_was_decided(target: Classroom, newcomer: Member, source: Week) -> None:
    fitting = fitted(target, newcomer, source)
    way = fitting.ways[0]
    tuesday = next(one for one in way["changes"] if one["now"] and "Tuesday" in one["said"] and "Math" in one["said"])
    again = fittings.ask_again(fitting, way=0, decided={tuesday["key"]: "stay"}, member=newcomer)
    do_fittings()
    again.refresh_from_db()
    kept = {change["key"]: change["now"] for change in again.ways[0]["changes"]}
    assert kept[tuesday["key"]] == tuesday["now"]
    with pytest.raises(RuleBroken, match="at least one change"):
        fittings.ask_again(fitting, way=0, decided={}, member=newcomer)


def test_what_was_decided_before_holds_on_until_it_is_let_go(target: Classroom, newcomer: Member, source: Week) -> None:
    fitting = fitted(target, newcomer, source)
    key = fitting.ways[0]["changes"][0]["key"]
    gone_back = {"1@fri:regular": [4, 540, 600]}
    Fitting.objects.filter(pk=fitting.pk).update(asked={**fitting.asked, "decided": gone_back})
    fitting.refresh_from_db()
    again = fittings.ask_again(fitting, way=0, decided={key: "stay"}, member=newcomer)
    assert set(again.asked["decided"]) == {key, *gone_back}, "what went back is no change any more, and stays back"
    do_fittings()
    again.refresh_from_db()
    let_go = fittings.ask_again(again, way=0, decided={key: ""}, member=newcomer)
    assert let_go.asked["decided"] == gone_back


def test_what_was_decided_and_cannot_be_is_said_and_nothing_is_made(
    target: Classroom, newcomer: Member, source: Week
) -> None:
    fitting = fitted(target, newcomer, source)
    tuesday = next(one for one in fitting.ways[0]["changes"] if "Tuesday" in one["said"] and "Math" in one["said"])
    again = fittings.ask_again(fitting, way=0, decided={tuesday["key"]: "back"}, member=newcomer)
    do_fittings()
    again.refresh_from_db()
    assert again.state == "refused" and "cannot all be so" in again.fault
    with pytest.raises(RuleBroken, match="not there any more"):
        fittings.take(again, way=0, member=newcomer)
    assert not Week.objects.filter(classroom=target).exists()


def test_a_week_of_last_year_is_taken_over_and_what_this_year_has_not_stays_behind(
    target: Classroom, newcomer: Member, year: SchoolYear
) -> None:
    last = make.make_year(named="2025-26", first_day=dt.date(2025, 9, 8), last_day=dt.date(2025, 10, 31))
    last.activities.create(key="chess", name="Chess")
    make.begin(last)
    last.refresh_from_db()
    room = make.make_classroom(last, "room21")
    week = make.make_week(room, dt.date(2025, 9, 8))
    make.add(
        week, make.make_teacher(room, "Pia"), ("mon", "09:00", "10:00", "math"), ("mon", "10:00", "10:30", "chess")
    )
    fitting = fitted(target, newcomer, Week.objects.get(pk=week.pk))
    draft = fittings.take(fitting, way=0, member=newcomer)
    assert fitting.asked["left_behind"] == ["Chess"]
    assert times(draft, "math").keys() == {"mon"}
    assert Block.objects.filter(column__week=draft).exclude(activity__year=year).count() == 0


def test_a_short_week_is_mended_in_different_ways_each_with_its_effect(year: SchoolYear, source: Week) -> None:
    Block.objects.filter(column__week=source, column__day="wed", activity__key="math").update(end=585)
    Block.objects.filter(column__week=source, column__day="wed", activity__key="math").update(why="as short as it gets")
    room, teacher = source.classroom, make.make_member("Lia")
    with transaction.atomic():
        compliance.recompute(make.begin(year), from_scratch=True)
    fitting = fitted(Classroom.objects.get(pk=room.pk), teacher, Week.objects.get(pk=source.pk), "mend")
    assert 1 <= len(fitting.ways) <= 5
    for number in range(len(fitting.ways)):
        told = would_do(fitting, number)
        assert [line.turn for line in told.rooms[0].lines if line.rule == "Mathematics"] == ["rights"]
    draft = fittings.take(fitting, way=0, member=teacher)
    touched = {tuple(change["was"] or ()) for change in fitting.ways[0]["changes"]}
    assert Block.objects.filter(column__week=draft, why="as short as it gets").exists()
    assert len(touched) == len(fitting.ways[0]["changes"]) <= 2


def test_a_week_that_is_short_of_nothing_has_no_mending_and_says_so(source: Week) -> None:
    fitting = asked(source.classroom, make.make_member("Lia"), source, "mend")
    do_fittings()
    fitting.refresh_from_db()
    assert fitting.state == "refused" and "nothing is short" in fitting.fault


def test_a_search_for_a_mending_that_is_stopped_does_not_say_that_nothing_is_short(
    source: Week, year: SchoolYear
) -> None:
    Block.objects.filter(column__week=source, column__day="wed", activity__key="math").delete()
    make.begin(year)
    room = Classroom.objects.get(pk=source.classroom_id)
    work = made_ready(asked(room, make.make_member("Lia"), Week.objects.get(pk=source.pk), "mend"))
    with pytest.raises(RuleBroken, match="You stopped the search"):
        solve(work, tell=lambda _: None, stop=Stop(asked=True))
    with pytest.raises(RuleBroken, match="found in the time there was"):
        solve(work, tell=lambda _: None, stop=Stop(), seconds=0)


def test_a_week_from_nothing_meets_the_rules_and_what_is_wished(
    target: Classroom, newcomer: Member, source: Week
) -> None:
    fitting = asked(
        target,
        newcomer,
        source,
        "draft",
        activities=["math", "science", "reading"],
        ends_by={"math": 720},
        at_a_stretch={"math": 45},
        together=["reading"],
    )
    do_fittings()
    fitting.refresh_from_db()
    assert fitting.state == "done", fitting.fault
    draft = fittings.take(fitting, way=0, member=newcomer)
    assert times(draft, "reading") == times(source, "reading")
    maths = times(draft, "math")
    assert sum(end - start for spans in maths.values() for start, end in spans) >= 300
    assert all(end <= 720 and end - start <= 45 for spans in maths.values() for start, end in spans)
    drafts.put_in_effect(draft, seen=drafts.mark_of(draft), member=newcomer)
    assert set(target.readings.filter(part=None).values_list("status", flat=True)) == {"met"}


def test_a_proposal_stands_beside_its_source_with_what_moved(target: Classroom, newcomer: Member, source: Week) -> None:
    told = beside_its_source(fitted(target, newcomer, source), 0)
    assert told is not None
    tuesday = next(day for day in told.days if day.title == "Tuesday")
    assert any("moved" in pair.how for pair in tuesday.pairs)
    assert told.by_first, "both by the rules of the class it is for"


def test_what_cannot_be_fitted_is_refused_before_anything_waits(
    year: SchoolYear, newcomer: Member, target: Classroom, source: Week
) -> None:
    six = make.make_classroom(year, "room61", ("6",))
    with pytest.raises(RuleBroken, match="no bell schedule"):
        asked(six, newcomer, source)
    with pytest.raises(RuleBroken, match="Nothing of what you chose"):
        asked(target, newcomer, source, keep=["pe"])
    with pytest.raises(RuleBroken):
        fittings.ask(target, kind="take over", starts=dt.date(2030, 1, 1), member=newcomer, source=source)
    assert not Fitting.objects.exists()


def test_a_day_with_no_room_at_all_leaves_everything_out_and_says_which_rules_collide(
    year: SchoolYear, target: Classroom, newcomer: Member, source: Week
) -> None:
    lunch = year.activities.get(key="lunch")
    for bell in year.bell_schedules.filter(grade="5"):
        bell.fixed.all().delete()
        FixedStretch.objects.create(bell_schedule=bell, activity=lunch, start=480, end=870)
    make.begin(year)
    fitting = fitted(Classroom.objects.get(pk=target.pk), newcomer, source)
    assert fitting.ways[0]["blocks"] == [] and fitting.ways[0]["dropped"] == 15
    assert fitting.asked["lacking"]


def test_a_source_with_overlapping_blocks_of_other_bells_is_fitted_all_the_same(
    year: SchoolYear, target: Classroom, newcomer: Member, source: Week
) -> None:
    """Blocks over lunch and past the end of the day."""
    Block.objects.filter(column__week=source, activity__key="science").update(start=minutes_of("11:20"), end=700)
    Block.objects.filter(column__week=source, activity__key="reading", column__day="fri").update(start=860, end=920)
    fitting = fitted(target, newcomer, Week.objects.get(pk=source.pk))
    draft = fittings.take(fitting, way=0, member=newcomer)
    assert all(
        end <= 870 and (end <= 690 or start >= 720) for s in times(draft, "science").values() for start, end in s
    )


def test_one_who_asks_to_stop_gets_the_best_so_far_and_one_that_waits_is_over_at_once(
    target: Classroom, newcomer: Member, source: Week
) -> None:
    waiting = asked(target, newcomer, source)
    fittings.stop(waiting)
    do_fittings()
    waiting.refresh_from_db()
    assert (waiting.state, waiting.fault) == ("refused", "It was stopped before it began.")
    fitting = asked(target, newcomer, source)
    claimed = fittings.claim()
    assert claimed is not None and claimed.pk == fitting.pk
    fittings.stop(fitting)
    assert Fitting.objects.get(pk=fitting.pk).stop_asked
    done = fittings.do(claimed)
    assert done.state in ("done", "refused") and done.finished_at is not None


def test_a_fitting_whose_worker_was_lost_is_taken_up_again_and_not_for_ever(
    target: Classroom, newcomer: Member, source: Week
) -> None:
    fitting = asked(target, newcomer, source)
    lost = fittings.claim()
    assert lost is not None and fittings.claim() is None
    Fitting.objects.update(heard_at=timezone.now() - 2 * queue.GIVEN_UP)
    do_fittings()
    fitting.refresh_from_db()
    assert (fitting.state, fitting.taken) == ("done", 2)
    with pytest.raises(queue.TakenOver):
        fittings.do(lost)
    Fitting.objects.update(state="working", taken=queue.MOST_TAKINGS, heard_at=timezone.now() - 2 * queue.GIVEN_UP)
    do_fittings()
    fitting.refresh_from_db()
    assert fitting.state == "refused" and "broke off" in fitting.fault


def test_what_is_no_more_when_it_is_taken_is_said_and_nothing_is_half_written(
    year: SchoolYear, target: Classroom, newcomer: Member, source: Week
) -> None:
    fitting = fitted(target, newcomer, source)
    way = fitting.ways[0]
    way["blocks"][-1]["activity"] = "chess"
    fitting.save()
    with pytest.raises(RuleBroken, match="no “chess” any more"):
        fittings.take(fitting, way=0, member=newcomer)
    assert not Week.objects.filter(classroom=target).exists()
    assert DayKind.objects.filter(year=year).count() == 2


def test_fittings_go_after_a_week(target: Classroom, newcomer: Member, source: Week) -> None:
    fitted(target, newcomer, source)
    clear_old_fittings()
    assert Fitting.objects.count() == 1
    Fitting.objects.update(asked_at=timezone.now() - dt.timedelta(days=8))
    clear_old_fittings()
    assert Fitting.objects.count() == 0


def test_a_mark_of_whose_a_reason_is_stands_once(source: Week) -> None:
    said = fittings.of_whom("near the lab", source.classroom)
    assert said == "From Room21 2026-27: near the lab"
    assert fittings.of_whom(said, source.classroom) == said
    assert fittings.of_whom("", source.classroom) == ""
    assert replace(placing_of(Block.objects.filter(column__week=source).earliest("pk")), why=said).why == said
