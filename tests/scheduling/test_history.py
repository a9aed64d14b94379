"""The history of a week: everybody's changes in words, a part of them, page by page, and why."""

import datetime as dt
import re

import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from scheduling.access import block_for_editing, week_for_editing
from scheduling.models import Block, BlockUse, SharedResource, Week, WeekChange
from scheduling.selectors.history import A_PAGE, Asked, Entry, history_of, revision_on
from scheduling.services import undoing, weeks
from scheduling.services.block_writing import placing_of
from scheduling.services.change_reasons import say_why
from teamroom.common.errors import RuleBroken
from teamroom.common.live.models import Topic
from teamroom.members.models import Member
from tests import factories as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def week() -> Week:
    return make.make_week(make.make_classroom(make.make_year()))


@pytest.fixture
def ana(week: Week) -> Member:
    return make.make_teacher(week.classroom, "Ana")


@pytest.fixture
def ben(week: Week) -> Member:
    return make.make_teacher(week.classroom, "Ben")


@transaction.atomic
def change(member: Member, activity: str, reason: str = "", **changed: object) -> None:
    held = block_for_editing(member, Block.objects.get(activity__key=activity).pk)
    placing = placing_of(held, **changed)
    weeks.change_block(held, member=member, revision=held.revision, placing=placing, reason=reason)


@transaction.atomic
def undo(week: Week, member: Member, deed: str = "undo") -> None:
    getattr(undoing, deed)(week_for_editing(member, week.pk), member=member)


def shown(week: Week, reader: Member, **asked: int) -> list[Entry]:
    week.refresh_from_db()
    return list(history_of(week, Asked(**asked), reader=reader).entries)


def said(week: Week, reader: Member, **asked: int) -> list[str]:
    return [entry.said for entry in shown(week, reader, **asked)]


def page(week: Week, member: Member, query: str = "") -> str:
    client = Client()
    client.force_login(member)
    answer = client.get(reverse("scheduling:week-history", args=[week.pk]) + query)
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", answer.content.decode())


def test_changes_are_told_newest_first_with_who_and_what_differs(week: Week, ana: Member, ben: Member) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    change(ben, "math", "The aide comes at 9", start=540, end=600, why="with the aide")
    latest, first = shown(week, ana)
    assert (latest.who, latest.said, latest.reason) == ("Ben", "Math moved to Mon 9:00.", "The aide comes at 9")
    assert [(one.what, one.before, one.after) for one in latest.differences] == [
        ("Time", "8:00–9:00", "9:00–10:00"),
        ("Why here", "none", "with the aide"),
    ]
    assert (first.who, first.said, first.mine, latest.mine) == ("Ana", "Math added on Mon 8:00–9:00.", True, False)


def test_credits_and_what_is_shared_are_told_by_name(week: Week, ana: Member) -> None:
    lab = SharedResource.objects.create(year=week.classroom.year, key="lab", name="Science lab")
    make.begin(week.classroom.year)
    make.add(week, ana, ("mon", "08:00", "09:00", "science"))
    ids = dict(week.classroom.year.activities.values_list("key", "pk"))
    change(ana, "science", credits=((ids["science"], 40), (ids["reading"], 20)), uses=((lab.pk, 1),))
    assert BlockUse.objects.exists()
    (latest, _) = shown(week, ana)
    assert [(one.what, one.after) for one in latest.differences] == [
        ("Credits", "Science 40 and Reading 20"),
        ("Needs", "Science lab"),
    ]


def test_what_is_undone_says_by_whom_and_a_redoing_stands_again(week: Week, ana: Member) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    undo(week, ana)
    assert said(week, ana) == ["Undid: Math added on Mon 8:00–9:00.", "Math added on Mon 8:00–9:00."]
    assert shown(week, ana)[1].undone.startswith("Undone by Ana, ")
    undo(week, ana, "redo")
    assert said(week, ana)[0] == "Did again: Math added on Mon 8:00–9:00."
    assert [entry.undone for entry in shown(week, ana)] == ["", "", ""]
    undo(week, ana)
    assert said(week, ana)[0] == "Undid: Math added on Mon 8:00–9:00."
    assert shown(week, ana)[3].undone.startswith("Undone by Ana, ")


def test_times_are_the_schools_own(week: Week, ana: Member) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    # Half past two at night in UTC is the evening before in Chicago.
    WeekChange.objects.update(made_at=dt.datetime(2026, 10, 7, 2, 30, tzinfo=dt.UTC))
    (entry,) = shown(week, ana)
    assert (entry.day, entry.clock) == ("Tue 6 Oct 2026", "9:30 pm")
    assert (revision_on(week, dt.date(2026, 10, 5)), revision_on(week, dt.date(2026, 10, 6))) == (1, 2)


def test_a_part_is_of_one_block_or_one_person(week: Week, ana: Member, ben: Member) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"), ("mon", "09:00", "10:00", "art"))
    change(ben, "math", end=530)
    block = Block.objects.get(activity__key="math")
    assert said(week, ana, block=block.pk) == [
        "Math on Mon is now 50 minutes, 8:00–8:50.",
        "Math added on Mon 8:00–9:00.",
    ]
    assert said(week, ana, by=ben.pk) == ["Math on Mon is now 50 minutes, 8:00–8:50."]
    shows = page(week, ana, f"?block={block.pk}")
    assert "Only what changed <b>Math, Mon 8:00–8:50</b>" in shows
    assert "Art" not in shows
    assert "Show everything" in page(week, ana, f"?by={ben.pk}")


