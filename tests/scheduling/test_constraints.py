"""What the database itself refuses, however a row is written: for each constraint, a write past all services."""

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, transaction

from scheduling.models import (
    Activity,
    Answer,
    BellSchedule,
    Block,
    BlockCredit,
    BlockUse,
    CalendarWork,
    Column,
    DayChange,
    DayChangeCredit,
    DayChangeReach,
    Fitting,
    FixedStretch,
    Question,
    Reading,
    Rule,
    SharedResource,
    SpecialistPost,
    TeamBlock,
    Week,
    WeekChange,
    WrittenName,
)
from teamroom.dates.models import CalendarDay, Closure, DayKind, School, SchoolYear, StandingKind
from teamroom.members.models import Classroom, ClassTeacher, Invitation, Member, SchoolRole, Team, TeamRole
from tests.factories import FIRST_DAY, LAST_DAY, make_classroom, make_member, make_week, make_year

pytestmark = pytest.mark.django_db

OUR_APPS = ("dates", "members", "scheduling", "curriculum")
DAY = dt.timedelta(days=1)
NOW = dt.datetime(2026, 9, 7, 12, tzinfo=dt.UTC)
BODY = {"at_least": 100}


class World:
    """A year with a classroom, a week and a block of 8:00 to 9:00, for cases to break."""

    def __init__(self) -> None:
        self.year = make_year()
        self.school = self.year.school
        self.kind = DayKind.objects.get(year=self.year, key="regular")
        self.math, self.art = (Activity.objects.get(year=self.year, key=key) for key in ("math", "art"))
        self.room = make_classroom(self.year)
        self.other_room = make_classroom(self.year, "room14")
        self.team = self.room.team
        self.member = make_member("Olive")
        self.week = make_week(self.room)
        self.column = Column.objects.create(week=self.week, day="mon", kind=self.kind)
        self.block = self.new_block(480, 540)
        self.bell = BellSchedule.objects.get(year=self.year, kind=self.kind)
        self.rule = self.new_rule("floor")
        self.change = self.new_change(600, 660)
        self.reach(self.change)

    def teaches(self, first: dt.date | None, last: dt.date | None) -> ClassTeacher:
        return ClassTeacher.objects.create(classroom=self.room, member=self.member, first_day=first, last_day=last)

    def invite(self, token: str, email: str = "nadia@school.example", **fields: Any) -> Invitation:
        values = {"school_role": "coordinator", "expires_at": NOW + DAY, **fields}
        return Invitation.objects.create(school=self.school, email=email, token_hash=token, **values)

    def new_block(self, start: int, end: int, **fields: Any) -> Block:
        return Block.objects.create(column=self.column, start=start, end=end, activity=self.math, **fields)

    def credit(self, minutes: int, place: int = 0, activity: Activity | None = None) -> BlockCredit:
        return BlockCredit.objects.create(
            block=self.block, place=place, activity=activity or self.math, minutes=minutes
        )

    def new_rule(self, key: str, **fields: Any) -> Rule:
        return Rule.objects.create(
            year=self.year, **{"key": key, "name": "Floor", "grades": ["4"], "body": BODY, **fields}
        )

    def new_change(self, start: int, end: int, **fields: Any) -> DayChange:
        return DayChange.objects.create(
            year=self.year, **{"date": FIRST_DAY, "name": "Outing", "start": start, "end": end, **fields}
        )

    def reach(self, change: DayChange, room: Classroom | None = None) -> DayChangeReach:
        return DayChangeReach.objects.create(
            day_change=change, classroom=room or self.room, date=change.date, start=change.start, end=change.end
        )

    def change_credit(self, minutes: int) -> DayChangeCredit:
        return DayChangeCredit.objects.create(day_change=self.change, place=0, activity=self.math, minutes=minutes)

    def close(self, first: dt.date, last: dt.date) -> Closure:
        return Closure.objects.create(year=self.year, first_day=first, last_day=last, name="Closed")

    def reading(self) -> Reading:
        return Reading.objects.create(classroom=self.room, rule=self.rule, grade="4", part=None, status="met")

    def share(self, **fields: Any) -> SharedResource:
        return SharedResource.objects.create(year=self.year, **{"key": "lab", "name": "Science lab", **fields})

    def ask(self, **fields: Any) -> Question:
        values = {"block_number": self.block.pk, "about": "Math", "text": "Why so early?", **fields}
        return Question.objects.create(week=self.week, asked_by=self.member, **values)

    def fitting(self, **fields: Any) -> Fitting:
        values = {"kind": "draft", "starts": FIRST_DAY, "asked": {}, **fields}
        return Fitting.objects.create(classroom=self.week.classroom, **values)

    def edit(self) -> WeekChange:
        return WeekChange.objects.create(week=self.week, revision=2, before=[], after=[])


