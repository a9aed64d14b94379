"""What a spreadsheet would make of a classroom's week, and a week as a spreadsheet has it."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from hashlib import blake2b

from scheduling.models import SentSheet, Week, WrittenName
from scheduling.selectors.sheet_columns import all_places, main_columns
from scheduling.selectors.week_rows import rows_of
from scheduling.selectors.year_words import YearWords, day_said, small
from scheduling.spreadsheets.days import Days
from scheduling.spreadsheets.found import Choices, Entry, Fault, Guess, Options, chosen
from scheduling.spreadsheets.guessing import overlaps, understood
from scheduling.spreadsheets.names import Match, folded, matches
from scheduling.spreadsheets.sheet import sheet_from
from teamroom.common.clock import said_span

MOST_FAULTS = 40
LEFT_OUT = "leave out"


@dataclass(frozen=True)
class SheetLook:
    """A sheet as it was understood: guesses, blocks, names and what they are taken for, and what is wrong."""

    days: Days
    words: YearWords
    shape: str
    guesses: tuple[Guess, ...]
    entries: tuple[Entry, ...]
    matches: tuple[Match, ...]
    faults: tuple[Fault, ...]

    @property
    def seal(self) -> str:
        """What tells these blocks from others, so that a yes is to what was shown."""
        return blake2b(repr((self.entries, self.faults)).encode(), digest_size=12).hexdigest()

    @property
    def choices(self) -> list[Guess]:
        return [guess for guess in self.guesses if guess.key]

    @property
    def taken(self) -> list[str]:
        """What was taken for granted and cannot be chosen here."""
        return [guess.said for guess in self.guesses if not guess.key]


@dataclass(frozen=True)
class ShownBlock:
    """A line of the week as it would be."""

    times: str
    name: str
    written: str
    at: str
    why: str
    left_out: bool


def days_for(words: YearWords, present: Collection[str] = ()) -> Days:
    """The days of a week under the values and names that forms give them, usual ones first. `present` are values that
    a week has; those that forms do not offer come last."""
    main = main_columns(words, [])
    places = list(all_places(words, main))
    known = {value for value, _ in places}
    more = [(value, _name_of(value, words)) for value in dict.fromkeys(present) if value not in known]
    return Days(places[: len(main)], [*places[len(main) :], *more])


def _name_of(value: str, words: YearWords) -> str:
    day, _, kind = value.rpartition(":")
    name = small(words.kinds[int(kind)][1])
    return f"{day_said(day)}, when it is a {name}" if day else f"Every {name}"


def look_at(sent: SentSheet, words: YearWords, choices: Choices) -> SheetLook:
    """What a sheet that was sent would make of its classroom's week, as guessed and as chosen."""
    sheets = [sheet_from(plain) for plain in sent.sheets]
    options: Options = tuple((str(place), sheet.name or "The sheet") for place, sheet in enumerate(sheets))
    value = chosen(choices, "sheet", options, "0")
    sheet, days = sheets[int(value)], days_for(words, [f":{words.regular}"])
    found = understood(sheet, days, choices)
    which = [Guess(f"The sheet “{sheet.name}” is read.", "sheet", "Sheet", value, options)] if len(sheets) > 1 else []
    remembered = dict(
        WrittenName.objects.filter(school=sent.classroom.year.school_id).values_list("written", "activity")
    )
    names = {activity.key: activity.name for activity in words.activities.values()}
    return SheetLook(
        days,
        words,
        found.shape,
        (*(Guess(said) for said in sent.said), *which, *found.guesses),
        found.entries,
        tuple(matches((entry.activity for entry in found.entries), names, remembered)),
        found.faults,
    )


def overlaps_of(look: SheetLook, left_out: Collection[str]) -> list[Fault]:
    """Blocks that take the same time, without those whose names, folded, are left out."""
    return overlaps([entry for entry in look.entries if folded(entry.activity) not in left_out], look.days)


def shown_days(look: SheetLook, meanings: Mapping[str, str | None]) -> list[tuple[str, list[ShownBlock]]]:
    """The week as it would be, day by day in words; `meanings` are keys by folded name."""
    shown: dict[str, list[ShownBlock]] = {key: [] for key in look.days.usual}
    for entry in sorted(look.entries, key=lambda one: (one.start, one.end)):
        shown.setdefault(entry.day, []).append(_shown(look, entry, meanings.get(folded(entry.activity))))
    order = [key for key in look.days.names if key in shown]
    return [(look.days.names[key], shown[key]) for key in order]


def _shown(look: SheetLook, entry: Entry, key: str | None) -> ShownBlock:
    activity = look.words.by_key.get(key or "")
    name = activity.name if activity else entry.activity
    written = entry.activity if name != entry.activity else ""
    return ShownBlock(said_span(entry.start, entry.end), name, written, entry.at, entry.why, key == "")


def entries_of(week: Week, words: YearWords) -> list[Entry]:
    """A week's blocks as a spreadsheet has them: without what they credit, need, and who holds them together."""
    return [
        Entry(f"{day}:{kind}", block.start, block.end, words.activities[block.activity_id].name, block.why)
        for (day, kind), blocks in rows_of([week.pk])[week.pk].items()
        for block in blocks
    ]


def faults_shown(faults: Sequence[Fault]) -> tuple[Sequence[Fault], int]:
    """The first of what is wrong, and how many more there are."""
    return faults[:MOST_FAULTS], max(0, len(faults) - MOST_FAULTS)
