

import django.contrib.postgres.constraints
import django.db.models.deletion
import django.db.models.functions.text
import django.utils.timezone
import pghistory.utils
import pgtrigger.compiler
import pgtrigger.migrations
import teamroom.common.fields
import teamroom.common.ranges
import teamroom.dates.models
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('dates', '0002_people_places_and_trail'),
        ('members', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='ClassroomEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('pgh_context', pghistory.utils.JSONField(null=True)),
                ('pgh_context_id', models.UUIDField(null=True)),
                ('id', models.BigIntegerField()),
                ('key', teamroom.common.fields.KeyField(max_length=80)),
                ('name', models.CharField(blank=True, max_length=120)),
                ('grades', teamroom.dates.models.Grades(base_field=models.CharField(max_length=20), size=None)),
                ('room', models.CharField(blank=True, max_length=80)),
                ('enrolment', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('cap', models.PositiveSmallIntegerField(blank=True, null=True)),
                ('retired', models.BooleanField(default=False)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='ClassTeacher',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('first_day', models.DateField(blank=True, null=True)),
                ('last_day', models.DateField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='ClassTeacherEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('pgh_context', pghistory.utils.JSONField(null=True)),
                ('pgh_context_id', models.UUIDField(null=True)),
                ('id', models.BigIntegerField()),
                ('first_day', models.DateField(blank=True, null=True)),
                ('last_day', models.DateField(blank=True, null=True)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='DistrictRole',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
            ],
        ),
        migrations.CreateModel(
            name='DistrictRoleEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('pgh_context', pghistory.utils.JSONField(null=True)),
                ('pgh_context_id', models.UUIDField(null=True)),
                ('id', models.BigIntegerField()),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='FirstLink',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('token_hash', models.CharField(editable=False, max_length=64, unique=True)),
                ('made_at', models.DateTimeField(default=django.utils.timezone.now)),
            ],
        ),
        migrations.CreateModel(
            name='Invitation',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('email', models.EmailField(max_length=254)),
                ('name', models.CharField(blank=True, max_length=150)),
                ('token_hash', models.CharField(editable=False, max_length=64, unique=True)),
                ('school_role', models.CharField(blank=True, choices=[('administrator', 'administrator'), ('coordinator', 'coordinator')], max_length=20)),
                ('team_role', models.CharField(blank=True, choices=[('lead', 'lead'), ('teacher', 'teacher'), ('guest', 'guest')], max_length=20)),
                ('invited_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('expires_at', models.DateTimeField()),
                ('accepted_at', models.DateTimeField(blank=True, null=True)),
                ('revoked_at', models.DateTimeField(blank=True, null=True)),
            ],
        ),
        migrations.CreateModel(
            name='InvitationEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('pgh_context', pghistory.utils.JSONField(null=True)),
                ('pgh_context_id', models.UUIDField(null=True)),
                ('id', models.BigIntegerField()),
                ('email', models.EmailField(max_length=254)),
                ('name', models.CharField(blank=True, max_length=150)),
                ('school_role', models.CharField(blank=True, choices=[('administrator', 'administrator'), ('coordinator', 'coordinator')], max_length=20)),
                ('team_role', models.CharField(blank=True, choices=[('lead', 'lead'), ('teacher', 'teacher'), ('guest', 'guest')], max_length=20)),
                ('invited_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('expires_at', models.DateTimeField()),
                ('accepted_at', models.DateTimeField(blank=True, null=True)),
                ('revoked_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Letter',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('to', models.EmailField(max_length=254)),
                ('subject', models.CharField(max_length=300)),
                ('text', models.TextField(blank=True)),
                ('html', models.TextField(blank=True)),
                ('made_at', models.DateTimeField(default=django.utils.timezone.now)),
                ('next_try_at', models.DateTimeField(db_index=True, default=django.utils.timezone.now)),
                ('tries', models.PositiveSmallIntegerField(default=0)),
                ('sent_at', models.DateTimeField(blank=True, null=True)),
                ('fault', models.CharField(blank=True, max_length=500)),
            ],
        ),
        migrations.CreateModel(
            name='SchoolRoleEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('pgh_context', pghistory.utils.JSONField(null=True)),
                ('pgh_context_id', models.UUIDField(null=True)),
                ('id', models.BigIntegerField()),
                ('role', models.CharField(choices=[('administrator', 'administrator'), ('coordinator', 'coordinator')], max_length=20)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='TeamEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('pgh_context', pghistory.utils.JSONField(null=True)),
                ('pgh_context_id', models.UUIDField(null=True)),
                ('id', models.BigIntegerField()),
                ('key', teamroom.common.fields.KeyField(max_length=80)),
                ('name', models.CharField(max_length=120)),
                ('grades', teamroom.dates.models.Grades(base_field=models.CharField(max_length=20), size=None)),
                ('edits_together', models.BooleanField(default=False)),
                ('retired', models.BooleanField(default=False)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='TeamRoleEvent',
            fields=[
                ('pgh_id', models.AutoField(primary_key=True, serialize=False)),
                ('pgh_created_at', models.DateTimeField(auto_now_add=True)),
                ('pgh_label', models.TextField(help_text='The event label.')),
                ('pgh_context', pghistory.utils.JSONField(null=True)),
                ('pgh_context_id', models.UUIDField(null=True)),
                ('id', models.BigIntegerField()),
                ('role', models.CharField(choices=[('lead', 'lead'), ('teacher', 'teacher'), ('guest', 'guest')], max_length=20)),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='classroom',
            name='retired',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='team',
            name='edits_together',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='team',
            name='retired',
            field=models.BooleanField(default=False),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='classroom',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "members_classroomevent" ("cap", "enrolment", "grades", "id", "key", "name", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "retired", "room", "team_id", "year_id") VALUES (NEW."cap", NEW."enrolment", NEW."grades", NEW."id", NEW."key", NEW."name", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'insert\', NEW."id", NEW."retired", NEW."room", NEW."team_id", NEW."year_id"); RETURN NULL;', hash='b52bc0e69adee2e636c77df5b6cd29938c9648b7', operation='INSERT', pgid='pgtrigger_insert_insert_a6213', table='members_classroom', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='classroom',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "members_classroomevent" ("cap", "enrolment", "grades", "id", "key", "name", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "retired", "room", "team_id", "year_id") VALUES (NEW."cap", NEW."enrolment", NEW."grades", NEW."id", NEW."key", NEW."name", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'update\', NEW."id", NEW."retired", NEW."room", NEW."team_id", NEW."year_id"); RETURN NULL;', hash='a44f60003c777926e700ec422a89e686e21b8032', operation='UPDATE', pgid='pgtrigger_update_update_c9c9c', table='members_classroom', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='classroom',
            trigger=pgtrigger.compiler.Trigger(name='delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "members_classroomevent" ("cap", "enrolment", "grades", "id", "key", "name", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "retired", "room", "team_id", "year_id") VALUES (OLD."cap", OLD."enrolment", OLD."grades", OLD."id", OLD."key", OLD."name", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'delete\', OLD."id", OLD."retired", OLD."room", OLD."team_id", OLD."year_id"); RETURN NULL;', hash='6affdc78db497c3ac84bb6626eddbfc38ecf0d21', operation='DELETE', pgid='pgtrigger_delete_delete_0cd1f', table='members_classroom', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='schoolrole',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "members_schoolroleevent" ("id", "member_id", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "role", "school_id") VALUES (NEW."id", NEW."member_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'insert\', NEW."id", NEW."role", NEW."school_id"); RETURN NULL;', hash='04529a3823754f092da3f4e48922205e294c4c8e', operation='INSERT', pgid='pgtrigger_insert_insert_e867a', table='members_schoolrole', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='schoolrole',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "members_schoolroleevent" ("id", "member_id", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "role", "school_id") VALUES (NEW."id", NEW."member_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'update\', NEW."id", NEW."role", NEW."school_id"); RETURN NULL;', hash='b72a26a61ea9cc38febb6f363433f95528f836a2', operation='UPDATE', pgid='pgtrigger_update_update_fda37', table='members_schoolrole', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='schoolrole',
            trigger=pgtrigger.compiler.Trigger(name='delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "members_schoolroleevent" ("id", "member_id", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "role", "school_id") VALUES (OLD."id", OLD."member_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'delete\', OLD."id", OLD."role", OLD."school_id"); RETURN NULL;', hash='cd8c1c042af08ec9111786bd76ef202fdf69ad16', operation='DELETE', pgid='pgtrigger_delete_delete_629e3', table='members_schoolrole', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='team',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "members_teamevent" ("edits_together", "grades", "id", "key", "name", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "retired", "year_id") VALUES (NEW."edits_together", NEW."grades", NEW."id", NEW."key", NEW."name", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'insert\', NEW."id", NEW."retired", NEW."year_id"); RETURN NULL;', hash='939a9428071456e13b783983907b57f8c0ca98a7', operation='INSERT', pgid='pgtrigger_insert_insert_fe166', table='members_team', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='team',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "members_teamevent" ("edits_together", "grades", "id", "key", "name", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "retired", "year_id") VALUES (NEW."edits_together", NEW."grades", NEW."id", NEW."key", NEW."name", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'update\', NEW."id", NEW."retired", NEW."year_id"); RETURN NULL;', hash='41698b91c9ebf28d19c166f8b5b11deec50a16c5', operation='UPDATE', pgid='pgtrigger_update_update_8dbc3', table='members_team', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='team',
            trigger=pgtrigger.compiler.Trigger(name='delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "members_teamevent" ("edits_together", "grades", "id", "key", "name", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "retired", "year_id") VALUES (OLD."edits_together", OLD."grades", OLD."id", OLD."key", OLD."name", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'delete\', OLD."id", OLD."retired", OLD."year_id"); RETURN NULL;', hash='cdbd8c5199aad3e870e7e5d0999dba6f8704ae78', operation='DELETE', pgid='pgtrigger_delete_delete_8f5c6', table='members_team', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='teamrole',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "members_teamroleevent" ("id", "member_id", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "role", "team_id") VALUES (NEW."id", NEW."member_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'insert\', NEW."id", NEW."role", NEW."team_id"); RETURN NULL;', hash='40d0a2d36cdc930b22f03e91875c40abd888a169', operation='INSERT', pgid='pgtrigger_insert_insert_eeb2f', table='members_teamrole', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='teamrole',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "members_teamroleevent" ("id", "member_id", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "role", "team_id") VALUES (NEW."id", NEW."member_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'update\', NEW."id", NEW."role", NEW."team_id"); RETURN NULL;', hash='61443a588d67e51f825595384c1ce9ed60f94d65', operation='UPDATE', pgid='pgtrigger_update_update_523a1', table='members_teamrole', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='teamrole',
            trigger=pgtrigger.compiler.Trigger(name='delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "members_teamroleevent" ("id", "member_id", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "role", "team_id") VALUES (OLD."id", OLD."member_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'delete\', OLD."id", OLD."role", OLD."team_id"); RETURN NULL;', hash='0d4e64c743a19aee8f96158e1bf79e77cbd7eb1a', operation='DELETE', pgid='pgtrigger_delete_delete_86092', table='members_teamrole', when='AFTER')),
        ),
        migrations.AddField(
            model_name='classroomevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='members.classroom'),
        ),
        migrations.AddField(
            model_name='classroomevent',
            name='team',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='members.team'),
        ),
        migrations.AddField(
            model_name='classroomevent',
            name='year',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='dates.schoolyear'),
        ),
        migrations.AddField(
            model_name='classteacher',
            name='classroom',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='class_teachers', to='members.classroom'),
        ),
        migrations.AddField(
            model_name='classteacher',
            name='member',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='class_teaching', to=settings.AUTH_USER_MODEL),
        ),
        # A class's teachers get a table with dates. The old one's rows go over before it goes.
        migrations.RunSQL(
            [
                "SET CONSTRAINTS ALL IMMEDIATE",
                "INSERT INTO members_classteacher (classroom_id, member_id)"
                " SELECT classroom_id, member_id FROM members_classroom_teachers",
                "DROP TABLE members_classroom_teachers",
            ],
            state_operations=[
                migrations.AlterField(
                    model_name='classroom',
                    name='teachers',
                    field=models.ManyToManyField(blank=True, related_name='classrooms', through='members.ClassTeacher', to=settings.AUTH_USER_MODEL),
                ),
            ],
        ),
        migrations.AddField(
            model_name='classteacherevent',
            name='classroom',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='members.classroom'),
        ),
        migrations.AddField(
            model_name='classteacherevent',
            name='member',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='classteacherevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='members.classteacher'),
        ),
        migrations.AddField(
            model_name='districtrole',
            name='member',
            field=models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='district_role', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='districtroleevent',
            name='member',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='districtroleevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='members.districtrole'),
        ),
        migrations.AddField(
            model_name='invitation',
            name='accepted_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='invitation',
            name='classroom',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='members.classroom'),
        ),
        migrations.AddField(
            model_name='invitation',
            name='invited_by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='invitation',
            name='school',
            field=models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='invitations', to='dates.school'),
        ),
        migrations.AddField(
            model_name='invitation',
            name='team',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to='members.team'),
        ),
        migrations.AddField(
            model_name='invitationevent',
            name='accepted_by',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='invitationevent',
            name='classroom',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='members.classroom'),
        ),
        migrations.AddField(
            model_name='invitationevent',
            name='invited_by',
            field=models.ForeignKey(db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='invitationevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='members.invitation'),
        ),
        migrations.AddField(
            model_name='invitationevent',
            name='school',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='dates.school'),
        ),
        migrations.AddField(
            model_name='invitationevent',
            name='team',
            field=models.ForeignKey(blank=True, db_constraint=False, null=True, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='members.team'),
        ),
        migrations.AddField(
            model_name='schoolroleevent',
            name='member',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='schoolroleevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='members.schoolrole'),
        ),
        migrations.AddField(
            model_name='schoolroleevent',
            name='school',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='dates.school'),
        ),
        migrations.AddField(
            model_name='teamevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='members.team'),
        ),
        migrations.AddField(
            model_name='teamevent',
            name='year',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='dates.schoolyear'),
        ),
        migrations.AddField(
            model_name='teamroleevent',
            name='member',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='teamroleevent',
            name='pgh_obj',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='members.teamrole'),
        ),
        migrations.AddField(
            model_name='teamroleevent',
            name='team',
            field=models.ForeignKey(db_constraint=False, on_delete=django.db.models.deletion.DO_NOTHING, related_name='+', related_query_name='+', to='members.team'),
        ),
        migrations.AddConstraint(
            model_name='classteacher',
            constraint=models.CheckConstraint(condition=models.Q(('first_day__isnull', True), ('last_day__isnull', True), ('first_day__lte', models.F('last_day')), _connector='OR'), name='class_teaching_runs_forward', violation_error_message='The last day comes before the first.'),
        ),
        migrations.AddConstraint(
            model_name='classteacher',
            constraint=django.contrib.postgres.constraints.ExclusionConstraint(expressions=[(models.F('classroom'), '='), (models.F('member'), '='), (teamroom.common.ranges.DateSpan('first_day', 'last_day'), '&&')], name='class_taught_once_at_a_time', violation_error_message='They teach this class on some of these dates already.'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='classteacher',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "members_classteacherevent" ("classroom_id", "first_day", "id", "last_day", "member_id", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id") VALUES (NEW."classroom_id", NEW."first_day", NEW."id", NEW."last_day", NEW."member_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'insert\', NEW."id"); RETURN NULL;', hash='1a22d5b2e80facf0c5e6700667c97fef6258e098', operation='INSERT', pgid='pgtrigger_insert_insert_36463', table='members_classteacher', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='classteacher',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "members_classteacherevent" ("classroom_id", "first_day", "id", "last_day", "member_id", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id") VALUES (NEW."classroom_id", NEW."first_day", NEW."id", NEW."last_day", NEW."member_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'update\', NEW."id"); RETURN NULL;', hash='53b46ec76b9f0c6a153530d843af6299d18fcea4', operation='UPDATE', pgid='pgtrigger_update_update_cbec8', table='members_classteacher', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='classteacher',
            trigger=pgtrigger.compiler.Trigger(name='delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "members_classteacherevent" ("classroom_id", "first_day", "id", "last_day", "member_id", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id") VALUES (OLD."classroom_id", OLD."first_day", OLD."id", OLD."last_day", OLD."member_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'delete\', OLD."id"); RETURN NULL;', hash='93bbd62ee721e6264bf669b5b3ff0cee14e27694', operation='DELETE', pgid='pgtrigger_delete_delete_31a65', table='members_classteacher', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='districtrole',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "members_districtroleevent" ("id", "member_id", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id") VALUES (NEW."id", NEW."member_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'insert\', NEW."id"); RETURN NULL;', hash='638533ed8fbd8456d6055a8e61ca9717c0366c14', operation='INSERT', pgid='pgtrigger_insert_insert_f5919', table='members_districtrole', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='districtrole',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD.* IS DISTINCT FROM NEW.*)', func='INSERT INTO "members_districtroleevent" ("id", "member_id", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id") VALUES (NEW."id", NEW."member_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'update\', NEW."id"); RETURN NULL;', hash='c2b3336362a7c72ff657510e31516cf284e1ba20', operation='UPDATE', pgid='pgtrigger_update_update_b7441', table='members_districtrole', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='districtrole',
            trigger=pgtrigger.compiler.Trigger(name='delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "members_districtroleevent" ("id", "member_id", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id") VALUES (OLD."id", OLD."member_id", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'delete\', OLD."id"); RETURN NULL;', hash='87615b0c6528767d2bb4131dc15825cf3f668523', operation='DELETE', pgid='pgtrigger_delete_delete_99c30', table='members_districtrole', when='AFTER')),
        ),
        migrations.AddConstraint(
            model_name='invitation',
            constraint=models.UniqueConstraint(models.F('school'), django.db.models.functions.text.Lower('email'), condition=models.Q(('accepted_at__isnull', True), ('revoked_at__isnull', True)), name='one_open_invitation_an_address', violation_error_message='This address has an open invitation already.'),
        ),
        migrations.AddConstraint(
            model_name='invitation',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('team__isnull', True), ('team_role', '')), models.Q(('team__isnull', False), ('team_role__in', ('lead', 'teacher', 'guest'))), _connector='OR'), name='invitation_team_with_role'),
        ),
        migrations.AddConstraint(
            model_name='invitation',
            constraint=models.CheckConstraint(condition=models.Q(('school_role__in', ['', 'administrator', 'coordinator'])), name='invitation_role_known'),
        ),
        migrations.AddConstraint(
            model_name='invitation',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('school_role', ''), _negated=True), ('team__isnull', False), ('classroom__isnull', False), _connector='OR'), name='invitation_gives_something', violation_error_message='Say what the invitation gives: a role in the school or in a team.'),
        ),
        migrations.AddConstraint(
            model_name='invitation',
            constraint=models.CheckConstraint(condition=models.Q(('accepted_at__isnull', True), ('revoked_at__isnull', True), _connector='OR'), name='invitation_has_one_end'),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='invitation',
            trigger=pgtrigger.compiler.Trigger(name='insert_insert', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "members_invitationevent" ("accepted_at", "accepted_by_id", "classroom_id", "email", "expires_at", "id", "invited_at", "invited_by_id", "name", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "revoked_at", "school_id", "school_role", "team_id", "team_role") VALUES (NEW."accepted_at", NEW."accepted_by_id", NEW."classroom_id", NEW."email", NEW."expires_at", NEW."id", NEW."invited_at", NEW."invited_by_id", NEW."name", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'insert\', NEW."id", NEW."revoked_at", NEW."school_id", NEW."school_role", NEW."team_id", NEW."team_role"); RETURN NULL;', hash='dcaa25f4dd3b321f918387bac65fd3b78919bc79', operation='INSERT', pgid='pgtrigger_insert_insert_df347', table='members_invitation', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='invitation',
            trigger=pgtrigger.compiler.Trigger(name='update_update', sql=pgtrigger.compiler.UpsertTriggerSql(condition='WHEN (OLD."accepted_at" IS DISTINCT FROM (NEW."accepted_at") OR OLD."accepted_by_id" IS DISTINCT FROM (NEW."accepted_by_id") OR OLD."classroom_id" IS DISTINCT FROM (NEW."classroom_id") OR OLD."email" IS DISTINCT FROM (NEW."email") OR OLD."expires_at" IS DISTINCT FROM (NEW."expires_at") OR OLD."id" IS DISTINCT FROM (NEW."id") OR OLD."invited_at" IS DISTINCT FROM (NEW."invited_at") OR OLD."invited_by_id" IS DISTINCT FROM (NEW."invited_by_id") OR OLD."name" IS DISTINCT FROM (NEW."name") OR OLD."revoked_at" IS DISTINCT FROM (NEW."revoked_at") OR OLD."school_id" IS DISTINCT FROM (NEW."school_id") OR OLD."school_role" IS DISTINCT FROM (NEW."school_role") OR OLD."team_id" IS DISTINCT FROM (NEW."team_id") OR OLD."team_role" IS DISTINCT FROM (NEW."team_role"))', func='INSERT INTO "members_invitationevent" ("accepted_at", "accepted_by_id", "classroom_id", "email", "expires_at", "id", "invited_at", "invited_by_id", "name", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "revoked_at", "school_id", "school_role", "team_id", "team_role") VALUES (NEW."accepted_at", NEW."accepted_by_id", NEW."classroom_id", NEW."email", NEW."expires_at", NEW."id", NEW."invited_at", NEW."invited_by_id", NEW."name", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'update\', NEW."id", NEW."revoked_at", NEW."school_id", NEW."school_role", NEW."team_id", NEW."team_role"); RETURN NULL;', hash='18ffbc2f5c68523f7f791b80cdbd608214bd99f4', operation='UPDATE', pgid='pgtrigger_update_update_34c15', table='members_invitation', when='AFTER')),
        ),
        pgtrigger.migrations.AddTrigger(
            model_name='invitation',
            trigger=pgtrigger.compiler.Trigger(name='delete_delete', sql=pgtrigger.compiler.UpsertTriggerSql(func='INSERT INTO "members_invitationevent" ("accepted_at", "accepted_by_id", "classroom_id", "email", "expires_at", "id", "invited_at", "invited_by_id", "name", "pgh_context", "pgh_context_id", "pgh_created_at", "pgh_label", "pgh_obj_id", "revoked_at", "school_id", "school_role", "team_id", "team_role") VALUES (OLD."accepted_at", OLD."accepted_by_id", OLD."classroom_id", OLD."email", OLD."expires_at", OLD."id", OLD."invited_at", OLD."invited_by_id", OLD."name", COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_metadata\', TRUE), \'\'), NULL)::JSONB, COALESCE(NULLIF(CURRENT_SETTING(\'pghistory.context_id\', TRUE), \'\'), NULL)::UUID, NOW(), \'delete\', OLD."id", OLD."revoked_at", OLD."school_id", OLD."school_role", OLD."team_id", OLD."team_role"); RETURN NULL;', hash='2aabf687391a3a6489b252dda5c19e19d5a8ca2b', operation='DELETE', pgid='pgtrigger_delete_delete_1089f', table='members_invitation', when='AFTER')),
        ),
    ]
