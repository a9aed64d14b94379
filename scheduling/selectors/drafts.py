"""What a draft's pages say of the weeks it stands beside."""

from scheduling.models import Week


def version_from_same_date(draft: Week) -> Week | None:
    """The version in effect from the very date a draft is for."""
    return Week.objects.filter(classroom=draft.classroom_id, starts=draft.starts, draft=False).first()


def in_effect_then(week: Week) -> Week | None:
    """The other week in effect on a week's first day."""
    others = Week.objects.filter(classroom=week.classroom_id, draft=False, starts__lte=week.starts)
    return others.exclude(pk=week.pk).select_related("classroom").order_by("-starts").first()
