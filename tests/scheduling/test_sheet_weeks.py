"""A spreadsheet sent for a classroom's week: shown as understood, then a draft whole or nothing at all."""

import datetime as dt
import io
import re
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from openpyxl import Workbook

from scheduling import access
from scheduling.models import Block, Reading, SentSheet, Week, WeekChange, WrittenName
from scheduling.selectors.sheet_weeks import days_for, entries_of
from scheduling.selectors.year_words import year_words
from scheduling.services import sheet_weeks, weeks
from scheduling.spreadsheets.reading import read_file
from scheduling.spreadsheets.writing import KINDS, SHAPES, written
from scheduling.tasks import clear_sent_sheets
from teamroom.common.clock import written_clock
from teamroom.common.errors import RuleBroken
from teamroom.members.models import Classroom
from tests import factories as make
from tests.page_forms import read_page

pytestmark = pytest.mark.django_db
FILES = Path(__file__).parents[1] / "spreadsheets" / "files"
WEEK = "Day,Time,Class,Notes\nMon,8:15-9:00,math,the aide is here\nMon,1:05-1:45,Mathematics,\nTue,9:00-9:30,Duty,\n"


class Desk:
    """A teacher at a classroom's page for spreadsheets."""

    def __init__(self, classroom: Classroom, name: str = "Olive") -> None:
        self.classroom = classroom
        self.member = make.make_teacher(classroom, name)
        self.client = Client()
        self.client.force_login(self.member)
        self.url = reverse("scheduling:week-from-sheet", args=[classroom.pk])
        self.page: HttpResponse = HttpResponse()

    def send(self, data: str | bytes, name: str = "week.csv") -> "Desk":
        content = data.encode() if isinstance(data, str) else data
        self.page = self.client.post(self.url, {"file": SimpleUploadedFile(name, content)}, follow=True)  # type: ignore[assignment]  # the client's own kind of answer
        return self

    @property
    def sent(self) -> SentSheet:
        return SentSheet.objects.get(member=self.member)

    @property
    def look_url(self) -> str:
        return reverse("scheduling:week-sheet-look", args=[self.classroom.pk, self.sent.pk])

    @property
    def fields(self) -> dict[str, str]:
        """What the page's form would send as it stands."""
        form = next(form for form in read_page(self.page.text, self.look_url).forms if "seen" in form.controls)
        return {name: control.sent[0] for name, control in form.controls.items() if control.sent and name != "look"}

    def name_field(self, written: str) -> str:
        found = re.search(rf'<label class="unseen" for="id_(name-\w+)">What {re.escape(written)} is', self.page.text)
        assert found is not None
        return found[1]

    def post(self, **changed: str) -> HttpResponse:
        self.page = self.client.post(self.look_url, {**self.fields, **changed})  # type: ignore[assignment]  # as above
        return self.page

    def activity(self, key: str) -> str:
        return str(self.classroom.year.activities.get(key=key).pk)


@pytest.fixture
def desk() -> Desk:
    return Desk(make.make_classroom(make.make_year()))


def standing(week: Week) -> list[str]:
    blocks = (
        Block.objects.filter(column__week=week).order_by("column__day", "start").select_related("column", "activity")
    )
    return [
        f"{one.column.day} {written_clock(one.start)}-{written_clock(one.end)} {one.activity.key} {one.why}".strip()
        for one in blocks
    ]


def test_a_sheet_is_shown_with_every_guess_and_becomes_a_draft(desk: Desk) -> None:
    desk.send(WEEK)
    text = desk.page.text
    for said in (
        'value="list" selected>A list: a row for each block',
        "Row 1 names the columns.",
        "parted by commas",
        "taken as the afternoon",
        "not known here",
        "looks like it: please check",
    ):
        assert said in text, said
    assert "1:05\N{EN DASH}1:45" in text and "the aide is here" in text
    assert not Week.objects.exists()
    answer = desk.post(**{desk.name_field("Duty"): "leave", "starts": "2026-10-05", "name": "From home"})
    draft = Week.objects.get()
    assert answer.status_code == 302 and answer.headers["Location"].endswith(f"?week={draft.pk}")
    assert (draft.draft, draft.draft_name, draft.starts, draft.drafted_by) == (
        True,
        "From home",
        dt.date(2026, 10, 5),
        desk.member,
    )
    assert standing(draft) == ["mon 08:15-09:00 math the aide is here", "mon 13:05-13:45 math"]
    change = WeekChange.objects.get(week=draft)
    assert (change.deed, change.summary, change.member, change.revision) == (
        "import",
        "Read from the spreadsheet week.csv",
        desk.member,
        1,
    )
    assert not SentSheet.objects.exists(), "it is not kept once it is a draft"
    page = desk.client.get(answer.headers["Location"]).text
    assert "This is a draft: it counts for nothing yet." in page