@pytest.mark.parametrize("query", ["?by=x&block=-1&before=abc", "?block=99999999999999", "?before=0", "?by=0"])
def test_what_is_asked_wrongly_asks_for_nothing_in_particular(week: Week, ana: Member, query: str) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    assert "Math added" in page(week, ana, query)


def test_a_block_that_never_was_has_an_empty_history_with_a_way_back(week: Week, ana: Member) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    shows = page(week, ana, "?block=123456")
    assert "Nothing was changed there" in shows and "Show everything" in shows


def test_a_week_without_a_change_leads_back_to_it(week: Week, ana: Member) -> None:
    assert "Nothing was changed yet" in page(week, ana)


def grown(week: Week, ana: Member, count: int) -> None:
    WeekChange.objects.bulk_create(
        WeekChange(
            week=week,
            revision=revision,
            member=ana,
            deed="change",
            summary="x",
            before=[kept := _kept(revision)],
            after=[{**kept, "end": 600}],
        )
        for revision in range(week.revision + 1, week.revision + 1 + count)
    )
    Week.objects.filter(pk=week.pk).update(revision=week.revision + count)
    week.refresh_from_db()


def _kept(block: int) -> dict[str, object]:
    where = {"block": block, "day": "mon", "kind": "regular", "start": 540, "end": 590}
    return {**where, "activity": "math", "credits": [], "why": ""}


def test_a_long_history_is_read_page_by_page_and_none_is_left_out(week: Week, ana: Member) -> None:
    grown(week, ana, 2 * A_PAGE + 3)
    seen: list[int] = []
    before = None
    for _ in range(3):
        found = history_of(week, Asked(before=before), reader=ana)
        seen += [entry.revision for entry in found.entries]
        before = found.older
    assert before is None
    assert seen == list(range(2 * A_PAGE + 4, 1, -1))
    assert "Older" in page(week, ana) and "Back to the newest" in page(week, ana, "?before=20")


def test_a_long_history_takes_no_more_queries_than_a_short_one(week: Week, ana: Member, ben: Member) -> None:
    def asked() -> int:
        page(week, ana)
        with CaptureQueriesContext(connection) as queries:
            page(week, ana)
        return len(queries)

    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    change(ben, "math", end=550)
    undo(week, ben)
    few = asked()
    for _ in range(6):
        undo(week, ben, "redo")
        undo(week, ben)
    assert asked() == few
    week.refresh_from_db()
    grown(week, ana, 25)
    # One more fetches what undoings beyond the page took back.
    assert asked() == few + 1
    grown(week, ana, 25)
    assert asked() <= few + 1


def test_a_reason_is_said_later_shown_and_told_to_others(week: Week, ana: Member, client: Client) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    edit = WeekChange.objects.get()
    client.force_login(ana)
    url = reverse("scheduling:change-reason", args=[edit.pk])
    assert "Never the name of a pupil." in client.get(url).content.decode()
    before = Topic.objects.get(name=f"classroom-{week.classroom_id}").edition
    answer = client.post(url, {"reason": "  Fresh heads  "})
    assert answer.status_code == 302
    assert "Why: Fresh heads" in page(week, ana)
    assert Topic.objects.get(name=f"classroom-{week.classroom_id}").edition == before + 1
    assert client.post(url, {"reason": "Fresher"}, headers={"HX-Request": "true"})["HX-Retarget"] == "#said"
    client.post(url, {"reason": ""})
    edit.refresh_from_db()
    assert edit.reason == ""


def test_a_reason_as_long_as_a_book_is_refused_where_it_was_typed(week: Week, ana: Member, client: Client) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    client.force_login(ana)
    url = reverse("scheduling:change-reason", args=[WeekChange.objects.get().pk])
    answer = client.post(url, {"reason": "x" * 10_001})
    assert answer.status_code == 422 and "10,000 letters or fewer" in answer.content.decode()
    with pytest.raises(RuleBroken) as refused:
        say_why(WeekChange.objects.get(), "x" * 10_001)
    assert refused.value.field == "reason"


def test_the_week_leads_to_its_history_and_offers_to_say_why(week: Week, ana: Member, client: Client) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    client.force_login(ana)
    shows = client.get(reverse("scheduling:week", args=[week.classroom_id])).content.decode()
    assert reverse("scheduling:week-history", args=[week.pk]) in shows
    assert reverse("scheduling:change-reason", args=[WeekChange.objects.get().pk]) in shows


def test_a_reader_sees_the_history_and_no_way_to_put_anything_back(week: Week, ana: Member) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    shows = page(week, make.make_teammate(week.classroom.team, "Gus", role="guest"))
    assert "Math added" in shows
    assert "/restore/" not in shows and "/reason/" not in shows


def test_the_moment_of_a_change_is_now(week: Week, ana: Member) -> None:
    make.add(week, ana, ("mon", "08:00", "09:00", "math"))
    (entry,) = shown(week, ana)
    assert abs(timezone.now() - entry.at) < dt.timedelta(minutes=1)
