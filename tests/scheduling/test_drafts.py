"""Drafts: they count for nothing, go in effect by one act as it was shown, and come out again with all they hold."""

import datetime as dt
from threading import Barrier, Thread

import pytest
from django.db import connection, transaction
from django.test import Client
from django.urls import reverse

from scheduling.access import week_for_editing, week_for_form
from scheduling.models import Block, Reading, Week
from scheduling.selectors.bell_clashes import blocks_in_the_way
from scheduling.selectors.home_page import _readable
from scheduling.selectors.week_sheet import chosen_week, version_said, weeks_of
from scheduling.services import drafts, week_versions
from scheduling.services.compliance import recompute
from scheduling.services.restoring import records
from scheduling.services.undoing import last_to_undo
from scheduling.services.year_setup import _move_weeks
from scheduling.week_replay import replayed
from teamroom.common.errors import RuleBroken, Stale
from teamroom.members.models import Member
from teamroom.setup.steps import _places
from tests import factories as make

SCIENCE = {"pool": {"of": ["science"]}, "at_least": 90, "window": "week"}
LATER = dt.date(2026, 10, 5)

pytestmark = pytest.mark.django_db


@pytest.fixture
def week() -> Week:
    classroom = make.make_classroom(make.make_year())
    make.make_rule(classroom.year, "science", SCIENCE, name="Science in the week")
    return make.make_week(classroom)


@pytest.fixture
def ana(week: Week) -> Member:
    member = make.make_teacher(week.classroom, "Ana")
    make.add(week, member, ("mon", "10:00", "11:00", "science"), ("tue", "10:00", "10:45", "science"))
    return member


@transaction.atomic
def draft_of(week: Week, member: Member, name: str = "", starts: dt.date = LATER) -> Week:
    return drafts.prepare_draft(week_for_editing(member, week.pk), starts=starts, member=member, name=name)


@transaction.atomic
def put(draft: Week, member: Member, *, seen: str | None = None, replace: bool = False) -> Week:
    held = week_for_editing(member, draft.pk)
    drafts.put_in_effect(held, seen=drafts.mark_of(held) if seen is None else seen, member=member, replace=replace)
    return held


@transaction.atomic
def take_out(week: Week, member: Member) -> None:
    drafts.take_out(week_for_editing(member, week.pk), member=member)


def emptied(draft: Week) -> Week:
    """A draft without its Monday, which falls short of the rule."""
    Block.objects.filter(column__week=draft, column__day="mon").delete()
    return draft


def status() -> str:
    return Reading.objects.get(rule__key="science", part=None).status


def figures() -> list[tuple[object, ...]]:
    return list(Reading.objects.order_by("rule", "grade", "part").values_list("status", "planned", "margin"))


def assert_readings_hold(week: Week) -> None:
    """The readings are what a computation from nothing gives."""
    was = figures()
    with transaction.atomic():
        recompute(week.classroom.year, from_scratch=True)
    assert figures() == was


def test_a_draft_counts_for_nothing_however_short_it_falls(week: Week, ana: Member) -> None:
    was = figures()
    draft = emptied(draft_of(week, ana, "Ana’s try"))
    assert_readings_hold(week)
    assert figures() == was and status() == "met"
    assert (draft.draft, draft.draft_name, draft.drafted_by) == (True, "Ana’s try", ana)


def test_several_drafts_stand_for_one_date_and_are_told_apart(week: Week, ana: Member) -> None:
    said = [version_said(draft_of(week, ana, name)) for name in ("Ana’s try", "")]
    assert said == ["Draft from Mon 5 Oct 2026: Ana’s try", "Draft from Mon 5 Oct 2026: by Ana"]


def test_what_would_be_is_what_then_is(week: Week, ana: Member) -> None:
    draft = emptied(draft_of(week, ana))
    would = sorted((one.part is None, one.status, one.planned) for one in drafts.would_be(draft))
    assert status() == "met"
    put(draft, ana)
    assert would == sorted((one.part is None, one.status, one.planned) for one in Reading.objects.all())
    assert status() == "short"
    assert_readings_hold(week)


