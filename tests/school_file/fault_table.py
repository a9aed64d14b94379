"""Ways to spoil the whole school file, each with where the fault is told and words it is told in."""

from dataclasses import dataclass
from typing import Any

from tests.school_file.files import WITHOUT, whole


@dataclass(frozen=True)
class Case:
    """Values put at paths of the file, and the faults expected: words of the sentence by path."""

    changes: dict[str, Any]
    faults: dict[str, str]

    @property
    def words(self) -> str:
        return next(iter(self.faults.values()))


def one(changes: dict[str, Any], path: str, words: str) -> Case:
    return Case(changes, {path: words})


BLOCK = "weeks[0].columns[0].blocks[0]"
CREDITS = "weeks[0].columns[0].blocks[1].credits"
USES = "weeks[0].columns[0].blocks[1].uses"
TEAM_BLOCK = "weeks[2].columns[0].blocks[0]"
LONG = "x" * 600


def held_again(**otherwise: Any) -> dict[str, Any]:
    """A week of room 14 from January that holds the file's team block too, but for something of it."""
    column = {"day": otherwise.pop("day", "1")}
    alike = whole()["weeks"][2]["columns"][0]["blocks"][0]
    block = {key: value for key, value in {**alike, **otherwise}.items() if value is not WITHOUT}
    return {"weeks[5]": {"classroom": "room14", "from": "2027-01-05", "columns": [{**column, "blocks": [block]}]}}


