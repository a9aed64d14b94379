"""Team blocks: which blocks of other classrooms one holds with, and how one could come into a classroom's week."""

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from django.db.models import Count, QuerySet

from scheduling.minutes.figures import listed
from scheduling.models import Block, Column, Week
from scheduling.selectors.year_words import capital
from teamroom.common.clock import said_clock, said_date, said_span
from teamroom.dates.models import DayKind
from teamroom.members.models import Classroom


def weeks_beside(week: Week) -> QuerySet[Week]:
    """The one week of each other classroom of the team that holds together with a week, by its classroom.

    Of a version, those in effect today; of one that is over or still to come, those in effect on
    the day of it that is nearest. Of a draft, the newest drafts for its date.
    """
    team = Week.objects.filter(classroom__team=week.classroom.team_id, classroom__retired=False)
    others = team.exclude(classroom=week.classroom_id).filter(draft=week.draft)
    if week.draft:
        return others.filter(starts=week.starts).order_by("classroom", "-pk").distinct("classroom")
    on = nearest_day(week)
    return others.filter(starts__lte=on).order_by("classroom", "-starts").distinct("classroom")


def nearest_day(week: Week) -> dt.date:
    """The day of a version that is today, or the nearest to it."""
    later = Week.objects.filter(classroom=week.classroom_id, draft=False, starts__gt=week.starts)
    following = later.order_by("starts").values_list("starts", flat=True).first()
    last = following - dt.timedelta(days=1) if following else dt.date.max
    return min(max(week.classroom.year.school.today(), week.starts), last)


def held_with(block: Block) -> list[Block]:
    """What changes with a team block: its blocks in the weeks beside its own, by their classrooms."""
    if block.together_id is None:
        return []
    beside = weeks_beside(block.column.week).values("pk")
    found = Block.objects.filter(together=block.together_id, column__week__in=beside)
    found = found.select_related("column__kind", "column__week__classroom", "activity")
    return list(found.prefetch_related("credits", "uses").order_by("column__week__classroom"))


def rooms_holding(week: Week, together: Collection[int]) -> dict[int, int]:
    """In how many classrooms a change of each of some team blocks of a week shows, its own among them."""
    if not together:
        return {}
    beside = Block.objects.filter(together__in=together, column__week__in=weeks_beside(week).values("pk"))
    others = dict(beside.values_list("together").annotate(Count("pk")))
    return {pk: 1 + others.get(pk, 0) for pk in together}


def kept_elsewhere(block: Block, beside: Sequence[Block]) -> list[Week]:
    """The weeks of other dates, and drafts, that hold a team block too and that a change of it leaves as they are."""
    if block.together_id is None:
        return []
    weeks = Week.objects.filter(columns__blocks__together=block.together_id, classroom__retired=False)
    changed = [block.column.week_id, *(other.column.week_id for other in beside)]
    return list(weeks.exclude(pk__in=changed).select_related("classroom").order_by("draft", "starts", "classroom"))


def rooms_to_share_with(block: Block) -> list[Classroom]:
    """The classrooms of a block's team that do not hold it with it, in the order of their names."""
    own = block.column.week.classroom
    holding = [own.pk, *(other.column.week.classroom_id for other in held_with(block))]
    rooms = Classroom.objects.filter(team=own.team_id, retired=False).exclude(pk__in=holding)
    return list(rooms.select_related("team").order_by("name", "pk"))


@dataclass(frozen=True, slots=True)
class TeamWords:
    """A block as its team holds it, told to people. `held` says whether it is a team block; `rooms`
    are the classrooms a change of it shows in too, `kept` the weeks that it leaves as they are, and
    `more` whether others could hold it."""

    team: str
    held: bool
    rooms: tuple[Classroom, ...]
    kept: str
    more: bool

    @property
    def others(self) -> str:
        return listed([str(room) for room in self.rooms])