def test_a_draft_beside_a_week_counts_for_nothing(desk: Desk) -> None:
    week = make.make_week(desk.classroom)
    make.make_rule(desk.classroom.year, "math", {"pool": {"of": ["math"]}, "at_least": 300, "window": "week"})
    make.add(week, desk.member, ("mon", "09:00", "10:00", "math"))
    before = list(Reading.objects.order_by("pk").values())
    desk.send(WEEK)
    desk.post(**{desk.name_field("Duty"): "leave"})
    assert Week.objects.filter(draft=True).count() == 1
    assert list(Reading.objects.order_by("pk").values()) == before
    assert standing(week) == ["mon 09:00-10:00 math"]


def test_names_are_remembered_for_the_school_and_for_no_other(desk: Desk) -> None:
    desk.send(WEEK)
    desk.post(
        **{desk.name_field("Duty"): desk.activity("recess"), desk.name_field("Mathematics"): desk.activity("math")}
    )
    assert dict(WrittenName.objects.values_list("written", "activity")) == {"duty": "recess", "mathematics": "math"}
    colleague = Desk(make.make_classroom(desk.classroom.year, "room13"), "Colette").send(WEEK.replace("Duty", "DUTY!"))
    assert "as chosen before" in colleague.page.text
    assert colleague.fields[colleague.name_field("DUTY!")] == desk.activity("recess")
    stranger = Desk(make.make_classroom(make.make_year("Another school")), "Stella").send(WEEK)
    assert "not known here" in stranger.page.text
    colleague.post(**{colleague.name_field("DUTY!"): "leave"})
    assert WrittenName.objects.get(school=desk.classroom.year.school, written="duty").activity == ""


def test_nothing_is_made_of_what_was_not_seen(desk: Desk) -> None:
    desk.send(WEEK)
    changed = {"guess-clock": "24", desk.name_field("Duty"): "leave"}
    answer = desk.post(**changed)
    assert answer.status_code == 409
    assert "look at what they make of the sheet now" in answer.text
    assert "1:05 am\N{EN DASH}1:45 am" in answer.text
    assert not Week.objects.exists()
    assert desk.post().status_code == 302
    assert "mon 01:05-01:45 math" in standing(Week.objects.get())


def test_looking_again_keeps_what_was_chosen(desk: Desk) -> None:
    desk.send(WEEK)
    duty = desk.name_field("Duty")
    answer = desk.post(**{"guess-clock": "24", duty: "leave", "starts": "2026-10-12", "name": "Mine", "look": "again"})
    assert answer.status_code == 200
    told = desk.fields
    assert (told["guess-clock"], told[duty], told["starts"], told["name"]) == ("24", "leave", "2026-10-12", "Mine")
    assert ">Left out<" in answer.text
    assert not Week.objects.exists()


def test_a_name_nobody_knows_must_be_chosen_or_left_out(desk: Desk) -> None:
    desk.send(WEEK)
    answer = desk.post()
    assert answer.status_code == 422
    assert "Say what “Duty” is, or leave it out." in answer.text
    assert not Week.objects.exists() and not WrittenName.objects.exists()


def test_bad_cells_are_told_by_their_address_and_nothing_is_written(desk: Desk) -> None:
    desk.send("Day,Time,Class\nMon,8:15-9:xx,Math\nSomeday,8:15-9:00,Math\nTue,9:00-9:30,Art\n")
    assert "<b>B2</b>" in desk.page.text and "<b>A3</b>" in desk.page.text
    assert "Make it a draft" not in desk.page.text
    seen = desk.fields["seen"]
    answer = desk.client.post(desk.look_url, {"seen": seen, "starts": "2026-10-05"})
    assert answer.status_code == 422
    assert not Week.objects.exists()


def test_blocks_that_overlap_are_told_until_one_is_left_out(desk: Desk) -> None:
    desk.send("Day,Time,Class\nMon,8:15-9:00,Math\nMon,8:15-8:30,Arrival\n")
    assert "<b>C2 and C3</b>" not in desk.page.text, "the two are told in the order of their times"
    assert "<b>C3 and C2</b>" in desk.page.text
    arrival = desk.name_field("Arrival")
    refused = desk.client.post(desk.look_url, {**desk.fields, "starts": "2026-10-05", arrival: desk.activity("recess")})
    assert refused.status_code == 422 and "take the same time" in refused.text
    assert not Week.objects.exists()
    assert desk.post(**{arrival: "leave", "look": "again"}).status_code == 200
    assert "To mend in the file first" not in desk.page.text
    assert desk.post().status_code == 302
    assert standing(Week.objects.get()) == ["mon 08:15-09:00 math"]