BAD_FORM = [
    one({"school.nmae": "x"}, "$.school.nmae", '"nmae" is no key of the school: did you mean "name"?'),
    one({"school.zzz": 1}, "$.school.zzz", 'known are "name", "time_zone"'),
    one({"school.name": WITHOUT}, "$.school.name", "missing"),
    one({"school.name": ""}, "$.school.name", "may not be empty"),
    one({"school.name": LONG}, "$.school.name", "at most 200"),
    one({"school": []}, "$.school", "should be an object in { } (the school)"),
    one({"year.first_day": "31.08.2026"}, "$.year.first_day", "year, month and day, as in 2026-09-01"),
    one({"year.first_day": "2026-02-30"}, "$.year.first_day", '"2026-02-30" is not a date'),
    one({"year.first_day": "2026-08-31\n"}, "$.year.first_day", "is not a date"),
    one({"year.cycle.kind": "weekly"}, "$.year.cycle.kind", "none of weekdays, alternating weeks, rotating days"),
    one({"year.cycle.length": 21}, "$.year.cycle.length", "20 or less"),
    one({"year.standing_kinds[0].day": "Wed"}, "$.year.standing_kinds[0].day", "none of mon, tue"),
    one({"bell_schedules[0].grades": []}, "$.bell_schedules[0].grades", "may not be empty"),
    one({"bell_schedules[0].grades": ["4", "5", "4"]}, "$.bell_schedules[0].grades", 'twice here: "4"'),
    one({"bell_schedules[0].grades": "4"}, "$.bell_schedules[0].grades", "a list of grades in [ ]"),
    one({"bell_schedules[0].grades[0]": 4}, "$.bell_schedules[0].grades[0]", "text in quotes (a grade)"),
    one({"classrooms[1].grades": []}, "$.classrooms[1].grades", "may not be empty"),
    one({"classrooms[0].enrolment": -1}, "$.classrooms[0].enrolment", "0 or more"),
    one({"classrooms[0].cap": True}, "$.classrooms[0].cap", "a whole number"),
    one({"classrooms[0].retired": "yes"}, "$.classrooms[0].retired", "true or false"),
    one({"teams[0].edits_together": 1}, "$.teams[0].edits_together", "true or false"),
    one({"school.place": "Illinois"}, "$.school.place", "a state or territory"),
    one({"year.required_days": {"days": 0}}, "$.year.required_days.days", "1 or more"),
    one({"year.required_days": {"source": "The code"}}, "$.year.required_days.days", "days"),
    one({f"{BLOCK}.start": "8:00"}, "$.weeks[0].columns[0].blocks[0].start", "as in 09:05"),
    one({f"{BLOCK}.end": "24:01"}, "$.weeks[0].columns[0].blocks[0].end", "as in 09:05"),
    one({f"{BLOCK}.end": WITHOUT}, "$.weeks[0].columns[0].blocks[0].end", "missing"),
    one({f"{BLOCK}.activity": WITHOUT}, "$.weeks[0].columns[0].blocks[0].activity", "missing"),
    one({f"{BLOCK}": None}, "$.weeks[0].columns[0].blocks[0]", "(a block)"),
    one({CREDITS: []}, "$.weeks[0].columns[0].blocks[1].credits", "may not be empty"),
    one({f"{CREDITS}[0].minutes": 0}, "$.weeks[0].columns[0].blocks[1].credits[0].minutes", "1 or more"),
    one({f"{CREDITS}[0].minutes": 22.5}, "$.weeks[0].columns[0].blocks[1].credits[0].minutes", "a whole number"),
    one({"weeks[0].columns[2]": {"blocks": []}}, "$.weeks[0].columns[2]", "needs a day, a kind, or both"),
    one({"weeks[0].columns[2]": {"day": "", "kind": ""}}, "$.weeks[0].columns[2]", "needs a day, a kind, or both"),
    one({"day_changes[1].closed": "yes"}, "$.day_changes[1].closed", "true or false"),
    one({"day_changes[0].name": WITHOUT}, "$.day_changes[0].name", "missing"),
    one({"rules[0].at_least": 0.5}, "$.rules[0].at_least", "a whole number of minutes"),
    one({"rules[0].at_least": 10**9}, "$.rules[0].at_least", "1000000 or less"),
    one({"rules[0].standing": "federal"}, "$.rules[0].standing", "none of law, district, school, advice"),
    one({"rules[0].name": WITHOUT}, "$.rules[0].name", "missing"),
    one({"rules[0].citation.title": WITHOUT}, "$.rules[0].citation.title", "missing"),
    one({"rules[0].pool": {}}, "$.rules[0].pool", 'give "of" or "except"'),
    one({"rules[0].pool.except": []}, "$.rules[0].pool", "not both"),
    one({"rules[0].pool.of": []}, "$.rules[0].pool.of", "may not be empty"),
    one({"rules[0].run": {}}, "$.rules[0].run.days", "missing"),
    one({"rules[0].run.days": 0}, "$.rules[0].run.days", "1 or more"),
    one({"rules[0].caps[0].at_most": WITHOUT}, "$.rules[0].caps[0]", "at_most (minutes) or at_most_share"),
    one({"rules[0].caps[0].at_most_share": "1/2"}, "$.rules[0].caps[0]", "only one of them"),
    one({"rules[0].caps[2].at_most_share": 0.5}, "$.rules[0].caps[2].at_most_share", 'as in "3/4" or "0.75"'),
    one({"rules[0].caps[2].at_most_share": "1/0"}, "$.rules[0].caps[2].at_most_share", "is not a fraction"),
    one({"rules[0].caps[2].at_most_share": "half"}, "$.rules[0].caps[2].at_most_share", "is not a fraction"),
    one({"rules[1].all": []}, "$.rules[1].all", "may not be empty"),
    one({"rules[2].any": []}, "$.rules[2].any", "may not be empty"),
    one({"rules[1].all[0].key": "x"}, "$.rules[1].all[0].key", "is no key of a part of a rule"),
    one({"rules[2].any[3].days_met": 3}, "$.rules[2].any[3].days_met", "(days met)"),
    one({"rules[0].note": "a\x00b"}, "$.rules[0].note", "cannot be stored"),
    one({"rules[0].note": "a\ud800b"}, "$.rules[0].note", "cannot be stored"),
    one({"weeks": {"room12": []}}, "$.weeks", "should be a list in [ ]"),
    one({"activities[6].frees_teacher": 1}, "$.activities[6].frees_teacher", "true or false"),
    one({"shared_resources[0].name": WITHOUT}, "$.shared_resources[0].name", "missing"),
    one({"shared_resources[1].capacity": 0}, "$.shared_resources[1].capacity", "1 or more"),
    one({"shared_resources[1].capacity": 100}, "$.shared_resources[1].capacity", "99 or less"),
    # What uses it is not told again.
    one({"shared_resources[1].capacity": "2"}, "$.shared_resources[1].capacity", "a whole number"),
    one({"shared_resources[1].key": 3}, "$.shared_resources[1].key", "text in quotes (a key)"),
    one({f"{USES}[0].amount": 0}, f"$.{USES}[0].amount", "1 or more"),
    one({f"{USES}[0].resource": WITHOUT}, f"$.{USES}[0].resource", "missing"),
    one({"weeks[3].draft": "yes"}, "$.weeks[3].draft", "true or false"),
    one({"weeks[3].draft_name": LONG}, "$.weeks[3].draft_name", "at most 120"),
    one({f"{TEAM_BLOCK}.team_block": ""}, f"$.{TEAM_BLOCK}.team_block", "may not be empty"),
]

