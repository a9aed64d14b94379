"""Adopting published rules: what a school gets, what it is told, and that twice is once."""

import datetime as dt
import json
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from scheduling.minutes.definitions import body_of, rule_from
from scheduling.minutes.rules import Rule as MinutesRule
from scheduling.models import Activity, Block, Column, Reading, Rule, Week
from scheduling.rule_library.library import all_rules, jurisdiction, jurisdictions
from scheduling.services.rule_adoption import Adoption, adopt, planned_adoption
from teamroom.common.errors import RuleBroken
from teamroom.dates.models import DayKind, School, SchoolYear
from teamroom.members.models import Classroom, Team

pytestmark = pytest.mark.django_db

LABELS = ("name", "standing", "citation", "effective", "not_checkable", "note")


def meaning(written: dict[str, Any]) -> MinutesRule:
    """What a written rule demands; a dump leaves defaults unsaid."""
    return rule_from(body_of(written), key=written["key"], grades=frozenset())


@pytest.fixture
def year() -> SchoolYear:
    """A year with one class of grade 3 and one of grade 4 that plan mathematics, recess and PE."""
    school = School.objects.create(name="Hilltop", time_zone="America/Denver")
    year = SchoolYear.objects.create(
        school=school, name="2026-27", first_day=dt.date(2026, 9, 8), last_day=dt.date(2027, 6, 17)
    )
    DayKind.objects.create(year=year, key="regular", name="Regular")
    for key in ("math", "recess", "pe"):
        Activity.objects.create(year=year, key=key, name=key.upper())
    for grade in ("3", "4"):
        team = Team.objects.create(year=year, key=f"team{grade}", name=f"Grade {grade}", grades=[grade])
        Classroom.objects.create(year=year, team=team, key=f"room{grade}", grades=[grade])
    return year


def take(year: SchoolYear, place: str, **options: object) -> Adoption:
    return adopt(year, place=jurisdiction(place), **options)  # type: ignore[arg-type]  # as adopt takes them


def keys(year: SchoolYear) -> set[str]:
    return set(Rule.objects.filter(year=year).values_list("key", flat=True))


def run(*words: str) -> str:
    out = StringIO()
    call_command(*words, stdout=out)
    return out.getvalue()


def test_adopting_a_state_takes_its_general_rules_for_the_school_s_grades(year: SchoolYear) -> None:
    take(year, "us-ca")
    assert keys(year) == {
        "us-ca-annual-1-3",
        "us-ca-annual-4-8",
        "us-ca-minday-1-3",
        "us-ca-minday-4-8",
        "us-ca-pe-1-6",
        "us-ca-math-framework",
    }
    grades = dict(Rule.objects.filter(year=year).values_list("key", "grades"))
    assert (grades["us-ca-annual-4-8"], grades["us-ca-pe-1-6"]) == (["4"], ["3", "4"])


def test_a_rule_keeps_its_source_and_a_note(year: SchoolYear) -> None:
    take(year, "us-ca", only=["us-ca-math-framework"])
    rule = Rule.objects.get(key="us-ca-math-framework")
    assert rule.citation_title == "California Mathematics Framework 2005, chapter 1"
    assert rule.citation_url == "https://pubs.cde.ca.gov/tcsii/ch3/rdmdrqirdinstmin.aspx"
    assert rule.citation_checked == dt.date(2026, 11, 25)
    assert rule.standing == "advice"
    assert "re-check it against the official text" in rule.note
    assert rule.body == {"pool": {"of": ["math"]}, "recommended": 50, "window": "day"}


def test_adopting_twice_changes_nothing(year: SchoolYear) -> None:
    take(year, "us-ca")
    before = list(Rule.objects.values()), list(Activity.objects.values()), SchoolYear.objects.get().revision
    again = take(year, "us-ca")
    assert not again
    assert len(again.unchanged) == 6
    assert (list(Rule.objects.values()), list(Activity.objects.values()), SchoolYear.objects.get().revision) == before


def test_a_rule_the_school_edited_is_left_as_it_is(year: SchoolYear) -> None:
    take(year, "us-nj")
    Rule.objects.update(name="Our recess", body={"pool": {"of": ["recess"]}, "at_least": 25, "window": "day"})
    take(year, "us-nj")
    rule = Rule.objects.get()
    assert (rule.name, rule.body["at_least"]) == ("Our recess", 25)