def team_words(block: Block) -> TeamWords:
    """How a block, whose column and week are loaded, is held."""
    beside, room = held_with(block), block.column.week.classroom
    kept = dict.fromkeys(
        f"{'drafts for' if week.draft else 'weeks from'} {said_date(week.starts)}"
        for week in kept_elsewhere(block, beside)
    )
    return TeamWords(
        team=str(room.team),
        held=block.together_id is not None,
        rooms=tuple(other.column.week.classroom for other in beside),
        kept=capital(listed(list(kept))),
        more=Classroom.objects.filter(team=room.team_id, retired=False).count() > len(beside) + 1,
    )


@dataclass(frozen=True)
class WayIn:
    """How a block would come into another classroom's week: into free time, in the place of one
    that `gives_way`, or not, because of `obstacle`. `week` is None if there is none to come into."""

    classroom: Classroom
    week: Week | None
    gives_way: Block | None = None
    obstacle: str = ""

    @property
    def token(self) -> str:
        """What tells this way from any other: what a page shows is done, or nothing."""
        week = self.week.pk if self.week else 0
        taken = f"{self.gives_way.pk}.{self.gives_way.revision}" if self.gives_way else "free"
        return f"{self.classroom.pk}-{week}-{taken}"

    @property
    def said(self) -> str:
        if self.obstacle:
            return self.obstacle
        if self.gives_way is None:
            return "goes into free time"
        return f"takes the place of {self.gives_way.activity}, {said_span(self.gives_way.start, self.gives_way.end)}"


def ways_in(block: Block, classrooms: Collection[Classroom]) -> list[WayIn]:
    """How a block would come into the weeks beside its own of some classrooms of the team."""
    weeks = {week.classroom_id: week for week in weeks_beside(block.column.week)}
    return ways_into(block, [(room, weeks.get(room.pk)) for room in classrooms])


def ways_into(block: Block, targets: Sequence[tuple[Classroom, Week | None]]) -> list[WayIn]:
    """How a block would come into certain weeks."""
    day, kind, weeks = block.column.day, block.column.kind, [week for _, week in targets if week]
    columns = Column.objects.filter(week__in=weeks, day=day, kind=kind)
    planned = set(columns.values_list("week", flat=True))
    met = Block.objects.filter(column__in=columns, start__lt=block.end, end__gt=block.start).order_by("start")
    in_time: dict[int, list[Block]] = {week.pk: [] for week in weeks}
    for other in met.select_related("activity", "column__kind").prefetch_related("credits", "uses"):
        in_time[other.column.week_id].append(other)
    ways = []
    for room, week in targets:
        if week is None:
            ways.append(WayIn(room, None, obstacle=NO_DRAFT if block.column.week.draft else NO_WEEK))
        elif week.pk not in planned and is_whole_plan(day, kind):
            ways.append(WayIn(room, week, obstacle=not_planned_apart(kind)))
        else:
            ways.append(_way(room, week, block, in_time[week.pk]))
    return ways


NO_WEEK, NO_DRAFT = "no week is in effect then", "there is no draft for that date"


def is_whole_plan(day: str, kind: DayKind) -> bool:
    """Whether a column of such days, once it is there, is all that is planned for them."""
    return not (day and kind.is_regular)


def not_planned_apart(kind: DayKind) -> str:
    return f"{kind.name} has no column of its own there: plan that kind of day first"


def _way(room: Classroom, week: Week, block: Block, met: Sequence[Block]) -> WayIn:
    if not met:
        return WayIn(room, week)
    first = met[0]
    times = f"{said_clock(first.start)} to {said_clock(first.end)}"
    if (first.start, first.end, first.activity_id) != (block.start, block.end, block.activity_id):
        return WayIn(room, week, obstacle=f"{first.activity} already takes {times}")
    if first.together_id is not None:
        return WayIn(room, week, obstacle=f"{first.activity}, {times}, is another team block: step out of that first")
    return WayIn(room, week, gives_way=first)
