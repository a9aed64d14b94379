"""Published rules typed into the form by hand, over HTTP, against their published worked examples, to the minute.

Nothing here comes from the library of rules: each is typed as somebody would who reads the source.
All sources were read as stored copies.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pytest
from django.test import Client

from scheduling.models import Reading, Rule
from teamroom.dates.models import SchoolYear
from teamroom.school_file.checking import sound_document
from teamroom.school_file.loading import load
from tests.factories import make_coordinator
from tests.outside.schools import DAYS, around, blocks, every_day, lost, one_week, school, year_of
from tests.scheduling.rules.posts import added, sent

pytestmark = pytest.mark.django_db
Part = Mapping[str, Any]


@dataclass
class School:
    """A loaded school of one classroom, and its administrator's browser."""

    year: SchoolYear
    client: Client

    def enter(self, name: str, *parts: Part, grade: str, **more: str) -> Rule:
        """Type a rule; its first part's figures then stand in `reads`."""
        return added(self.client, self.year, sent(name, *parts, grades=grade, **more))


def opened(
    days: Mapping[str, Any], grade: str, columns: Sequence[Mapping[str, Any]], *names: str, **more: Any
) -> School:
    """A school whose activities are those of its week and these names, without any rule."""
    told = school(days, grade, columns, [], **more)
    have = {activity["key"] for activity in told["activities"]}
    told["activities"] += [{"key": name, "name": name} for name in names if name not in have]
    year = load(sound_document(told)).year
    client = Client()
    client.force_login(make_coordinator(year.school, "Ada", "administrator"))
    return School(year, client)


def reads(rule: Rule, part: int | None = 0) -> Reading:
    return Reading.objects.get(rule=rule, part=part)


def figures(rule: Rule, part: int = 0) -> tuple[Any, Any, Any, str]:
    row = reads(rule, part)
    return row.required, row.planned, row.margin, row.status


ALL_BUT_MEALS_AND_RECESS = {"counts": "except", "activities": ["lunch", "recess"]}
EVERYTHING = {"counts": "except", "activities": []}


def test_montana_s_1080_hours_against_a_seven_hour_day() -> None:
    # Rule: MCA 20-1-301(2), statutes.laws-info.com. Example: a Montana newspaper, blainecountyjournal.com, 2021-11-10:
    # 172 days of 7 hours, 50 minutes a day of lunch and recess (8,600 in all) out: about 20 hours short.
    day = blocks(("english", 120), ("recess", 20), ("math", 100), ("lunch", 30), ("science", 150))
    place = opened(year_of(172), "5", every_day(day))
    rule = place.enter("Instruction", {**ALL_BUT_MEALS_AND_RECESS, "amount": "1,080 h", "window": "year"}, grade="5")
    assert figures(rule) == (64_800, 72_240 - 8_600, -1_160, "short")


def test_california_s_reduced_year_of_175_days_and_its_dates() -> None:
    # Rule and figure: Education Code 46201.2, cde.ca.gov/fg/au/ag/reducingit.asp: 54,000 x 175/180 = 52,500.
    place = opened(year_of(175, "2010-09-07", ()), "4", every_day(blocks(("math", 300))), "lunch", "recess")
    dates = {"effective_from": "2009-07-01", "effective_to": "2015-06-30"}
    part = {**ALL_BUT_MEALS_AND_RECESS, "amount": "52 500", "window": "year"}
    assert figures(place.enter("Reduced year", part, grade="4", **dates)) == (52_500, 52_500, 0, "met")
    expired = place.enter("Before", part, grade="4", effective_to="2010-06-30")
    assert not Reading.objects.filter(rule=expired).exists()


@pytest.mark.parametrize(("grade", "owed", "a_day"), [("K", "36,000", 200), ("2", "50,400", 280), ("4", "54,000", 300)])
def test_california_s_year_divides_into_whole_days_of_180(grade: str, owed: str, a_day: int) -> None:
    # Rule: Education Code 46207, gamutonline.net copy. Example: an elementary school's bell-schedule page, sfusd.edu:
    # 36,000 / 180 = 200, 50,400 / 180 = 280, 54,000 / 180 = 300.
    lost_minute = [lost("2027-01-20", 1)]
    place = opened(year_of(180), grade, every_day(blocks(("math", a_day))), "lunch", day_changes=lost_minute)
    rule = place.enter(
        "Year", {"counts": "except", "activities": ["lunch"], "amount": owed, "window": "year"}, grade=grade
    )
    assert figures(rule) == (180 * a_day, 180 * a_day - 1, -1, "short")