def test_a_second_grade_widens_the_rule_that_is_there(year: SchoolYear) -> None:
    take(year, "us-nj", grades=["4"])
    assert Rule.objects.get().grades == ["4"]
    adoption = take(year, "us-nj", grades=["3", "4"])
    assert [more for _, more in adoption.widened] == [["3"]]
    assert Rule.objects.get().grades == ["4", "3"]


def test_activities_the_school_lacks_are_created_by_the_library_s_name(year: SchoolYear) -> None:
    adoption = take(year, "us-mn")
    assert adoption.created == {"breakfast": "Breakfast", "lunch": "Lunch", "passing": "Passing"}
    assert Activity.objects.get(key="lunch").name == "Lunch"
    assert Activity.objects.get(key="recess").name == "RECESS"


def test_a_mapped_activity_is_not_created_and_the_rule_speaks_of_the_school_s_own(year: SchoolYear) -> None:
    Activity.objects.create(year=year, key="midday", name="Midday meal")
    adoption = take(year, "us-mn", names={"lunch": "midday"})
    assert "lunch" not in adoption.created
    rule = Rule.objects.get()
    assert rule.body["all"][0]["pool"] == {"except": ["breakfast", "midday", "recess", "passing"]}


def test_a_mapping_that_makes_a_rule_count_too_much_is_cautioned(year: SchoolYear) -> None:
    Activity.objects.create(year=year, key="ela", name="ELA")
    names = {"reading": "ela", "language_arts": "ela"}
    adoption = take(year, "us-mo", only=["us-mo-recommended-1-3-reading"], names=names)
    assert list(dict.fromkeys(map(str, adoption.cautions))) == [
        "us-mo-recommended-1-3-reading does not count language_arts, yet the school's ela holds it too."
    ]
    whole = take(year, "us-va", only=["us-va-core4-elem"], names={**names, "english": "ela"})
    assert whole.cautions == []
    assert Rule.objects.get(key="us-va-core4-elem").body["pool"]["of"] == ["ela", "math", "science", "social_studies"]


@pytest.mark.parametrize("names", [{"reading": "nothing here"}, {"no such": "math"}])
def test_a_mapping_from_or_to_an_unknown_activity_is_refused(year: SchoolYear, names: dict[str, str]) -> None:
    with pytest.raises(RuleBroken, match="has no activity"):
        take(year, "us-ca", names=names)
    assert not Rule.objects.exists()


def test_special_cases_and_expired_rules_stay_out_with_their_reason_until_named(year: SchoolYear) -> None:
    left_out = {rule.key: reason for rule, reason in planned_adoption(year, place=jurisdiction("us-ca")).left_out}
    assert left_out["us-ca-minday-k"] == "for grades K only"
    assert left_out["us-ca-minday-avg10-4-8"].startswith("only for: the school uses the ten-day average")
    assert left_out["us-ca-annual-reduced-2009-15-4-8"].startswith("not in force in this year")
    take(year, "us-ca", only=["us-ca-minday-avg10-4-8", "us-ca-annual-reduced-2009-15-4-8"])
    assert keys(year) == {"us-ca-minday-avg10-4-8", "us-ca-annual-reduced-2009-15-4-8"}


def test_a_rule_for_shorter_days_takes_the_year_s_own_day_kinds(year: SchoolYear) -> None:
    (left,) = [reason for rule, reason in take(year, "us-il").left_out if rule.key == "us-il-play-k5-short-days"]
    assert left == "for other kinds of day than regular, and the year has none"
    DayKind.objects.create(year=year, key="minimum", name="Minimum day")
    take(year, "us-il")
    assert Rule.objects.get(key="us-il-play-k5-short-days").body["day_kinds"] == ["minimum"]


def test_rules_a_week_cannot_prove_are_told_and_read_as_not_checkable(year: SchoolYear) -> None:
    adoption = take(year, "us-or")
    assert [rule.key for rule in adoption.not_checkable] == ["us-or-annual-k8"]
    readings = Reading.objects.filter(rule__key="us-or-annual-k8")
    assert {reading.status for reading in readings} == {"not checkable"}
    assert readings.count() == 2


def test_adopted_rules_are_read_at_once(year: SchoolYear) -> None:
    week = Week.objects.create(classroom=Classroom.objects.get(key="room4"), starts=year.first_day)
    for day in ("mon", "tue", "wed", "thu", "fri"):
        column = Column.objects.create(week=week, day=day, kind=DayKind.objects.get())
        Block.objects.create(column=column, start=600, end=620, activity=Activity.objects.get(key="recess"))
    take(year, "us-nj", grades=["4"])
    reading = Reading.objects.get(part=0)
    assert (reading.required, reading.planned, reading.status) == (20, 20, "met")


