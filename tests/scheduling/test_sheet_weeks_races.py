"""Spreadsheets sent at the same moment: names of one school, and a button pressed twice."""

import datetime as dt
from collections.abc import Callable, Sequence
from contextlib import suppress

import pytest
from django.db import transaction
from django.http import Http404

from scheduling import access
from scheduling.models import SentSheet, Week, WrittenName
from scheduling.services import sheet_weeks
from scheduling.spreadsheets.reading import read_file
from teamroom.members.models import Classroom, Member
from tests import factories as make
from tests.at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)
ROUNDS = 5
READ = read_file(b"Day,Time,Class\nMon,8:15-9:00,Math\n")


def sent_for(classroom: Classroom, member: Member) -> SentSheet:
    return sheet_weeks.keep_sent(classroom, READ, member=member, file_name="week.csv")


def makes(member: Member, sent: SentSheet, names: Sequence[str], key: str) -> Callable[[], None]:
    """What the page's button does with a sheet, its names in the order given."""

    def deed() -> None:
        with suppress(Http404), transaction.atomic():
            room = access.classroom_for_editing(member, sent.classroom_id)
            held = access.sent_sheet(member, room, sent.pk)
            held.classroom = room
            placings = [make.placing(room.year, "mon", "08:15", "09:00", "math")]
            told = sheet_weeks.SheetWeek(placings, dict.fromkeys(names, key))
            sheet_weeks.draft_from_sheet(held, told, starts=dt.date(2026, 10, 5), member=member)

    return deed


def test_two_who_name_the_same_words_of_a_school_at_once_both_get_their_draft() -> None:
    year = make.make_year()
    rooms = [make.make_classroom(year, key) for key in ("room12", "room13")]
    people = [make.make_teacher(room, name) for room, name in zip(rooms, ("Ana", "Ben"), strict=True)]
    words = [f"word {n}" for n in range(200)]
    for _ in range(ROUNDS):
        Week.objects.all().delete()
        WrittenName.objects.all().delete()
        first, second = (sent_for(room, member) for room, member in zip(rooms, people, strict=True))
        refused = at_once(
            makes(people[0], first, words, "math"),
            makes(people[1], second, words[::-1], "art"),
        )
        assert refused == []
        assert Week.objects.filter(draft=True).count() == 2
        assert WrittenName.objects.count() == len(words)
        assert len(set(WrittenName.objects.values_list("activity", flat=True))) == 1, "one of the two has the last word"


def test_a_button_pressed_twice_makes_one_draft() -> None:
    room = make.make_classroom(make.make_year())
    ana = make.make_teacher(room, "Ana")
    for _ in range(ROUNDS):
        Week.objects.all().delete()
        sent = sent_for(room, ana)
        assert at_once(makes(ana, sent, [], ""), makes(ana, sent, [], "")) == []
        assert Week.objects.count() == 1
        assert not SentSheet.objects.exists()