BAD_DATES = [
    one({"year.last_day": "2026-08-30"}, "$.year.last_day", "before it begins on 2026-08-31"),
    one({"year.last_day": "2027-10-05"}, "$.year.last_day", "longer than 400 days"),
    one({"year.closed[1].to": "2027-06-12"}, "$.year.closed[1].to", "outside the year"),
    one({"year.closed[1].to": "2027-01-01"}, "$.year.closed[1].to", "before it begins"),
    one({"year.closed[1].from": "2027-01-01"}, "$.year.closed[1]", "already closed on 2027-01-01"),
    one({"year.days[0].date": "2026-08-30"}, "$.year.days[0].date", "outside the year"),
    one({"year.days[0].date": "2026-12-24"}, "$.year.days[0].date", 'closed by "Winter break"'),
    one({"year.days[0].date": "2026-09-16"}, "$.year.days[1].date", "already named at place 0"),
    one({"year.cycle.starts": "2026-08-01"}, "$.year.cycle.starts", "outside the year"),
    one({"weeks[1].from": "2027-06-12"}, "$.weeks[1].from", "outside the year"),
    one({"day_changes[1].date": "2025-09-09"}, "$.day_changes[1].date", "outside the year"),
    one({"rules[0].effective.to": "2026-06-30"}, "$.rules[0].effective.to", "before it begins"),
    one({"school.time_zone": "America/Chicagoo"}, "$.school.time_zone", 'did you mean "America/Chicago"?'),
    one({"school.time_zone": "Central"}, "$.school.time_zone", "no IANA time zone"),
]