Break = Callable[[World], object]


def twice(do: Break) -> Break:
    return lambda world: (do(world), do(world))


def update(name: str, **values: Any) -> Break:
    """Change a row of the world in place."""
    return lambda world: type(getattr(world, name))._default_manager.filter(pk=getattr(world, name).pk).update(**values)


def then(*deeds: Break) -> Break:
    return lambda world: [do(world) for do in deeds]


BREAKS: dict[str, Break] = {
    # The school year
    "one_year_of_a_name": lambda w: SchoolYear.objects.create(
        school=w.school, name=w.year.name, first_day=FIRST_DAY, last_day=LAST_DAY
    ),
    "year_runs_forward": update("year", last_day=FIRST_DAY - DAY),
    "cycle_length_known": update("year", cycle_length=21),
    "one_day_kind_a_key": lambda w: DayKind.objects.create(year=w.year, key="regular", name="Again"),
    "closure_runs_forward": lambda w: w.close(LAST_DAY, FIRST_DAY),
    "closures_do_not_overlap": lambda w: (
        w.close(FIRST_DAY, FIRST_DAY + DAY),
        w.close(FIRST_DAY + DAY, FIRST_DAY + 2 * DAY),
    ),
    "one_standing_kind_a_weekday": twice(
        lambda w: StandingKind.objects.create(year=w.year, weekday="wed", kind=w.kind)
    ),
    "one_kind_a_date": twice(lambda w: CalendarDay.objects.create(year=w.year, date=FIRST_DAY, kind=w.kind)),
    # People and places
    "one_member_an_address": lambda w: Member.objects.create(email=w.member.email.upper(), name="Other"),
    "one_school_role": twice(
        lambda w: SchoolRole.objects.create(school=w.school, member=w.member, role="coordinator")
    ),
    "school_role_known": lambda w: SchoolRole.objects.create(school=w.school, member=w.member, role="king"),
    "one_team_a_key": lambda w: Team.objects.create(year=w.year, key=w.team.key, name="Again", grades=["4"]),
    "one_role_in_a_team": lambda w: [
        TeamRole.objects.create(team=w.team, member=w.member, role=role) for role in ("lead", "teacher")
    ],
    "team_role_known": lambda w: TeamRole.objects.create(team=w.team, member=w.member, role="king"),
    "one_classroom_a_key": lambda w: make_classroom(w.year, w.room.key),
    "classroom_has_a_grade": update("room", grades=[]),
    "class_teaching_runs_forward": lambda w: w.teaches(LAST_DAY, FIRST_DAY),
    "class_taught_once_at_a_time": lambda w: (w.teaches(None, FIRST_DAY), w.teaches(FIRST_DAY, None)),
    "one_open_invitation_an_address": lambda w: (w.invite("a", "x@school.example"), w.invite("b", "X@school.example")),
    "invitation_team_with_role": lambda w: w.invite("a", team=w.team, team_role=""),
    "invitation_role_known": lambda w: w.invite("a", school_role="king"),
    "invitation_gives_something": lambda w: w.invite("a", school_role=""),
    "invitation_has_one_end": lambda w: w.invite("a", accepted_at=NOW, revoked_at=NOW),
    # What the school fixes
    "one_activity_a_key": lambda w: Activity.objects.create(year=w.year, key="math", name="Again"),
    "one_bell_schedule": lambda w: BellSchedule.objects.create(
        year=w.year, grade="4", kind=w.kind, start=500, dismissal=600
    ),
    "bell_runs_forward": update("bell", dismissal=480),
    "fixed_stretch_runs_forward": lambda w: FixedStretch.objects.create(
        bell_schedule=w.bell, activity=w.math, start=600, end=600
    ),
    # Rules and readings
    "one_rule_a_key": lambda w: w.new_rule("floor"),
    "rule_standing_known": lambda w: w.new_rule("other", standing="custom"),
    "rule_dates_run_forward": lambda w: w.new_rule("other", effective_from=LAST_DAY, effective_to=FIRST_DAY),
    "rule_demands_or_says_why_not": lambda w: w.new_rule("other", body={}),
    "one_reading_a_part": twice(lambda w: w.reading()),
    # Weeks
    "one_week_from_a_date": lambda w: make_week(w.room),
    "one_column_a_day_and_kind": lambda w: Column.objects.create(week=w.week, day="mon", kind=w.kind),
    "block_runs_forward": update("block", end=480),
    "blocks_do_not_overlap": lambda w: w.new_block(539, 600),
    "one_credit_an_activity": lambda w: (w.credit(10), w.credit(10, place=1)),
    "one_credit_a_place": lambda w: (w.credit(10), w.credit(10, activity=w.art)),
    "credit_of_a_minute_or_more": lambda w: w.credit(0),
    "credits_fit_block": lambda w: (w.credit(31), w.credit(30, place=1, activity=w.art)),
    "block_holds_credits": then(lambda w: w.credit(60), update("block", end=539)),
    "one_change_a_revision": twice(lambda w: w.edit()),
    "one_block_of_a_team_block_a_column": lambda w: (
        team_block := TeamBlock.objects.create(team=w.team),
        w.new_block(600, 660, together=team_block),
        w.new_block(700, 760, together=team_block),
    ),
    # What classes share, and questions
    "one_shared_resource_a_key": twice(lambda w: w.share()),
    "shared_resource_has_room": lambda w: w.share(capacity=0),
    "one_use_a_resource": lambda w: (
        lab := w.share(),
        BlockUse.objects.create(block=w.block, resource=lab),
        BlockUse.objects.create(block=w.block, resource=lab),
    ),
    "use_of_one_or_more": lambda w: BlockUse.objects.create(block=w.block, resource=w.share(), amount=0),
    "question_asks_something": lambda w: w.ask(text=""),
    "question_settled_by_somebody": lambda w: w.ask(settled_at=NOW),
    "answer_says_something": lambda w: Answer.objects.create(question=w.ask(), written_by=w.member, text=""),
    "one_meaning_a_written_name": twice(
        lambda w: WrittenName.objects.create(school=w.school, written="duty", activity="math")
    ),
    # Specialists, and work on the calendar
    "one_post_an_activity": twice(
        lambda w: SpecialistPost.objects.create(year=w.year, member=w.member, activity=w.art)
    ),
    "fitting_state_known": lambda w: w.fitting(state="lost"),
    "fitting_kind_known": lambda w: w.fitting(kind="guess"),
    "calendar_work_state_known": lambda w: CalendarWork.objects.create(year=w.year, asked={}, state="lost"),
    # Day changes
    "day_change_runs_forward": lambda w: w.new_change(600, 600),
    "closing_takes_the_whole_day": lambda w: w.new_change(600, 660, closed=True),
    "one_day_credit_an_activity": twice(lambda w: w.change_credit(10)),
    "day_credit_of_a_minute_or_more": lambda w: w.change_credit(0),
    "credits_fit_change": lambda w: w.change_credit(61),
    "change_holds_credits": then(
        lambda w: w.change_credit(10), update("change", closed=True, start=0, end=1440)
    ),
    "one_reach_a_classroom": lambda w: w.reach(w.change),
    "day_changes_do_not_overlap": lambda w: w.reach(w.new_change(659, 700)),
}  # fmt: skip

