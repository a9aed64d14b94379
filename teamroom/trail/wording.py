"""A record in a sentence, and what a change changed, column by column. Plain functions: names are given."""

from collections.abc import Callable
from dataclasses import dataclass

from scheduling.minutes.figures import listed
from teamroom.common.clock import said_span
from teamroom.trail.columns import COLUMNS, Words, date_said, quote, span_said, value_said
from teamroom.trail.naming import Names
from teamroom.trail.reading import Record, Row
from teamroom.trail.rule_wording import Figures, figure_change

WEEKDAYS = {
    "mon": "Mondays",
    "tue": "Tuesdays",
    "wed": "Wednesdays",
    "thu": "Thursdays",
    "fri": "Fridays",
    "sat": "Saturdays",
    "sun": "Sundays",
}

LONGEST_INLINE = 60


@dataclass(frozen=True)
class Difference:
    """One column of a change, in words."""

    what: str
    before: str
    after: str


@dataclass(frozen=True)
class Said:
    """A record in words; `differences` stand side by side where the sentence does not say them already."""

    sentence: str
    differences: tuple[Difference, ...] = ()


def said(record: Record, words: Words) -> Said:
    """The record in a sentence."""
    row, thing = record.row, THINGS[record.kind](record.row, words.names)
    if record.label == "update":
        return _changed(record, thing, words)
    special = SPECIAL.get((record.kind, record.label))
    if special is not None:
        return Said(special(row, words))
    return Said(f"{'Added' if record.label == 'insert' else 'Removed'} {thing}")


def who(record: Record, names: Names) -> str:
    """Who wrote it: a member, somebody by a link before they were signed in, or the console."""
    if "user" not in record.about:
        return "The server’s console"
    user = record.about["user"]
    return names.of("member", user) if isinstance(user, int) else "By a link, before signing in"


def differences(record: Record, words: Words) -> list[Difference]:
    """The columns that a change changed, but for those that nobody reads."""
    before = record.before or {}
    found = []
    for column, what in COLUMNS[record.kind].items():
        if before and before.get(column) == record.row.get(column):
            continue
        old = value_said(column, before, words) if before else "not recorded"
        found.append(Difference(what, old, value_said(column, record.row, words)))
    return found


def _changed(record: Record, thing: str, words: Words) -> Said:
    special = CHANGES.get(record.kind)
    sentence = special(record, words) if special else None
    if sentence:
        return Said(sentence)
    if record.before is None:
        return Said(f"Changed {thing}; what it was before was not recorded yet")
    changes = differences(record, words)
    if record.kind == "rule" and len(changes) == 1 and (figures := figure_change(record.before, record.row)):
        return Said(f"{_capital(thing)}: {_figures_said(figures)}")
    if len(changes) == 1 and len(changes[0].before) + len(changes[0].after) <= LONGEST_INLINE:
        (only,) = changes
        return Said(f"{_capital(thing)}: {only.what} was {only.before}, became {only.after}")
    return Said(f"Changed {thing}", tuple(changes))


def _figures_said(figures: Figures) -> str:
    return f"{figures.what} {figures.before} became {figures.after} minutes"


def _closed(row: Row, _: Words) -> str:
    return f"Closed {closure_said(row)}"


def _opened(row: Row, _: Words) -> str:
    return f"Took back the closure of {closure_said(row)}"


def closure_said(row: Row) -> str:
    """`Thu 26 Nov, Thanksgiving`, or with both ends."""
    first, last = date_said(row["first_day"]), date_said(row["last_day"])
    span = first if first == last else f"{first} to {last}"
    return f"{span}, {row['name']}" if row["name"] else span


def _day_change(row: Row, _: Words) -> str:
    takes = "closes the day" if row["closed"] else f"takes {span_said(row)}"
    return f"Planned {quote(row['name'])} on {date_said(row['date'])}: it {takes}"


def _class_teacher(row: Row, words: Words) -> str:
    begins = f" from {date_said(row['first_day'])}" if row["first_day"] else ""
    ends = f" until {date_said(row['last_day'])}" if row["last_day"] else ""
    return f"{words.names.at('member_id', row)} became teacher of {words.names.at('classroom_id', row)}{begins}{ends}"


def _rule_added(row: Row, words: Words) -> str:
    demand = words.demand(row) or row["not_checkable"]
    return f"Added the rule {quote(row['name'])}" + (f". {demand}" if demand else "")


def _invited(row: Row, words: Words) -> str:
    names = words.names
    parts = [f"{row['school_role']} of the school"] if row["school_role"] else []
    parts += [f"{row['team_role']} of {names.at('team_id', row)}"] if row["team_id"] else []
    parts += [f"teacher of {names.at('classroom_id', row)}"] if row["classroom_id"] else []
    return f"Invited {row['email']} as {listed(parts)}"


def _invitation_changed(record: Record, words: Words) -> str | None:
    row, before = record.row, record.before or {}
    if row["accepted_at"] and not before.get("accepted_at"):
        return f"{words.names.at('accepted_by_id', row) or row['email']} accepted the invitation of {row['email']}"
    if row["revoked_at"] and not before.get("revoked_at"):
        return f"Withdrew the invitation of {row['email']}"
    return None


def _team_role_changed(record: Record, words: Words) -> str | None:
    row, before = record.row, record.before or {}
    if not before or before["role"] == row["role"]:
        return None
    name, team = words.names.at("member_id", row), words.names.at("team_id", row)
    return f"{name} became {row['role']} of {team}, and was its {before['role']} before"


