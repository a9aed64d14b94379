"""Every week's history begins with what the week began with, worked out backwards from what it is."""

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


def placed(kept):
    return {name: value for name, value in kept.items() if name != "new_column"}


def write_first_records(apps, schema_editor):
    Week, WeekChange = (apps.get_model("scheduling", name) for name in ("Week", "WeekChange"))
    records = []
    for week in Week.objects.order_by("pk").iterator():
        changes = list(WeekChange.objects.filter(week=week).order_by("-revision").values_list("revision", "before", "after"))
        if changes and changes[-1][0] == 1:
            continue
        with schema_editor.connection.cursor() as cursor:
            cursor.execute(CONTENTS, [week.pk])
            state = {kept["block"]: kept for (kept,) in cursor.fetchall()}
        for _, before, after in changes:
            for kept in after:
                state.pop(kept["block"], None)
            state |= {kept["block"]: placed(kept) for kept in before}
        if state:
            records.append(
                WeekChange(
                    week=week, revision=1, deed="load", summary="As it was when its history began", before=[],
                    after=[state[block] for block in sorted(state)],
                )
            )
    WeekChange.objects.bulk_create(records, batch_size=500)
    with schema_editor.connection.cursor() as cursor:
        cursor.execute(AS_OLD_AS_THE_REST)


class Migration(migrations.Migration):
    dependencies = [("scheduling", "0006_working_together")]
    operations = [migrations.RunPython(write_first_records, migrations.RunPython.noop)]