def test_the_effect_is_shown_and_nothing_is_done(week: Week, ana: Member) -> None:
    draft = emptied(draft_of(week, ana))
    was = figures()
    preview = drafts.effect_of(week_for_form(ana, draft.pk), member=ana)
    assert [change.after.status for change in preview.changes if change.after and change.row.part is None] == ["short"]
    draft.refresh_from_db()
    assert draft.draft and figures() == was


def test_out_of_effect_a_week_is_a_draft_with_its_history_and_minutes_are_as_before(week: Week, ana: Member) -> None:
    was = figures()
    draft = emptied(draft_of(week, ana, "Ana’s try"))
    put(draft, ana)
    records = draft.changes.count()
    take_out(draft, ana)
    draft.refresh_from_db()
    assert (draft.draft, draft.draft_name, draft.changes.count()) == (True, "Ana’s try", records + 1)
    assert figures() == was


def test_the_history_says_who_put_it_in_effect_took_it_out_and_dated_it_and_none_of_it_is_theirs_to_undo(
    client: Client, week: Week, ana: Member
) -> None:
    draft = put(draft_of(week, ana), ana)
    with transaction.atomic():
        week_versions.move_start(week_for_editing(ana, draft.pk), starts=dt.date(2026, 10, 12), member=ana)
    take_out(draft, ana)
    client.force_login(ana)
    told = client.get(f"/weeks/{draft.pk}/history/").text
    said = ["Taken out of effect, which it was from", "Given another date:", "Put in effect from"]
    assert [told.index(one) for one in said] == sorted(told.index(one) for one in said)
    assert told.count("Ana") >= 3
    held = Week.objects.get(pk=draft.pk)
    assert last_to_undo(held, ana) is None
    assert replayed(records(held, held.revision)) == replayed(records(held, 1))


def test_a_version_from_the_same_date_is_kept_as_a_draft_when_replaced(week: Week, ana: Member) -> None:
    first, second = draft_of(week, ana), draft_of(week, ana)
    put(first, ana)
    with pytest.raises(RuleBroken, match="starts on that date"):
        put(second, ana)
    put(second, ana, replace=True)
    first.refresh_from_db()
    assert first.draft and Week.objects.get(starts=LATER, draft=False) == second
    assert first.columns.count() == second.columns.count() == 2


@pytest.mark.parametrize("which", ["draft", "in effect"])
def test_what_changed_since_it_was_shown_refuses(week: Week, ana: Member, which: str) -> None:
    draft = draft_of(week, ana)
    seen = drafts.mark_of(week_for_form(ana, draft.pk))
    make.add(draft if which == "draft" else week, ana, ("wed", "10:00", "10:30", "art"))
    with pytest.raises(Stale):
        put(draft, ana, seen=seen)
    draft.refresh_from_db()
    assert draft.draft


def test_only_a_draft_is_dropped(week: Week, ana: Member) -> None:
    draft = draft_of(week, ana)
    pk = draft.pk
    with pytest.raises(RuleBroken, match="out of effect"), transaction.atomic():
        drafts.throw_away(week)
    drafts.throw_away(draft)
    assert not Week.objects.filter(pk=pk).exists()


def test_a_draft_moves_onto_a_date_that_is_taken_and_touches_no_reading(week: Week, ana: Member) -> None:
    draft = draft_of(week, ana)
    with transaction.atomic():
        changes = week_versions.move_start(week_for_editing(ana, draft.pk), starts=week.starts, member=ana)
    assert not changes
    with pytest.raises(RuleBroken):
        week_versions.move_start(draft, starts=dt.date(2030, 1, 1), member=ana)


def test_the_week_page_shows_the_version_in_effect_and_a_draft_only_when_asked(week: Week, ana: Member) -> None:
    draft = draft_of(week, ana, starts=week.starts)
    versions = weeks_of(week.classroom)
    assert chosen_week(versions, "", dt.date(2026, 12, 1)) == week
    assert chosen_week(versions, str(draft.pk), dt.date(2026, 12, 1)) == draft


