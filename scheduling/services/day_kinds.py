"""The kinds of day a year has, the kind each weekday has all year, and the cycle that names its days."""

from collections.abc import Iterator, Mapping, Sequence

from django.db import transaction
from django.db.models import OuterRef, Subquery

from scheduling.models import Block, BlockCredit, BlockUse, Column, FixedStretch, TeamBlock, Week
from scheduling.selectors.kind_uses import uses_of
from scheduling.services.compliance import ReadingChanges, recompute
from scheduling.services.week_records import contents_of, record
from teamroom.common.errors import RuleBroken
from teamroom.common.keys import free_key
from teamroom.dates.calendar_maths import LONGEST_ROTATION, REGULAR, SCHOOL_WEEK, WEEKDAYS, Cycle
from teamroom.dates.models import DayKind, SchoolYear, StandingKind
from teamroom.dates.selectors import cycle_of
from teamroom.dates.services import begin_year_change, check_in_year

MOST_NAMED = 6
WEEKS = ("A", "B")


@transaction.atomic
def add_day_kind(year: SchoolYear, name: str) -> DayKind:
    """A kind of day of this name, which no date has yet."""
    year = begin_year_change(year.pk)
    name = _free_name(year, name)
    taken = year.day_kinds.values_list("key", flat=True)
    return DayKind.objects.create(year=year, key=free_key(name, list(taken), otherwise="kind"), name=name)


@transaction.atomic
def rename_day_kind(kind: DayKind, name: str) -> DayKind:
    """Call a kind of day otherwise; everything that names it follows."""
    # A new revision, as what a year's things are called is kept by it.
    year = begin_year_change(kind.year_id)
    kind.name = _free_name(year, name, of=kind)
    kind.save(update_fields=["name"])
    return kind


@transaction.atomic
def remove_day_kind(kind: DayKind) -> None:
    """Take away a kind of day that nothing uses; RuleBroken says what does."""
    begin_year_change(kind.year_id)
    if kind.key == REGULAR:
        raise RuleBroken("Every year has its regular day: rename it if your school calls it otherwise.")
    if uses := uses_of(kind):
        raise RuleBroken(f"{kind.name} is used: {'; '.join(uses)}. Take it out there first.")
    kind.delete()


@transaction.atomic
def set_standing_kinds(year: SchoolYear, kinds: Mapping[str, DayKind | None]) -> ReadingChanges:
    """Give weekdays their standing kinds, all at once; None or the regular kind takes one away.

    Weekdays that are not named keep what they have.
    """
    year = begin_year_change(year.pk)
    if not kinds.keys() <= set(SCHOOL_WEEK):
        raise RuleBroken("Choose weekdays from Monday to Friday.")
    for weekday, kind in kinds.items():
        if kind is None or kind.key == REGULAR:
            StandingKind.objects.filter(year=year, weekday=weekday).delete()
        elif kind.year_id != year.pk:
            raise RuleBroken("Choose one of this year’s day kinds.", field=weekday)
        else:
            StandingKind.objects.update_or_create(year=year, weekday=weekday, defaults={"kind": kind})
    return recompute(year)


@transaction.atomic
def set_cycle(year: SchoolYear, cycle: Cycle) -> ReadingChanges:
    """Name the school days another way.

    Days of weeks that were planned by weekday are put into both week A and week B. Every other
    change that would leave a planned day or a fixed stretch without its name is refused, with where.
    """
    year = begin_year_change(year.pk)
    if not 1 <= cycle.length <= LONGEST_ROTATION:
        raise RuleBroken(f"Give the rotation a length from 1 to {LONGEST_ROTATION} days.", field="length")
    if cycle.starts is not None:
        check_in_year(year, cycle.starts, field="starts")
    if cycle_of(year).kind == "weekdays" and cycle.kind == "alternating weeks":
        _plan_both_weeks(year)
    _check_names(year, cycle)
    year.cycle_kind, year.cycle_length, year.cycle_starts = cycle.kind, cycle.length, cycle.starts
    year.save(update_fields=["cycle_kind", "cycle_length", "cycle_starts"])
    return recompute(year)


def _free_name(year: SchoolYear, name: str, *, of: DayKind | None = None) -> str:
    name = " ".join(name.split())
    if not name:
        raise RuleBroken("Name the kind of day, as in Minimum day.", field="name")
    if year.day_kinds.filter(name__iexact=name).exclude(pk=of.pk if of else 0).exists():
        raise RuleBroken(f"There is a kind of day called {name} already.", field="name")
    return name