def _year_changed(record: Record, words: Words) -> str | None:
    row, before = record.row, record.before or {}
    if [each.what for each in differences(record, words)] != [COLUMNS["year"]["being_set_up"]] or not before:
        return None
    return (
        f"The year {row['name']} is being set up again" if row["being_set_up"] else f"The year {row['name']} is set up"
    )


THINGS: dict[str, Callable[[Row, Names], str]] = {
    "school": lambda row, _: f"the school {row['name']}",
    "year": lambda row, _: f"the year {row['name']}",
    "day kind": lambda row, _: f"the day kind {quote(row['name'])}",
    "standing kind": lambda row, _: f"the standing day of {WEEKDAYS[row['weekday']]}",
    "closure": lambda row, _: f"the closure {closure_said(row)}",
    "calendar day": lambda row, _: f"the kind of {date_said(row['date'])}",
    "day change": lambda row, _: f"{quote(row['name'])} on {date_said(row['date'])}",
    "activity": lambda row, _: f"the activity {quote(row['name'])}",
    "shared resource": lambda row, _: f"the shared resource {quote(row['name'])}",
    "bell schedule": lambda row, names: f"the bell schedule of grade {row['grade']}, {names.at('kind_id', row)}",
    "fixed stretch": lambda row, names: (
        f"{names.at('activity_id', row)} {span_said(row)} in the bells of {names.at('bell_schedule_id', row)}"
    ),
    "rule": lambda row, _: f"the rule {quote(row['name'])}",
    "team": lambda row, _: f"the team {quote(row['name'])}",
    "classroom": lambda row, _: f"the classroom {quote(row['name'] or row['key'])}",
    "class teacher": lambda row, names: f"{names.at('member_id', row)} as teacher of {names.at('classroom_id', row)}",
    "team role": lambda row, names: f"{names.at('member_id', row)} as {row['role']} of {names.at('team_id', row)}",
    "school role": lambda row, names: f"{names.at('member_id', row)} as {row['role']} of the school",
    "district role": lambda row, names: f"{names.at('member_id', row)} as administrator of the district",
    "specialist": lambda row, names: f"{names.at('member_id', row)} as specialist of {names.at('activity_id', row)}",
    "invitation": lambda row, _: f"the invitation of {row['email']}",
}
"""What a record is about, inside a sentence."""
SPECIAL: dict[tuple[str, str], Callable[[Row, Words], str]] = {
    ("school", "insert"): lambda row, _: f"{row['name']} began",
    ("year", "insert"): lambda row, _: (
        f"The year {row['name']} began: {date_said(row['first_day'])} to {date_said(row['last_day'])}"
    ),
    ("closure", "insert"): _closed,
    ("closure", "delete"): _opened,
    ("calendar day", "insert"): lambda row, words: (
        f"{date_said(row['date'])} became a day of the kind {quote(words.names.at('kind_id', row))}"
    ),
    ("calendar day", "delete"): lambda row, words: (
        f"{date_said(row['date'])} is no longer of the kind {quote(words.names.at('kind_id', row))}"
    ),
    ("standing kind", "insert"): lambda row, words: (
        f"{WEEKDAYS[row['weekday']]} became days of the kind {quote(words.names.at('kind_id', row))}"
    ),
    ("standing kind", "delete"): lambda row, words: (
        f"{WEEKDAYS[row['weekday']]} are no longer of the kind {quote(words.names.at('kind_id', row))}"
    ),
    ("day change", "insert"): _day_change,
    ("day change", "delete"): lambda row, _: f"Took back {quote(row['name'])} on {date_said(row['date'])}",
    ("bell schedule", "insert"): lambda row, words: (
        f"Added the bell schedule of grade {row['grade']}, {words.names.at('kind_id', row)}: "
        f"{said_span(row['start'], row['dismissal'])}"
    ),
    ("class teacher", "insert"): _class_teacher,
    ("class teacher", "delete"): lambda row, words: (
        f"{words.names.at('member_id', row)} is no longer teacher of {words.names.at('classroom_id', row)}"
    ),
    ("team role", "insert"): lambda row, words: (
        f"{words.names.at('member_id', row)} became {row['role']} of {words.names.at('team_id', row)}"
    ),
    ("team role", "delete"): lambda row, words: (
        f"{words.names.at('member_id', row)} is no longer {row['role']} of {words.names.at('team_id', row)}"
    ),
    ("school role", "insert"): lambda row, words: (
        f"{words.names.at('member_id', row)} became {row['role']} of the school"
    ),
    ("school role", "delete"): lambda row, words: (
        f"{words.names.at('member_id', row)} is no longer {row['role']} of the school"
    ),
    ("district role", "insert"): lambda row, words: (
        f"{words.names.at('member_id', row)} became a district administrator"
    ),
    ("district role", "delete"): lambda row, words: (
        f"{words.names.at('member_id', row)} is no longer a district administrator"
    ),
    ("specialist", "insert"): lambda row, words: (
        f"{words.names.at('member_id', row)} became specialist of {words.names.at('activity_id', row)}"
    ),
    ("specialist", "delete"): lambda row, words: (
        f"{words.names.at('member_id', row)} is no longer specialist of {words.names.at('activity_id', row)}"
    ),
    ("invitation", "insert"): _invited,
    ("rule", "insert"): _rule_added,
}
CHANGES: dict[str, Callable[[Record, Words], str | None]] = {
    "invitation": _invitation_changed,
    "team role": _team_role_changed,
    "year": _year_changed,
}


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