def test_a_classroom_with_drafts_alone_has_no_week_yet(week: Week, ana: Member) -> None:
    take_out(week, ana)
    year = week.classroom.year
    assert [vars(room)["has_week"] for room in _readable(ana, [year], whole=True)] == [False]
    assert [vars(room)["has_week"] for room in _places(year).rooms] == [False]


def test_a_drafts_blocks_are_in_no_bells_way(week: Week, ana: Member) -> None:
    draft = draft_of(week, ana)
    make.add(draft, ana, ("wed", "15:00", "16:00", "art"))
    year = week.classroom.year
    assert blocks_in_the_way(year, ["4"], [year.day_kinds.get(key="regular").pk]).blocks == 0
    put(draft, ana)
    assert blocks_in_the_way(year, ["4"], [year.day_kinds.get(key="regular").pk]).blocks == 1


def test_a_draft_outside_a_years_new_dates_moves_to_the_nearest_within(week: Week, ana: Member) -> None:
    early, late = draft_of(week, ana, starts=week.starts), draft_of(week, ana, starts=dt.date(2026, 10, 30))
    first, last = dt.date(2026, 9, 14), dt.date(2026, 10, 16)
    _move_weeks(week.classroom.year, first, last)
    assert list(Week.objects.filter(pk__in=[early.pk, late.pk]).order_by("pk").values_list("starts", flat=True)) == [
        first,
        last,
    ]


@pytest.mark.django_db(transaction=True)
def test_of_two_who_put_drafts_in_effect_for_one_date_at_once_one_wins_and_the_other_is_told(
    week: Week, ana: Member
) -> None:
    both = [draft_of(week, ana, str(n)) for n in range(2)]
    seen = [drafts.mark_of(week_for_form(ana, draft.pk)) for draft in both]
    ready, told = Barrier(2), []

    def go(draft: Week, mark: str) -> None:
        try:
            ready.wait(10)
            put(draft, ana, seen=mark)
            told.append("done")
        except (Stale, RuleBroken) as refused:
            told.append(type(refused).__name__)
        finally:
            connection.close()

    threads = [Thread(target=go, args=pair) for pair in zip(both, seen, strict=True)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(20)
    assert sorted(told) == ["Stale", "done"]
    assert Week.objects.filter(starts=LATER, draft=False).count() == 1
    assert_readings_hold(week)


def test_prepared_edited_and_put_in_effect_through_the_pages(client: Client, week: Week, ana: Member) -> None:
    client.force_login(ana)
    start = reverse("scheduling:week-start", args=[week.pk])
    assert client.post(start, {"starts": "2026-10-05", "how": "draft", "name": "Ana’s try"}).status_code == 302
    draft = Week.objects.get(draft=True)
    page = client.get(reverse("scheduling:week", args=[week.classroom_id]), {"week": draft.pk}).content.decode()
    assert "Ana’s try" in page and "counts for nothing yet" in page and "If this draft were in effect" in page
    emptied(draft)
    url = reverse("scheduling:week-put-in-effect", args=[draft.pk])
    page = client.get(url).content.decode()
    assert "a rule falls short" in page
    seen = drafts.mark_of(week_for_form(ana, draft.pk))
    assert client.post(url, {"seen": "0" * 32}).status_code == 409
    assert client.post(url, {"seen": seen}).status_code == 302
    assert status() == "short"
    assert client.post(reverse("scheduling:week-drop", args=[draft.pk])).status_code == 422
    assert client.post(reverse("scheduling:week-take-out", args=[draft.pk])).status_code == 302
    assert client.post(reverse("scheduling:week-drop", args=[draft.pk])).status_code == 302
    assert status() == "met" and Week.objects.get() == week


def test_a_past_date_is_cautioned_and_a_taken_one_offers_two_ways(client: Client, week: Week, ana: Member) -> None:
    client.force_login(ana)
    draft = draft_of(week, ana, starts=week.starts)
    page = client.get(reverse("scheduling:week-put-in-effect", args=[draft.pk])).content.decode()
    assert "give the draft another date" in page and "which becomes a draft" in page