BAD_MEANING = [
    one(
        {
            "activities[1].key": "reading",
            "rules[2].any": [{"at_least": 1}],
            "weeks[0].columns": [],
            "weeks[2].columns": [],
        },
        "$.activities[1].key",
        "already an activity at place 0",
    ),
    one(
        {
            "year.day_kinds[1]": {"key": "minimum"},
            "year.days": [],
            "weeks[0].columns[2].day": "3",
            "weeks[0].columns[2].kind": "minimum",
        },
        "$.year.day_kinds[1].key",
        "already a day kind",
    ),
    one({"rules[1].key": "pe-run"}, "$.rules[1].key", "already a rule at place 0"),
    one(
        {"teams[1].key": "grade4", "classrooms[1].team": "grade4", "day_changes[0].teams": ["grade4"]},
        "$.teams[1].key",
        "already a team",
    ),
    one(
        {"classrooms[1].key": "room12", "weeks[2]": {"classroom": "room12", "from": "2026-09-07"}},
        "$.classrooms[1].key",
        "already a classroom",
    ),
    one({"year.standing_kinds[1]": {"day": "wed", "kind": "late"}}, "$.year.standing_kinds[1].day", "given a kind"),
    one({"year.standing_kinds[0].kind": "minimim"}, "$.year.standing_kinds[0].kind", 'did you mean "minimum"?'),
    one({"year.days[0].kind": "lat"}, "$.year.days[0].kind", 'did you mean "late"?'),
    one({"classrooms[0].team": "grade9"}, "$.classrooms[0].team", "No team has the key"),
    one({"classrooms[0].team": "grade6"}, "$.classrooms[0].team", "retire the classroom too"),
    one({"weeks[1].classroom": "room21"}, "$.weeks[1].classroom", "No classroom has the key"),
    one({"weeks[1].from": "2026-08-31"}, "$.weeks[1].from", "already, at place 0"),
    one({"bell_schedules[1].kind": "maximum"}, "$.bell_schedules[1].kind", "No day kind has the key"),
    one({"bell_schedules[1].kind": "regular"}, "$.bell_schedules[1].grades[0]", "already, at place 0"),
    one({"bell_schedules[1].dismissal": "08:00"}, "$.bell_schedules[1].dismissal", "not after the start"),
    one({"bell_schedules[0].fixed[0].end": "10:00"}, "$.bell_schedules[0].fixed[0].end", "not after"),
    one({"bell_schedules[0].fixed[0].start": "07:55"}, "$.bell_schedules[0].fixed[0].start", "before the bell"),
    one({"bell_schedules[0].fixed[1].end": "14:31"}, "$.bell_schedules[0].fixed[1].end", "after dismissal"),
    one(
        {"bell_schedules[0].fixed[1].start": "10:10"},
        "$.bell_schedules[0].fixed[1]",
        "overlaps the fixed stretch at place 0",
    ),
    one({"bell_schedules[0].fixed[0].activity": "reces"}, "$.bell_schedules[0].fixed[0].activity", '"recess"'),
    one({"bell_schedules[0].fixed[0].days": ["1", "6"]}, "$.bell_schedules[0].fixed[0].days[1]", "1 to 5"),
    one({"weeks[0].columns[0].day": "mon"}, "$.weeks[0].columns[0].day", "1 to 5"),
    one(
        {
            "year.cycle": {"kind": "alternating weeks"},
            "bell_schedules[0].fixed": [],
            "weeks[0].columns": [{"day": "wed"}],
            "weeks[2].columns": [],
            "weeks[3].columns": [],
        },
        "$.weeks[0].columns[0].day",
        "A-mon to B-fri",
    ),
    one(
        {
            "year.cycle": {},
            "bell_schedules[0].fixed": [],
            "weeks[0].columns": [{"day": "A-mon"}],
            "weeks[2].columns": [],
            "weeks[3].columns": [],
        },
        "$.weeks[0].columns[0].day",
        "mon to fri",
    ),
    one({"weeks[0].columns[2].kind": "early"}, "$.weeks[0].columns[2].kind", "No day kind has the key"),
    one({"weeks[0].columns[2]": {"day": "1", "kind": "regular"}}, "$.weeks[0].columns[2]", "same day and kind"),
    one({f"{BLOCK}.end": "07:00"}, "$.weeks[0].columns[0].blocks[0].end", "after the start"),
    one({f"{BLOCK}.end": "08:00"}, "$.weeks[0].columns[0].blocks[0].end", "after the start"),
    one({f"{BLOCK}.end": "10:16"}, "$.weeks[0].columns[0].blocks[1]", "overlaps the one at place 0 (08:00 to 10:16)"),
    one({f"{BLOCK}.activity": "mth"}, "$.weeks[0].columns[0].blocks[0].activity", 'did you mean "math"?'),
    one({f"{CREDITS}[0].minutes": 46}, "$.weeks[0].columns[0].blocks[1].credits", "76 minutes, but there are only 75"),
    one(
        {f"{CREDITS}[1].activity": "science"}, "$.weeks[0].columns[0].blocks[1].credits[1].activity", "already credited"
    ),
    one({f"{CREDITS}[1].activity": "scienc"}, "$.weeks[0].columns[0].blocks[1].credits[1].activity", '"science"'),
    one(
        {"shared_resources[2]": {"key": "lab", "name": "Another"}},
        "$.shared_resources[2].key",
        "already a shared resource at place 0",
    ),
    one({f"{USES}[0].resource": "lob"}, f"$.{USES}[0].resource", 'did you mean "lab"?'),
    one({f"{USES}[0].amount": 2}, f"$.{USES}[0].amount", '"lab" has room for 1, not for 2'),
    one({f"{USES}[1].amount": 3}, f"$.{USES}[1].amount", "give it more capacity"),
    one({f"{USES}[1]": {"resource": "lab"}}, f"$.{USES}[1].resource", "already used at place 0"),
    one({"weeks[0].draft_name": "Ana's"}, "$.weeks[0].draft_name", "Only a draft has such a name"),
    one({"weeks[3].from": "2027-06-12"}, "$.weeks[3].from", "outside the year"),
    one({"weeks[4].draft": False}, "$.weeks[4].from", "already, at place 1"),
    one(
        {"weeks[0].columns[0].blocks[2].team_block": "team-block-1"},
        f"$.{TEAM_BLOCK}.team_block",
        'is a team block of "grade4", at $.weeks[0].columns[0].blocks[2]',
    ),
    *(
        one(held_again(**otherwise), "$.weeks[5].columns[0].blocks[0].team_block", "make both alike")
        for otherwise in (
            {"end": "08:45"},
            {"day": "2"},
            {"activity": "art"},
            {"why": WITHOUT},
            {"credits": [{"activity": "math", "minutes": 31}]},
        )
    ),
    one({"day_changes[0].from": WITHOUT}, "$.day_changes[0].from", "give the start"),
    Case(
        {"day_changes[0].from": WITHOUT, "day_changes[0].to": WITHOUT},
        {"$.day_changes[0].from": "give the start", "$.day_changes[0].to": "give the end"},
    ),
    Case(
        {"day_changes[1].from": "08:00", "day_changes[1].credits": [{"activity": "math", "minutes": 1}]},
        {"$.day_changes[1].from": "takes no from", "$.day_changes[1].credits": "takes no credits"},
    ),
    one({"day_changes[0].to": "08:30"}, "$.day_changes[0].to", "after the start"),
    one({"day_changes[0].credits[0].minutes": 301}, "$.day_changes[0].credits", "301 minutes, but there are only 300"),
    one(
        {"day_changes[0].credits[1]": {"activity": "science", "minutes": 1}},
        "$.day_changes[0].credits[1].activity",
        "already credited",
    ),
    one({"day_changes[0].credits[0].activity": "sci"}, "$.day_changes[0].credits[0].activity", "No activity"),
    one({"day_changes[0].classrooms[0]": "room13"}, "$.day_changes[0].classrooms[0]", "No classroom has the key"),
    one({"day_changes[0].teams[0]": "grade7"}, "$.day_changes[0].teams[0]", "No team has the key"),
    one({"day_changes[2].from": "13:59"}, "$.day_changes[2]", "the day change at place 0 already takes 09:00 to 14:00"),
    # Closing the day takes from both of that date's other changes.
    Case(
        {"day_changes[1].date": "2026-09-08"},
        {
            "$.day_changes[0]": "the day change at place 1 already takes 00:00 to 24:00",
            "$.day_changes[2]": "the day change at place 1 already takes 00:00 to 24:00",
        },
    ),
]

