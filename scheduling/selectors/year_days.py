"""The days a school year plans: each day of the cycle with its usual kind, and where the calendar has another kind."""

from collections.abc import Iterator, Sequence

from scheduling.selectors.year_words import YearWords

Day = tuple[str, str]
"""A cycle day and the key of a day kind."""


def usual_days(words: YearWords) -> dict[str, str]:
    """Each day of the cycle that is planned, with the key of the kind it has unless a date says otherwise."""
    planned = set(words.cycle.usual_days) | {day for day, _ in occurring(words)}
    return {day: words.kinds[words.usual_kind(day)][0] for day in words.cycle.day_names if day in planned}


def other_days(words: YearWords) -> list[Day]:
    """The days of the calendar that are of another kind than usual, kind by kind."""
    usual, held = usual_days(words), occurring(words)
    return [
        (day, kind) for kind, _ in words.kinds.values() for day in usual if usual[day] != kind and (day, kind) in held
    ]


def occurring(words: YearWords) -> set[Day]:
    """Every cycle day with each kind that some date of the year gives it."""
    return {(day.cycle_day, day.kind) for day in words.inputs.year.days}


def by_weeks(days: Sequence[str]) -> Iterator[tuple[str, list[str]]]:
    """The days in one stretch, or in one for each week where they alternate."""
    if days and "-" in days[0]:
        for week in "AB":
            yield f"Week {week}", [day for day in days if day.startswith(f"{week}-")]
    else:
        yield "", list(days)
