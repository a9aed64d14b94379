"""What a rule gives for classrooms: worked out for one that nobody has saved, and read for those saved."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

from scheduling.minutes import figures
from scheduling.minutes.readings import ClassroomYear, Reading, rule_readings
from scheduling.minutes.rules import Figure, Part, Rule
from scheduling.minutes.words import RuleSaid, rule_said
from scheduling.models import Reading as ReadingRow
from scheduling.selectors.ledger import VERDICT_LOOKS, VERDICT_WORDS
from scheduling.selectors.plans import plans_of
from scheduling.selectors.year_words import YearWords, year_words
from teamroom.common.wording import counted
from teamroom.dates.models import SchoolYear
from teamroom.members.models import Classroom

MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class PartOutcome:
    """One part in one classroom: its tightest window, in figures and as they are said."""

    place: int
    period: str
    window: str
    windows: str
    look: str
    status: str
    figures: tuple[Figure | None, Figure | None, Figure | None]
    required: str
    planned: str
    margin: str


@dataclass(frozen=True, slots=True)
class RoomOutcome:
    """A rule in one classroom; without a status where the year asks it for nothing."""

    pk: int
    name: str
    grades: str
    has_week: bool
    status: str
    look: str
    parts: tuple[PartOutcome, ...]

    @property
    def verdict(self) -> str:
        return VERDICT_WORDS.get(self.status, self.status) or "nothing asked"


@dataclass(frozen=True)
class RuleOutcome:
    """A rule in words, and in every classroom it is for."""

    said: RuleSaid
    rooms: Sequence[RoomOutcome]
    parts: int

    @property
    def summary(self) -> str:
        return standing_said([room.status for room in self.rooms])


def standing_said(statuses: Collection[str]) -> str:
    """`4 of 6 classrooms meet it now.`, from each classroom's verdict ('' where nothing is asked)."""
    if not statuses:
        return "No classroom is in these grades yet."
    if "not checkable" in statuses:
        return f"A week cannot prove it: {counted(len(statuses), 'classroom')} show it as not checkable."
    asked = [status for status in statuses if status]
    if not asked:
        return "It asks for nothing in this year: no day, week or run of it is checked."
    met = asked.count("met")
    if len(asked) == 1:
        return f"The one classroom {'meets' if met else 'does not meet'} it now."
    if met in (0, len(asked)):
        return f"{'All' if met else 'None of'} {len(asked)} classrooms meet{'' if met else 's'} it now."
    return f"{met} of {counted(len(asked), 'classroom')} {'meets' if met == 1 else 'meet'} it now."


def outcome_of(year: SchoolYear, rule: Rule) -> RuleOutcome:
    """A rule that may never have been saved, worked out for every classroom of its grades.

    Nothing is written; the queries are the same however many classrooms there are.
    """
    words = year_words(year)
    rooms = year.classrooms.filter(retired=False, grades__overlap=sorted(rule.grades))
    mine = list(rooms.order_by("team__name", "name", "key"))
    plans = plans_of(words.inputs, mine)
    found = []
    for room in mine:
        grade = next(grade for grade in room.grades if grade in rule.grades)
        book = ClassroomYear(words.inputs.year, plans[room.pk])
        readings = list(rule_readings(book, rule, grade, as_of=None, every_window=False))
        found.append(_room(room, rule, readings, has_week=bool(plans[room.pk].versions)))
    return RuleOutcome(_said(words, rule), found, len(rule.parts))


def _said(words: YearWords, rule: Rule) -> RuleSaid:
    names = {key: activity.name for key, activity in words.by_key.items()}
    return rule_said(rule, names, dict(words.kinds.values()))


def _room(room: Classroom, rule: Rule, readings: Iterable[Reading], *, has_week: bool) -> RoomOutcome:
    parts, status = [], ""
    for reading in readings:
        if reading.part is None:
            status = reading.status
        else:
            parts.append(_part(rule.parts[reading.part], reading))
    grades = f"grade{'s' if len(room.grades) > 1 else ''} {figures.listed(room.grades)}"
    look = VERDICT_LOOKS.get(status, "unchecked")
    return RoomOutcome(room.pk, str(room), grades, has_week, status, look, tuple(parts))


def _part(part: Part, reading: Reading) -> PartOutcome:
    required, planned, margin = (value or 0 for value in (reading.required, reading.planned, reading.margin))
    hours = figures.in_hours(planned, required)
    window = ""
    if reading.first and reading.last and part.window.kind != "year":
        window = figures.window_said(part, reading.first, reading.last)
    status = part.test.failing if reading.short_windows else "met"
    return PartOutcome(
        place=reading.part or 0,
        period=figures.period_said(part),
        window=window,
        windows=figures.windows_said(part, reading.short_windows or 0, reading.windows or 0),
        look=VERDICT_LOOKS[status],
        status=status,
        figures=(reading.required, reading.planned, reading.margin),
        required=figures.figure_said(part, required, hours=hours),
        planned=figures.figure_said(part, planned, hours=hours),
        margin=figures.margin_said(part, margin),
    )


@dataclass(frozen=True, slots=True)
class RoomStanding:
    """How one classroom stands to a rule that is saved."""

    pk: int
    name: str
    status: str

    @property
    def verdict(self) -> str:
        return VERDICT_WORDS.get(self.status, self.status)

    @property
    def look(self) -> str:
        return VERDICT_LOOKS[self.status]


def standings_of(rooms: Iterable[Classroom], rules: Collection[int] | None = None) -> dict[int, list[RoomStanding]]:
    """Each rule's classrooms with their verdicts as stored, in the order of the classrooms; two queries."""
    names = {room.pk: str(room) for room in rooms}
    places = {pk: place for place, pk in enumerate(names)}
    rows = ReadingRow.objects.filter(classroom__in=names, part=None)
    if rules is not None:
        rows = rows.filter(rule__in=rules)
    found: dict[int, dict[int, str]] = defaultdict(dict)
    # Both grades of a combination class have the same figures.
    for rule, room, status in rows.values_list("rule_id", "classroom_id", "status"):
        found[rule][room] = status
    return {
        rule: [RoomStanding(pk, names[pk], by_room[pk]) for pk in sorted(by_room, key=lambda pk: places[pk])]
        for rule, by_room in found.items()
    }


def failing(standings: Iterable[RoomStanding]) -> Iterator[RoomStanding]:
    """The classrooms that do not meet a rule, advice included."""
    return (one for one in standings if one.status not in ("met", "not checkable"))


def shortfalls_said(standings: Sequence[RoomStanding]) -> str:
    """`2 of 3 classrooms meet it now. Short: Room 12.`: the consequence of a rule just saved."""
    told = [f"{one.name} ({one.verdict})" for one in failing(standings)]
    more = len(told) - MOST_NAMED
    named = figures.listed([*told[:MOST_NAMED], f"{more} more"] if more > 0 else told)
    summary = standing_said([one.status for one in standings])
    return f"{summary} Not: {named}." if named else summary