def _check_names(year: SchoolYear, cycle: Cycle) -> None:
    """Raise RuleBroken where a planned day or a fixed stretch has a name that the cycle does not give."""
    names = set(cycle.day_names)
    rooms = Column.objects.filter(week__classroom__year=year).exclude(day__in=["", *names])
    if told := list(dict.fromkeys(str(column.week.classroom) for column in rooms.select_related("week__classroom"))):
        raise RuleBroken(
            f"Days that this cycle does not have are planned in {_listed(told)}. "
            "Take the blocks out of those days first, or keep the cycle.",
            field="kind",
        )
    stretches = FixedStretch.objects.filter(bell_schedule__year=year, days__isnull=False)
    bells = [
        one.bell_schedule for one in stretches.select_related("bell_schedule__kind") if set(one.days or ()) - names
    ]
    if bells:
        told = list(dict.fromkeys(f"grade {bell.grade} ({bell.kind})" for bell in bells))
        raise RuleBroken(
            f"The bells of {_listed(told)} have a fixed stretch on days that this cycle does not have. "
            "Give it other days first, under Bells.",
            field="kind",
        )


def _listed(names: Sequence[str]) -> str:
    more = len(names) - MOST_NAMED
    return ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def _plan_both_weeks(year: SchoolYear) -> None:
    """Make each planned weekday the same day of week A, with a copy for week B."""
    columns = Column.objects.filter(week__classroom__year=year, day__in=WEEKDAYS).order_by("pk")
    found = list(columns.select_related("week").prefetch_related("blocks__credits", "blocks__uses"))
    touched = {column.week_id for column in found}
    before = contents_of(touched)
    copies = [Column(week=column.week, day=f"B-{column.day}", kind_id=column.kind_id) for column in found]
    Column.objects.bulk_create(copies)
    pairs = list(_copied_blocks(found, copies, _team_blocks_for_week_b(found)))
    Block.objects.bulk_create([copy for _, copy in pairs])
    BlockCredit.objects.bulk_create(
        BlockCredit(block=copy, place=credit.place, activity_id=credit.activity_id, minutes=credit.minutes)
        for block, copy in pairs
        for credit in block.credits.all()
    )
    BlockUse.objects.bulk_create(
        BlockUse(block=copy, resource_id=use.resource_id, amount=use.amount)
        for block, copy in pairs
        for use in block.uses.all()
    )
    for column in found:
        column.day = f"A-{column.day}"
    Column.objects.bulk_update(found, ["day"], batch_size=1000)
    for stretch in FixedStretch.objects.filter(bell_schedule__year=year, days__isnull=False):
        stretch.days = [f"{week}-{day}" for week in WEEKS for day in stretch.days or ()]
        stretch.save(update_fields=["days"])
    weeks = list(Week.objects.filter(pk__in=touched).order_by("pk"))
    for week in weeks:
        week.revision += 1
    Week.objects.bulk_update(weeks, ["revision"], batch_size=1000)
    # Every block of these columns is another than somebody's page shows.
    Block.objects.filter(column__in=[*found, *copies]).update(
        revision=Subquery(Week.objects.filter(columns=OuterRef("column")).values("revision"))
    )
    record(weeks, "both weeks", "Planned each weekday for week A and week B", before=before)


def _team_blocks_for_week_b(columns: Sequence[Column]) -> dict[int, int]:
    """A team block for the second week of each that stands in some columns, by its id: their days differ."""
    held = list(TeamBlock.objects.filter(blocks__column__in=columns).distinct().order_by("pk"))
    twins = TeamBlock.objects.bulk_create(TeamBlock(team_id=one.team_id) for one in held)
    return {one.pk: twin.pk for one, twin in zip(held, twins, strict=True)}


def _copied_blocks(
    columns: Sequence[Column], copies: Sequence[Column], together: Mapping[int, int]
) -> Iterator[tuple[Block, Block]]:
    for column, copy in zip(columns, copies, strict=True):
        for block in column.blocks.all():
            yield (
                block,
                Block(
                    column=copy,
                    start=block.start,
                    end=block.end,
                    activity_id=block.activity_id,
                    why=block.why,
                    together_id=together.get(block.together_id or 0),
                ),
            )
