"""What the page of one figure shows: how it comes about, window by window."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from scheduling.minutes import figures
from scheduling.minutes.readings import ClassroomYear, Measured
from scheduling.minutes.rules import Figure, Part
from scheduling.minutes.trace import Addend, Trace, trace_of
from scheduling.selectors.plans import plans_of
from scheduling.selectors.year_words import PartWords, RuleWords, YearWords, capital, day_in_full, small, year_words
from teamroom.common.clock import said_date, said_span
from teamroom.dates.calendar_maths import REGULAR
from teamroom.members.models import Classroom

SOURCES = {"fixed stretch": "fixed by the school", "day change": "change of that day", "cap": "cap", "days": "days"}


@dataclass(frozen=True, slots=True)
class AddendLine:
    """One line of the sum. `each` is empty where the line stands for a single day."""

    what: str
    where: str
    times: str
    days: str
    each: str
    adds: str
    why: str


@dataclass(frozen=True, slots=True)
class ActivitySum:
    """What one activity brings to the sum; `reach` is in percent of the greatest."""

    name: str
    look: str
    minutes: str
    reach: float


@dataclass(frozen=True, slots=True)
class WindowLine:
    """A window to choose."""

    first: str
    said: str
    planned: str
    margin: str
    look: str
    verdict: str
    current: bool


@dataclass(frozen=True, slots=True)
class TracePage:
    """The figure of one window, told down to its addends."""

    classroom: Classroom
    rule: RuleWords
    part: PartWords
    window: WindowLine
    required: str
    counted: tuple[AddendLine, ...]
    uncounted: tuple[AddendLine, ...]
    by_activity: tuple[ActivitySum, ...]
    total: str
    after: str
    windows: tuple[WindowLine, ...]
    failing: str


def trace_page(classroom: Classroom, rule: int, place: int, first: dt.date | None) -> TracePage | None:
    """The page of a rule's part for a classroom; None if there is no such figure."""
    words = year_words(classroom.year)
    told = words.rules.get(rule)
    if told is None or place >= len(told.parts) or not set(told.grades) & set(classroom.grades):
        return None
    part = told.parts[place].part
    book = ClassroomYear(words.inputs.year, plans_of(words.inputs, [classroom])[classroom.pk])
    windows = book.every_window(told.rule, part)
    if not windows:
        return None
    chosen = next((w for w in windows if w.first == first), None) or min(windows, key=lambda w: w.figures.margin)
    trace = trace_of(book, part, chosen.stretch)
    lines = [(addend, _addend_line(part, words, addend)) for addend in _as_a_week_is_read(words, trace.addends)]
    failing = sum(window.short for window in windows)
    return TracePage(
        classroom=classroom,
        rule=told,
        part=told.parts[place],
        window=_window_line(part, chosen, chosen),
        required=figures.figure_said(part, chosen.figures.required, hours=_hours(chosen)),
        counted=tuple(line for addend, line in lines if addend.minutes),
        uncounted=tuple(line for addend, line in lines if not addend.minutes),
        by_activity=_by_activity(words, trace),
        total=_amount(part, trace.total),
        after=_after(part, trace, chosen),
        windows=tuple(_window_line(part, window, chosen) for window in windows),
        failing=figures.windows_said(part, failing, len(windows)),
    )


def _as_a_week_is_read(words: YearWords, addends: Iterable[Addend]) -> list[Addend]:
    """Mondays first, whatever day the window begins on; what belongs to no day at the end."""
    days = {day: place for place, day in enumerate(words.cycle.day_names)}
    return sorted(addends, key=lambda addend: (days.get(addend.cycle_day, len(days)), addend.kind != REGULAR))


def _by_activity(words: YearWords, trace: Trace) -> tuple[ActivitySum, ...]:
    """The sum by activity, the greatest first; nothing where there is but one."""
    sums: dict[str, Figure] = {}
    for addend in trace.addends:
        if addend.minutes and addend.activity:
            sums[addend.activity] = sums.get(addend.activity, 0) + addend.minutes
    if len(sums) < 2:
        return ()
    most, hours = max(sums.values()), figures.in_hours(*sums.values())
    return tuple(
        ActivitySum(
            name=words.by_key[key].name if key in words.by_key else key,
            look=words.by_key[key].look if key in words.by_key else "",
            minutes=figures.minutes_said(minutes, hours=hours),
            reach=round(float(minutes / most) * 100, 1),
        )
        for key, minutes in sorted(sums.items(), key=lambda item: -item[1])
    )


def _hours(window: Measured) -> bool:
    return figures.in_hours(window.figures.planned, window.figures.required)


def _amount(part: Part, value: Figure) -> str:
    """Addends are minutes, but days where days are counted; they stand in one unit and sum up."""
    if part.test.kind == "days_met":
        return figures.number_said(value)
    minutes = figures.number_said(figures.size_of(value))
    return f"{figures.MINUS if value < 0 else ''}{minutes}"


def _window_line(part: Part, window: Measured, chosen: Measured) -> WindowLine:
    planned, _, margin = window.figures
    hours = _hours(window)
    return WindowLine(
        first=window.first.isoformat(),
        said=capital(figures.window_said(part, window.first, window.last)),
        planned=figures.figure_said(part, window.figures.planned, hours=hours),
        margin=figures.margin_said(part, margin),
        look={"short": "short", "over": "over", "below advice": "advice"}[part.test.failing] if window.short else "met",
        verdict=part.test.failing if window.short else "met",
        current=window is chosen,
    )


def _after(part: Part, trace: Trace, window: Measured) -> str:
    """What is done with the sum: divided for a mean, compared for a share."""
    if trace.base is not None:
        share = figures.percent_said(window.figures.planned)
        return f"Of {figures.number_said(trace.base)} minutes that is {share}."
    if part.mean and trace.divisor:
        planned = figures.minutes_said(window.figures.planned)
        of = "school days that count" if part.mean == "day" else "weeks of five school days"
        return f"Divided by {figures.number_said(trace.divisor)} {of}, that is {planned} a {part.mean}."
    if part.test.kind == "unbroken":
        return "This is the longest unbroken stretch of the window."
    return ""


def _addend_line(part: Part, words: YearWords, addend: Addend) -> AddendLine:
    activity = words.by_key.get(addend.activity)
    name = activity.name if activity else addend.activity
    label = words.by_key[addend.label].name if addend.label in words.by_key else addend.label
    what = f"{name}, in {label}" if label and name and label != name else name or "School days"
    source = SOURCES.get(addend.source, "")
    return AddendLine(
        what=f"{what} ({source})" if source and source != "days" else what,
        where=_where(words, addend),
        times=said_span(addend.start, addend.end) if addend.start is not None and addend.end is not None else "",
        days=figures.number_said(addend.days) if addend.first is not None or not addend.minutes else "",
        each=_amount(part, addend.each) if addend.first is not None else "",
        adds=_amount(part, addend.minutes),
        why=addend.why,
    )


def _where(words: YearWords, addend: Addend) -> str:
    if addend.first is None:
        return "over the window" if addend.source == "cap" else ""
    if addend.source == "day change" or addend.days == 1:
        return said_date(addend.first)
    kind = next((name for key, name in words.kinds.values() if key == addend.kind), addend.kind)
    usual = words.kinds[words.usual_kind(addend.cycle_day)][0] == addend.kind
    day = capital(day_in_full(addend.cycle_day))
    return (
        f"{day}s"
        if usual and not addend.cycle_day.isdigit() and "-" not in addend.cycle_day
        else (day if usual else f"{day}, {small(kind)}")
    )
