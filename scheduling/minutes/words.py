"""A rule in plain English sentences: what it asks, then what counts for it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from scheduling.minutes.figures import listed, minutes_in_words, number_said, share_in_words
from scheduling.minutes.rules import Part, Pool, Rule

Names = Mapping[str, str]
"""What the school calls its activities and day kinds, by key."""


@dataclass(frozen=True, slots=True)
class RuleSaid:
    """A rule in words: a lead where it has several parts, and each part's sentences."""

    lead: str
    parts: tuple[str, ...]

    def __str__(self) -> str:
        return " ".join(filter(None, (self.lead, *self.parts)))


def rule_said(rule: Rule, activities: Names, kinds: Names) -> RuleSaid:
    """What a rule demands; one that cannot be checked says its reason."""
    if rule.not_checkable:
        return RuleSaid("", (rule.not_checkable,))
    parts = tuple(part_said(part, activities, kinds) for part in rule.parts)
    if len(parts) < 2:
        return RuleSaid("", parts)
    return RuleSaid("One of these is enough:" if rule.any_of else "All of these hold:", parts)


def part_said(part: Part, activities: Names, kinds: Names) -> str:
    """One part as a few sentences: the demand first, then its riders."""
    return " ".join((_demand(part, activities), *_riders(part, activities, kinds)))


def pool_said(pool: Pool, activities: Names, joint: str = "or") -> str:
    """`physical education or recess`, `all planned time except lunch and recess`."""
    names = sorted(_name(activities, key) for key in pool.activities)
    if not pool.except_:
        return listed(names, joint) or "no activity"
    return f"all planned time except {listed(names)}" if names else "all planned time"


def _name(activities: Names, key: str) -> str:
    name = activities.get(key, key.replace("_", " "))
    # A name such as PE or ELD keeps its capitals inside a sentence.
    return name if name[:2].isupper() else name[:1].lower() + name[1:]


def _demand(part: Part, activities: Names) -> str:
    pool, figure = pool_said(part.pool, activities), part.test.figure
    when, kind = _window(part), part.test.kind
    if kind == "share":
        assert part.test.of is not None  # noqa: S101 - a share is always taken of a pool
        of = pool_said(part.test.of, activities, "and")
        return f"At least {share_in_words(figure)} of {of} goes to {pool_said(part.pool, activities, 'and')} {when}."
    if kind == "unbroken":
        return f"One unbroken stretch of at least {minutes_in_words(figure)} of {pool} {when}."
    if kind == "days_met":
        days = f"{number_said(figure)} day{'' if figure == 1 else 's'}"
        return f"At least {minutes_in_words(part.test.minutes)} of {pool} on at least {days} {when}."
    amount = f"{minutes_in_words(figure)} of {pool} {when}"
    if part.mean:
        per = "a school day" if part.mean == "day" else "for every five school days"
        amount = f"{minutes_in_words(figure)} {per} of {pool}, as a mean of {_stretch(part)}"
    if kind == "recommended":
        return f"Recommended: {amount}."
    return f"{'At most' if kind == 'at_most' else 'At least'} {amount}."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _window(part: Part) -> str:
    return f"{'on' if part.window.kind == 'day' else 'in'} {_stretch(part)}"


def _stretch(part: Part) -> str:
    window = part.window
    if window.kind == "run":
        days = f"{window.run_days} school days"
        return f"any {days} in a row" if window.rolling else f"each run of {days}"
    return {
        "day": "each school day",
        "week": "each week",
        "month": "each calendar month",
        "year": "the school year",
    }[window.kind]


def _riders(part: Part, activities: Names, kinds: Names) -> Iterator[str]:
    if part.sitting:
        yield f"Only stretches of at least {minutes_in_words(part.sitting)} count."
    for cap in part.caps:
        per = "at a sitting" if cap.per == "sitting" else f"a {cap.per}"
        yield f"{_named(activities, cap.activity)} counts for at most {minutes_in_words(cap.at_most)} {per}."
    for share in part.share_caps:
        most = share_in_words(share.share)
        yield f"{_named(activities, share.activity)} counts for at most {most} of the requirement."
    for activity, beside in part.not_beside:
        yield f"{_named(activities, activity)} right beside {_name(activities, beside)} does not count."
    if part.day_kinds:
        yield f"Only these days count: {listed(sorted(_name(kinds, kind) for kind in part.day_kinds))}."
    yield from _short_window(part)


def _named(activities: Names, key: str) -> str:
    return _capital(_name(activities, key))


def _short_window(part: Part) -> Iterator[str]:
    told = {
        "week": "A week of fewer than five school days",
        "run": f"A last run of fewer than {part.window.run_days} school days",
        "month": "A month that is not wholly inside the school year",
    }.get(part.window.kind)
    # A rolling run is never short, and a share or a stretch asks the same of a short window.
    if told is None or part.window.rolling:
        return
    asked_alike = bool(part.mean) or part.test.kind in ("share", "unbroken")
    if part.short_policy == "skip":
        yield f"{told} is left out."
    elif part.short_policy == "prorate" and not asked_alike:
        yield f"{told} is asked its due share."
    elif part.window.kind != "week" or not asked_alike:
        yield f"{told} is asked the full figure."