@pytest.mark.parametrize(("owed", "short"), [(58_080, 880), (54_000, 1_910)])
def test_an_audited_shortfall_comes_out_to_the_minute(owed: int, short: int) -> None:
    # Source: audit findings of 2007-08, cde.ca.gov/be/ag/ag/yr09/jul09w29a3aav.asp and jul09wc5a2aav.asp.
    each = -(-(owed - short) // 180)
    over = each * 180 - (owed - short)
    changes = [lost("2026-09-08", over)] if over else []
    place = opened(year_of(180), "5", every_day(blocks(("english", each))), day_changes=changes)
    rule = place.enter("The year", {**EVERYTHING, "amount": str(owed), "window": "year"}, grade="5")
    assert figures(rule) == (owed, owed - short, -short, "short")


def test_missouri_s_advice_by_the_day_and_by_the_week() -> None:
    # Source: dese.mo.gov/divimprove/sia/msip/recommendedmtsofinstr.html, grades 1 to 3: reading 90 a day and 450 a
    # week, all nine subjects 1,590 a week; 15 a day of PE is not 75 but 60 a week.
    subjects = {"reading": 90, "language_arts": 60, "math": 60, "social_studies": 30, "science": 30}
    specials = ("pe", "art", "music", "health")
    columns = [
        {
            "day": day,
            "blocks": blocks(*subjects.items(), *((special, 0 if day == "fri" else 15) for special in specials)),
        }
        for day in DAYS
    ]
    place = opened(one_week(), "2", columns)
    advice = {"activities": ["reading"], "test": "recommended"}
    rule = place.enter(
        "Reading",
        {**advice, "amount": "90", "window": "day"},
        {**advice, "amount": "450"},
        grade="2",
        standing="advice",
    )
    assert (figures(rule, 0), figures(rule, 1)) == ((90, 90, 0, "met"), (450, 450, 0, "met"))
    pe = place.enter("PE", {"activities": ["pe"], "test": "recommended", "amount": "60"}, grade="2", standing="advice")
    assert figures(pe) == (60, 60, 0, "met")
    everything = [*subjects, *specials]
    total = place.enter("All nine", {"activities": everything, "test": "recommended", "amount": "1,590"}, grade="2")
    assert figures(total) == (1590, 1590, 0, "met")


def test_south_carolina_s_150_of_activity_of_which_90_in_class() -> None:
    # Rule: S.C. Code 59-10-10(A), testweb.scstatehouse.gov. Example: scahperd.org/SHFA-2005: on two days two recesses
    # of 15, on three days a PE class of 30: 150 minutes of activity, of which PE is 90.
    two_recesses, pe_class = blocks(("recess", 15), ("math", 60), ("recess", 15)), blocks(("math", 60), ("pe", 30))
    columns = [{"day": day, "blocks": pe_class if day in ("mon", "wed", "fri") else two_recesses} for day in DAYS]
    place = opened(one_week(), "3", columns)
    rule = place.enter(
        "Activity, and PE within it",
        {"activities": ["pe", "recess"], "amount": "150"},
        {"activities": ["pe"], "amount": "90"},
        grade="3",
    )
    assert (figures(rule, 0), figures(rule, 1)) == ((150, 150, 0, "met"), (90, 90, 0, "met"))
    assert reads(rule, None).status == "met"


def test_california_s_alternate_term_of_pe_in_nine_runs_of_ten_days() -> None:
    # Source: fastdemocracy.com summary of 2025 AB 1216: 400 per 10 school days over 18 weeks = 3,600 a year.
    place = opened(year_of(90, closed=()), "6", every_day(blocks(("pe", 40))))
    rule = place.enter(
        "PE in one term",
        {"activities": ["pe"], "amount": "400", "window": "run", "run_days": "10", "run": "fixed"},
        {"activities": ["pe"], "amount": "3,600", "window": "year"},
        grade="6",
    )
    assert (figures(rule, 0), figures(rule, 1)) == ((400, 400, 0, "met"), (3600, 3600, 0, "met"))
    assert reads(rule, 0).windows == 9


def test_ohio_s_mean_day_of_1090_hours_over_175_days() -> None:
    # Source: Ohio Department of Education, equivalent-day FAQ, education.ohio.gov: 1,090 hours / 175 days = 6.23 hours.
    changes = [lost("2026-09-08", 374 * 175 - 1090 * 60)]
    place = opened(year_of(175), "4", every_day(blocks(("english", 374))), day_changes=changes)
    rule = place.enter("Mean day", {**EVERYTHING, "amount": "374", "window": "year", "mean": "day"}, grade="4")
    planned = reads(rule).planned
    assert planned is not None
    assert (round(float(planned) / 60, 2), reads(rule).status) == (6.23, "short")


def test_california_s_minimum_day_and_a_published_bell_table() -> None:
    # Rule: Education Code 46113 (240 for grades 4 to 8), jurris.com; 46115 leaves lunch and recess out. Example: an
    # elementary school's bell-schedule page, sfusd.edu: 7:50 to 2:05, Wednesdays to 12:50, recess 10:05, lunch 12:10;
    # by arithmetic 320 a day, 245 on Wednesdays, 1,525 a week.
    days = {
        **one_week(),
        "day_kinds": [{"key": "early", "name": "Early dismissal"}],
        "standing_kinds": [{"day": "wed", "kind": "early"}],
    }
    fixed = [
        {"activity": "recess", "start": "10:05", "end": "10:20"},
        {"activity": "lunch", "start": "12:10", "end": "12:50"},
    ]
    bells = [
        {"grades": ["5"], "kind": kind, "start": "07:50", "dismissal": dismissal, "fixed": fixed}
        for kind, dismissal in (("regular", "14:05"), ("early", "12:50"))
    ]
    columns = every_day(around("07:50", "14:05", ("10:05", "10:20"), ("12:10", "12:50")))
    place = opened(days, "5", columns, bell_schedules=bells)
    day = place.enter("Each day", {**ALL_BUT_MEALS_AND_RECESS, "amount": "240", "window": "day"}, grade="5")
    assert figures(day) == (240, 245, 5, "met")
    week = place.enter("The week", {**ALL_BUT_MEALS_AND_RECESS, "amount": "1525"}, grade="5")
    assert figures(week) == (1525, 1525, 0, "met")


@pytest.mark.parametrize(
    ("hours", "days", "a_day"),
    [
        # Sources: edlawdawg.com (Texas, 180 x 420 = 75,600 minutes); nyssba.org (New York, 180 x 5 h = 900 h);
        # hawaiipublicschools.org (Hawaii, 1,080 hours in 180 days).
        ("1,260 h", 180, 420),
        ("900 hours", 180, 300),
        ("1080 h", 180, 360),
    ],
)
def test_a_state_s_base_year_typed_in_hours(hours: str, days: int, a_day: int) -> None:
    place = opened(year_of(days), "3", every_day(blocks(("english", a_day))))
    rule = place.enter("Base year", {**EVERYTHING, "amount": hours, "window": "year"}, grade="3")
    assert figures(rule) == (days * a_day, days * a_day, 0, "met")


def test_new_york_s_hours_and_its_180_session_days() -> None:
    # Source: 8 NYCRR 175.5(c), final adopted regulations, stateaid.nysed.gov: 900 hours over at least 180 session days.
    place = opened(year_of(179), "3", every_day(blocks(("english", 360))), "lunch", "recess")
    rule = place.enter(
        "Hours and days",
        {**ALL_BUT_MEALS_AND_RECESS, "amount": "900 h", "window": "year"},
        {**EVERYTHING, "test": "days_met", "days": "180", "window": "year"},
        grade="3",
    )
    assert figures(rule, 0) == (54_000, 179 * 360, 179 * 360 - 54_000, "met")
    assert figures(rule, 1) == (180, 179, -1, "short")
    assert reads(rule, None).status == "short"


def test_minnesota_s_hours_and_days_against_minneapolis() -> None:
    # Rule: Stat. 120A.41, revisor.mn.gov: 935 hours for grades 1 to 6, and 165 days. Example: mplsschoolsvoices.news:
    # 170 days x 6 hours = 1,020 hours.
    place = opened(year_of(170), "4", every_day(blocks(("english", 360), ("lunch", 30))))
    rule = place.enter(
        "Hours and days",
        {"counts": "except", "activities": ["lunch"], "amount": "935 h", "window": "year"},
        {**EVERYTHING, "test": "days_met", "days": "165", "window": "year"},
        grade="4",
    )
    assert figures(rule, 0) == (56_100, 61_200, 5_100, "met")
    assert figures(rule, 1) == (165, 170, 5, "met")


def test_wisconsin_s_recess_counts_to_30_minutes_a_day_and_lunch_never() -> None:
    # Rule: Stat. 121.02(1)(f): 1,050 hours; what counts: dpi.wi.gov/cal/days-hours/questions (recess in to 30 minutes a
    # day, lunch out). The day here is invented: 320 taught, recesses of 20 and 25, so 350 a day; 180 x 350 = 63,000.
    day = blocks(("english", 160), ("recess", 20), ("math", 160), ("lunch", 40), ("recess", 25))
    place = opened(year_of(180), "3", every_day(day))
    cap = {"cap_activity": ["recess", ""], "cap_most": ["30", ""], "cap_per": ["day", "day"]}
    part = {"counts": "except", "activities": ["lunch"], "amount": "1,050 h", "window": "year", **cap}
    assert figures(place.enter("Instruction", part, grade="3")) == (63_000, 63_000, 0, "met")