BAD_RULES = [
    one({"rules[0].at_least": WITHOUT}, "$.rules[0]", "asks nothing"),
    one({"rules[1].all[1].at_most": WITHOUT}, "$.rules[1].all[1]", "asks nothing"),
    one({"rules[0].at_most": 300}, "$.rules[0].at_most", "makes one test"),
    one({"rules[0].all": [{"at_least": 1}]}, "$.rules[0].pool", "keep all or pool"),
    one({"rules[1].any": [{"at_least": 1}]}, "$.rules[1].any", "keep all or any"),
    one({"rules[3].at_least": 5}, "$.rules[3].at_least", "keep not_checkable or at_least"),
    one({"rules[3].not_checkable": WITHOUT}, "$.rules[3]", "This rule asks nothing"),
    one({"rules[3].not_checkable": ""}, "$.rules[3]", "This rule asks nothing"),
    one({"rules[0].pool.of[0]": "p"}, "$.rules[0].pool.of[0]", "No activity has the key"),
    one({"rules[1].all[0].pool.except[1]": "recces"}, "$.rules[1].all[0].pool.except[1]", '"recess"'),
    one({"rules[2].any[2].share.of.except[0]": "lnch"}, "$.rules[2].any[2].share.of.except[0]", '"lunch"'),
    one({"rules[0].caps[0].activity": "xyz"}, "$.rules[0].caps[0].activity", "No activity"),
    one({"rules[0].not_beside[0].beside": "xyz"}, "$.rules[0].not_beside[0].beside", "No activity"),
    one({"rules[0].day_kinds[1]": "minumum"}, "$.rules[0].day_kinds[1]", '"minimum"'),
    one({"rules[0].window": "week"}, "$.rules[0].run", "take run out"),
    one({"rules[0].run": WITHOUT, "rules[0].window": "run"}, "$.rules[0].window", "how many school days"),
    one({"rules[1].all[2].short_window": "prorate"}, "$.rules[1].all[2].short_window", "cannot be prorated"),
    one({"rules[2].any[2].mean": "day"}, "$.rules[2].any[2].mean", "take mean out"),
    one({"rules[2].any[0].caps": [{"activity": "math", "at_most": 5}]}, "$.rules[2].any[0].caps[0]", "without caps"),
    one(
        {"rules[2].any[3].caps": [{"activity": "math", "at_most_share": "1/2"}]},
        "$.rules[2].any[3].caps[0].at_most_share",
        "give at_most in minutes",
    ),
]
