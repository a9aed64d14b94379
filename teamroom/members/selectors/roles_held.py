"""The roles a member holds towards a place today, in one query.

It is written in SQL because every page and every edit asks it, and composing it of models took
several times as long as the database needs to answer; the tests hold the names to the models' tables.
"""

from django.db import connection

from teamroom.dates.models import School, SchoolYear
from teamroom.members.models import Classroom, Member, Team
from teamroom.members.roles import Role

OF_DISTRICT = "SELECT 'district administrator' FROM members_districtrole WHERE member_id = %(member)s"
OF_SCHOOL = "SELECT role FROM members_schoolrole WHERE member_id = %(member)s AND school_id = %(school)s"
# A teacher's role says whether the team edits together, as that decides what they may do.
OF_TEAMS = """
    SELECT CASE WHEN held.role = 'teacher' AND team.edits_together THEN 'teacher, editing together' ELSE held.role END
    FROM members_teamrole held JOIN members_team team ON team.id = held.team_id
    WHERE held.member_id = %(member)s
"""
# As of today at the school, like `taught_today`.
OF_CLASSES = """
    SELECT 'own classroom'
    FROM members_classteacher held
    JOIN members_classroom room ON room.id = held.classroom_id
    JOIN dates_schoolyear year ON year.id = room.year_id
    JOIN dates_school school ON school.id = year.school_id
    WHERE held.member_id = %(member)s
        AND (statement_timestamp() AT TIME ZONE school.time_zone)::date
            BETWEEN coalesce(held.first_day, '-infinity') AND coalesce(held.last_day, 'infinity')
"""
TOGETHER = " UNION ALL "
IN_DISTRICT = OF_DISTRICT
IN_SCHOOL = TOGETHER.join([OF_DISTRICT, OF_SCHOOL])
IN_YEAR = TOGETHER.join([IN_SCHOOL, f"{OF_TEAMS} AND team.year_id = %(year)s", f"{OF_CLASSES} AND year.id = %(year)s"])
IN_TEAM = TOGETHER.join([IN_SCHOOL, f"{OF_TEAMS} AND team.id = %(team)s"])
IN_CLASSROOM = TOGETHER.join([IN_TEAM, f"{OF_CLASSES} AND room.id = %(classroom)s"])


def roles_in_district(member: Member) -> set[Role]:
    return _held(IN_DISTRICT, member)


def roles_in_school(member: Member, school: School) -> set[Role]:
    """What a member is to a whole school, and to the district."""
    return _held(IN_SCHOOL, member, school=school.pk)


def roles_in_year(member: Member, year: SchoolYear) -> set[Role]:
    """Every role a member holds towards a year: of its school, of any of its teams and classrooms."""
    return _held(IN_YEAR, member, year=year.pk, school=year.school_id)


def roles_in_team(member: Member, team: Team) -> set[Role]:
    """Every role a member holds towards a team: of its school, and of its own."""
    return _held(IN_TEAM, member, team=team.pk, school=team.year.school_id)


def roles_in_classroom(member: Member, classroom: Classroom) -> set[Role]:
    """Every role a member holds towards a classroom: of its school, of its team, of its own."""
    place = {"team": classroom.team_id, "classroom": classroom.pk, "school": classroom.year.school_id}
    return _held(IN_CLASSROOM, member, **place)


def _held(sql: str, member: Member, **place: int) -> set[Role]:
    with connection.cursor() as cursor:
        cursor.execute(sql, {"member": member.pk, **place})
        return {role for (role,) in cursor.fetchall()}
