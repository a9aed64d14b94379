"""Every week's history begins with what the week began with, worked out backwards from what it is."""

import json

from django.db import migrations

# A week's blocks now, as the history keeps them. None of them has uses or a team block yet.
CONTENTS = """
    SELECT jsonb_build_object(
        'block', block.id, 'day', col.day, 'kind', kind.key, 'start', block.start, 'end', block."end",
        'activity', activity.key, 'why', block.why,
        'credits', COALESCE((
            SELECT jsonb_agg(jsonb_build_array(credited.key, credit.minutes) ORDER BY credit.place)
            FROM scheduling_blockcredit credit JOIN scheduling_activity credited ON credited.id = credit.activity_id
            WHERE credit.block_id = block.id
        ), '[]'::jsonb)
    )
    FROM scheduling_column col
    JOIN scheduling_block block ON block.column_id = col.id
    JOIN dates_daykind kind ON kind.id = col.kind_id
    JOIN scheduling_activity activity ON activity.id = block.activity_id
    WHERE col.week_id = %s ORDER BY block.id
"""
# A record dated today would say that a week edited for months began today.
AS_OLD_AS_THE_REST = """
    UPDATE scheduling_weekchange first SET made_at = rest.begun
    FROM (SELECT week_id, min(made_at) AS begun FROM scheduling_weekchange WHERE revision > 1 GROUP BY week_id) rest
    WHERE first.revision = 1 AND rest.week_id = first.week_id
"""


# A cycle of two weeks used to raise a week's revision and record nothing; what a revision without a
# record did was this and only this.
PLANNED_BOTH_WEEKS = "Planned each weekday for week A and week B"


def placed(kept):
    return {name: value for name, value in kept.items() if name != "new_column"}


def before_both_weeks(state):
    """A week before its weekdays became those of week A, with copies for week B."""
    was = {}
    for block, kept in state.items():
        week, dash, day = kept["day"].partition("-")
        if week == "A" and dash:
            was[block] = {**kept, "day": day}
        elif week != "B" or not dash:
            was[block] = kept
    return was


def recorded(week, revision, before, after, **rest):
    differs = [
        [kept for block, kept in sorted(side.items()) if other.get(block) != kept]
        for side, other in ((before, after), (after, before))
    ]
    return {"week": week, "revision": revision, "before": differs[0], "after": differs[1], **rest}


def first_records(week, state, changes):
    """The records a week lacks, as values, worked out backwards from its blocks and the records it has."""
    lacking = []
    for revision in range(week.revision, 1, -1):
        if revision in changes:
            before, after = changes[revision]
            for kept in after:
                state.pop(kept["block"], None)
            state |= {kept["block"]: placed(kept) for kept in before}
        else:
            was = before_both_weeks(state)
            lacking.append(recorded(week, revision, was, state, deed="both weeks", summary=PLANNED_BOTH_WEEKS))
            state = was
    if state:
        summary = "As it was when its history began"
        lacking.append(recorded(week, 1, {}, state, deed="load", summary=summary))
    return lacking


def write_first_records(apps, schema_editor):
    Week, WeekChange = (apps.get_model("scheduling", name) for name in ("Week", "WeekChange"))
    records = []
    for week in Week.objects.order_by("pk").iterator():
        found = WeekChange.objects.filter(week=week).values_list("revision", "before", "after")
        changes = {revision: (before, after) for revision, before, after in found}
        if 1 in changes:
            continue
        with schema_editor.connection.cursor() as cursor:
            cursor.execute(CONTENTS, [week.pk])
            state = {kept["block"]: kept for (text,) in cursor.fetchall() for kept in [json.loads(text)]}
        records += [WeekChange(**values) for values in first_records(week, state, changes)]
    WeekChange.objects.bulk_create(records, batch_size=500)
    with schema_editor.connection.cursor() as cursor:
        cursor.execute(AS_OLD_AS_THE_REST)


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0006_working_together")]
    operations = [migrations.RunPython(write_first_records, migrations.RunPython.noop)]