def test_a_date_outside_the_year_is_refused_at_its_field(desk: Desk) -> None:
    desk.send(WEEK.replace("Duty", "Art"))
    answer = desk.post(starts="2028-01-01")
    assert answer.status_code == 422
    assert 'id="id_starts_error"' in answer.text
    assert not Week.objects.exists()


def test_leaving_everything_out_makes_no_draft(desk: Desk) -> None:
    desk.send("Day,Time,Class\nMon,8:15-9:00,Duty\n")
    answer = desk.post(**{desk.name_field("Duty"): "leave"})
    assert answer.status_code == 422 and "There is no block left" in answer.text
    assert not WrittenName.objects.exists()


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("week.xls", (FILES / "list.xls").read_bytes(), "older kind (.xls)"),
        ("week.csv", b"Mon,8:15\n" * 100_000, "more than 2,000 rows"),
        ("week.pdf", b"%PDF-1.7", "This is a PDF"),
        ("week.csv", b"", "The file is empty"),
        ("week.csv", b"x" * (3 * 1024 * 1024), "larger than 2 MiB"),
    ],
)
def test_a_file_that_is_not_read_is_refused_at_its_field(desk: Desk, name: str, data: bytes, said: str) -> None:
    answer = desk.client.post(desk.url, {"file": SimpleUploadedFile(name, data)})
    assert answer.status_code == 422
    assert said in answer.text and 'id="id_file_error"' in answer.text
    assert not SentSheet.objects.exists()


def test_one_of_several_sheets_is_chosen(desk: Desk) -> None:
    made = Workbook()
    first, second = made.active, made.create_sheet("Spring")
    assert first is not None
    first.title = "Autumn"
    for sheet, activity in ((first, "Math"), (second, "Art")):
        for row in (["Day", "Time", "Class"], ["Mon", "8:15-9:00", activity]):
            sheet.append(row)
    out = io.BytesIO()
    made.save(out)
    desk.send(out.getvalue(), "weeks.xlsx")
    assert "The sheet “Autumn” is read." in desk.page.text
    desk.post(**{"guess-sheet": "1", "look": "again"})
    assert "The sheet “Spring” is read." in desk.page.text
    desk.post()
    assert standing(Week.objects.get()) == ["mon 08:15-09:00 art"]


def test_what_is_sent_again_takes_the_place_of_what_was_sent_before(desk: Desk) -> None:
    desk.send(WEEK)
    old = desk.look_url
    desk.send(WEEK.replace("Duty", "Art"))
    assert SentSheet.objects.count() == 1
    assert desk.client.get(old).status_code == 404
    assert desk.client.get(desk.look_url).status_code == 200


def test_what_was_sent_for_one_classroom_is_not_found_at_another(desk: Desk) -> None:
    desk.send(WEEK)
    other = make.make_classroom(desk.classroom.year, "room13")
    other.teachers.add(desk.member)
    url = reverse("scheduling:week-sheet-look", args=[other.pk, desk.sent.pk])
    assert desk.client.get(url).status_code == 404
    assert desk.client.post(url, {"starts": "2026-10-05"}).status_code == 404


def test_sheets_of_yesterday_are_cleared_and_those_of_today_stay(desk: Desk) -> None:
    desk.send(WEEK)
    clear_sent_sheets()
    assert SentSheet.objects.exists()
    SentSheet.objects.update(sent_at=timezone.now() - dt.timedelta(days=1, minutes=1))
    clear_sent_sheets()
    assert not SentSheet.objects.exists()


def made(desk: Desk, *blocks: tuple[str, str, str, str]) -> None:
    """The service itself, with blocks that no page would have let through."""
    with transaction.atomic():
        room = access.classroom_for_editing(desk.member, desk.classroom.pk)
        sent = sheet_weeks.keep_sent(room, read_file(WEEK.encode()), member=desk.member, file_name="x")
        placings = [make.placing(room.year, *block) for block in blocks]
        told = sheet_weeks.SheetWeek(placings, {"duty": ""})
        sheet_weeks.draft_from_sheet(sent, told, starts=dt.date(2026, 10, 5), member=desk.member)