# Both triggers of a pair say the same sentence under the one name.
SAID_AS = {"block_holds_credits": "credits_fit_block", "change_holds_credits": "credits_fit_change"}


@pytest.mark.parametrize("name", BREAKS)
def test_the_database_refuses(name: str) -> None:
    world = World()
    connection.check_constraints()
    with pytest.raises(IntegrityError) as refused, transaction.atomic():
        BREAKS[name](world)
        connection.check_constraints()
    assert refused.value.__cause__.diag.constraint_name == SAID_AS.get(name, name)  # type: ignore[union-attr]  # the driver's error


def test_every_constraint_and_trigger_has_its_case() -> None:
    models = [model for label in OUR_APPS for model in apps.get_app_config(label).get_models()]
    names = {constraint.name for model in models for constraint in model._meta.constraints}
    with connection.cursor() as cursor:
        cursor.execute("SELECT tgname FROM pg_trigger WHERE tgconstraint <> 0 AND NOT tgisinternal AND tgdeferrable")
        names |= {name for (name,) in cursor.fetchall()}
    assert names == set(BREAKS)


ALLOWED: dict[str, Break] = {
    "two blocks change places in one transaction": lambda w: (
        w.new_block(540, 600),
        Block.objects.filter(start=480).update(start=600, end=660),
        Block.objects.filter(start=540).update(start=480, end=540),
        Block.objects.filter(start=600).update(start=540, end=600),
    ),
    "two blocks overlap until the end of the transaction": lambda w: (
        w.new_block(500, 560),
        Block.objects.filter(pk=w.block.pk).update(start=560, end=620),
    ),
    "blocks touch": lambda w: w.new_block(540, 600),
    "a block ends at midnight": lambda w: w.new_block(1380, 1440),
    "credits fill a block": lambda w: (w.credit(30), w.credit(30, place=1, activity=w.art)),
    "a block and its credits grow shorter together": lambda w: (
        w.credit(60),
        Block.objects.filter(pk=w.block.pk).update(end=500),
        BlockCredit.objects.filter(block=w.block).update(minutes=20),
    ),
    "closures touch": lambda w: (w.close(FIRST_DAY, FIRST_DAY + DAY), w.close(FIRST_DAY + 2 * DAY, LAST_DAY)),
    "changes of one date touch": lambda w: w.reach(w.new_change(660, 700)),
    "changes of two classrooms overlap": lambda w: w.reach(w.new_change(600, 660), w.other_room),
    "a closing and nothing else": lambda w: w.reach(w.new_change(0, 1440, closed=True, date=LAST_DAY)),
    "a rule that says why it cannot be checked": lambda w: w.new_rule("groups", body={}, not_checkable="Groups."),
    "another school has a year of the same name": lambda w: SchoolYear.objects.create(
        school=School.objects.create(name="Elsewhere", time_zone="UTC"),
        name=w.year.name,
        first_day=FIRST_DAY,
        last_day=FIRST_DAY,
    ),
    "a column without a day beside one with": lambda w: Column.objects.create(week=w.week, day="", kind=w.kind),
    "drafts of one date beside the week": lambda w: [
        Week.objects.create(classroom=w.room, starts=FIRST_DAY, draft=True) for _ in range(2)
    ],
    "a later week of the same classroom": lambda w: Week.objects.create(classroom=w.room, starts=FIRST_DAY + DAY),
}


@pytest.mark.parametrize("name", ALLOWED)
def test_the_database_allows(name: str) -> None:
    world = World()
    ALLOWED[name](world)
    connection.check_constraints()


@pytest.mark.parametrize(
    ("name", "deed"),
    [
        ("a negative enrolment", update("room", enrolment=-1)),
        ("a block before midnight", update("block", start=-1)),
        ("a block beyond 24:00", update("block", end=1441)),
        ("a bell beyond 24:00", update("bell", dismissal=1441)),
        ("a change beyond 24:00", update("change", end=1441)),
    ],
)
def test_the_database_refuses_figures_out_of_range(name: str, deed: Break) -> None:
    world = World()
    with pytest.raises(IntegrityError), transaction.atomic():
        deed(world)


def test_an_edit_is_undone_once() -> None:
    world = World()
    edit = world.edit()
    with pytest.raises(IntegrityError), transaction.atomic():
        for revision in (3, 4):
            WeekChange.objects.create(week=world.week, revision=revision, before=[], after=[], undoes=edit)