def test_a_check_tells_the_same_and_changes_nothing(year: SchoolYear) -> None:
    told = run("adopt_rules", "us-mn", "--check")
    assert "would be added: us-mn-annual-1-6" in told
    assert not Rule.objects.exists()
    assert Activity.objects.count() == 3
    done = run("adopt_rules", "us-mn")
    assert done == told.replace("would be ", "")
    assert keys(year) == {"us-mn-annual-1-6"}


def test_the_command_takes_grades_rules_and_mappings(year: SchoolYear) -> None:
    Activity.objects.create(year=year, key="midday", name="Midday meal")
    run(
        "adopt_rules",
        "us-ca",
        "--grades",
        "3, 4",
        "--only",
        "us-ca-minday-1-3",
        "--map",
        "lunch=midday",
        "--year",
        "2026-27",
    )
    assert keys(year) == {"us-ca-minday-1-3"}
    assert Rule.objects.get().body["pool"] == {"except": ["breakfast", "midday", "recess", "passing"]}


def test_an_id_brings_its_general_rules_and_tells_of_the_special_ones(year: SchoolYear) -> None:
    adoption = take(year, "us-mo", grades=["K", "3"], only=["us-mo-specials-elem"])
    assert keys(year) == {"us-mo-specials-elem-art", "us-mo-specials-elem-music", "us-mo-specials-elem-pe"}
    assert {reason for _, reason in adoption.left_out} == {"only for: half-day kindergarten; name its key to adopt it"}


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("us-zz",), "No rules are kept for 'us-zz'"),
        (("us-ca", "--only", "us-ca-nothing"), "California has no rule us-ca-nothing"),
        (("us-ca", "--year", "1999"), "Name one year with --year. There are: 'Hilltop 2026-27'"),
        (("us-ca", "--map", "lunch"), "write the library's activity, an equals sign"),
    ],
)
def test_the_command_says_what_is_wrong(year: SchoolYear, words: tuple[str, ...], message: str) -> None:
    with pytest.raises(CommandError, match=message):
        run("adopt_rules", *words)


def test_a_year_without_grades_asks_for_them(year: SchoolYear) -> None:
    Classroom.objects.all().delete()
    Team.objects.all().delete()
    with pytest.raises(RuleBroken, match="say for which grades"):
        take(year, "us-ca")


def test_every_rule_of_the_library_can_be_adopted(year: SchoolYear) -> None:
    DayKind.objects.create(year=year, key="minimum", name="Minimum day")
    for place in jurisdictions().values():
        adopt(year, place=place, only=[rule.key for rule in place.rules])
    assert keys(year) == {rule.key for rule in all_rules() if {"3", "4"} & set(rule.grades)}


def test_adopted_rules_are_dumped_as_the_library_has_them(year: SchoolYear) -> None:
    take(year, "us-ca")
    written = {rule.key: rule.as_school_file() for rule in jurisdiction("us-ca").rules}
    dumped = json.loads(run("dump_school"))["rules"]
    assert len(dumped) == 6
    for rule in dumped:
        source = written[rule["key"]]
        assert [rule.get(word) for word in LABELS] == [source.get(word) for word in LABELS]
        assert meaning(rule) == meaning(source)


def test_the_library_is_listed_for_a_grade_of_a_state() -> None:
    table = run("list_rules", "--jurisdiction", "us-ca", "--grade", "K").splitlines()
    assert table[0].split() == ["KEY", "GRADES", "STANDING", "WHAT", "SOURCE"]
    assert any(line.startswith("us-ca-annual-k ") for line in table)
    assert not any(line.startswith("us-ca-annual-4-8 ") for line in table)
    assert table[-1] == f"{len(table) - 2} rules"


def test_the_list_as_json_holds_rules_as_a_school_file_writes_them() -> None:
    (entry,) = json.loads(run("list_rules", "--jurisdiction", "us-nj", "--format", "json"))
    assert entry["ids"] == ["us-nj-recess-k5"]
    assert entry["rule"]["at_least"] == 20
    assert entry["rule"]["day_kinds"] == ["regular"]


def test_an_unknown_jurisdiction_is_answered_with_the_known_ones() -> None:
    with pytest.raises(CommandError, match="There are rules for: us-al"):
        run("list_rules", "--jurisdiction", "us-zz")