@pytest.mark.parametrize(
    "blocks",
    [
        (),
        (("mon", "08:15", "09:00", "math"), ("mon", "08:45", "09:30", "art")),
        (("mon", "08:15", "09:00", "math"), ("mon", "09:30", "09:00", "art")),
        (("mon", "08:15", "09:00", "math"), ("someday", "09:00", "09:30", "art")),
    ],
)
def test_a_week_that_could_not_be_is_refused_whole(desk: Desk, blocks: tuple[tuple[str, str, str, str], ...]) -> None:
    with pytest.raises(RuleBroken):
        made(desk, *blocks)
    assert not Week.objects.exists() and not WrittenName.objects.exists() and not SentSheet.objects.exists()


def test_blocks_that_touch_and_change_of_meaning_are_fine(desk: Desk) -> None:
    WrittenName.objects.create(school=desk.classroom.year.school, written="duty", activity="math")
    made(desk, ("mon", "08:15", "09:00", "math"), ("mon", "09:00", "09:30", "art"), ("tue", "08:30", "09:00", "art"))
    assert len(standing(Week.objects.get())) == 3
    assert WrittenName.objects.get().activity == ""


# Away as a spreadsheet


@pytest.mark.parametrize("kind", sorted(KINDS))
@pytest.mark.parametrize("shape", SHAPES)
def test_a_week_taken_away_and_sent_again_is_the_same_week(desk: Desk, shape: str, kind: str) -> None:
    week = make.make_week(desk.classroom)
    year = desk.classroom.year
    make.add(
        week,
        desk.member,
        ("mon", "08:15", "09:00", "math"),
        ("mon", "09:00", "10:00", "math"),
        ("tue", "12:45", "13:30", "pe"),
    )
    with transaction.atomic():
        held = access.week_for_editing(desk.member, week.pk)
        special = make.placing(year, "wed", "08:00", "08:45", "art", kind="minimum", why="=the lab\nis ours")
        weeks.add_block(held, member=desk.member, placing=special)
    url = reverse("scheduling:week-take-sheet", args=[week.pk, shape, kind])
    answer = desk.client.get(url)
    assert answer.headers["Content-Disposition"] == f'attachment; filename="room12-2026-09-07-{shape}.{kind}"'
    assert answer.headers["Content-Type"] == KINDS[kind]
    desk.send(answer.content, f"week.{kind}")
    assert "To mend" not in desk.page.text
    assert desk.post().status_code == 302
    assert standing(Week.objects.get(draft=True)) == standing(week)
    again = Week.objects.get(draft=True)
    kinds = [list(one.columns.order_by("day").values_list("day", "kind")) for one in (week, again)]
    assert kinds[0] == kinds[1]


def test_a_column_that_forms_do_not_offer_goes_out_and_comes_in(desk: Desk) -> None:
    week = make.make_week(desk.classroom)
    column = week.columns.create(day="", kind=desk.classroom.year.day_kinds.get(key="regular"))
    column.blocks.create(start=480, end=540, activity=desk.classroom.year.activities.get(key="math"))
    answer = desk.client.get(reverse("scheduling:week-take-sheet", args=[week.pk, "list", "csv"]))
    assert "Every regular day,8:00 am,9:00 am,Math," in answer.text
    desk.send(answer.content)
    assert desk.post().status_code == 302
    assert standing(Week.objects.get(draft=True)) == standing(week)


def test_only_the_four_files_are_there(desk: Desk) -> None:
    week = make.make_week(desk.classroom)
    for shape, kind in (("heap", "csv"), ("list", "ods"), ("grid.x", "csv")):
        assert desk.client.get(f"/weeks/{week.pk}/as/{shape}.{kind}").status_code == 404
    page = desk.client.get(reverse("scheduling:week-as-sheet", args=[week.pk])).text
    assert [f"/weeks/{week.pk}/as/{shape}.{kind}" in page for shape in SHAPES for kind in KINDS] == [True] * 4


def test_a_week_of_a_rotation_goes_out_and_comes_in() -> None:
    year = make.make_year(cycle_kind="rotating days", cycle_length=6)
    desk = Desk(make.make_classroom(year))
    week = make.make_week(desk.classroom)
    make.add(week, desk.member, ("1", "08:15", "09:00", "math"), ("6", "08:15", "09:00", "art"))
    words = year_words(week.classroom.year)
    for shape in SHAPES:
        desk.send(written(entries_of(week, words), days_for(words), shape, "xlsx"), "week.xlsx")
        assert desk.post().status_code == 302
        assert standing(Week.objects.latest("pk")) == standing(week)
