"""What a draft's pages say of the weeks it stands beside."""

from django.db.models import Q

from scheduling.models import Week
from scheduling.selectors.week_sheet import version_said


def version_from_same_date(draft: Week) -> Week | None:
    """The version in effect from the very date a draft is for."""
    return Week.objects.filter(classroom=draft.classroom_id, starts=draft.starts, draft=False).first()


def in_effect_then(week: Week) -> Week | None:
    """The other week in effect on a week's first day."""
    others = Week.objects.filter(classroom=week.classroom_id, draft=False, starts__lte=week.starts)
    return others.exclude(pk=week.pk).select_related("classroom").order_by("-starts").first()


def comparable(week: Week, other: Week) -> bool:
    """Whether two weeks may stand side by side: of one year, and of one classroom, team or grade."""
    mine, theirs = week.classroom, other.classroom
    if mine.year_id != theirs.year_id:
        return False
    return mine.team_id == theirs.team_id or bool(set(mine.grades) & set(theirs.grades))


def to_compare(week: Week) -> list[tuple[int, str]]:
    """The other weeks of the classroom and its team, by id, in words."""
    room = week.classroom
    weeks = Week.objects.filter(Q(classroom=room) | Q(classroom__team=room.team_id, draft=False))
    found = weeks.filter(classroom__retired=False).exclude(pk=week.pk).select_related("classroom", "drafted_by")
    return [
        (one.pk, version_said(one) if one.classroom_id == room.pk else f"{one.classroom} {version_said(one)}")
        for one in found.order_by("classroom__name", "classroom", "starts", "pk")
    ]
