"""What a fitting found, in words: what it comes to, how far it is from the best, and each change to decide about."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils import timezone

from scheduling.models import Fitting
from scheduling.selectors.year_words import capital, day_in_full, year_words
from teamroom.common.wording import counted


@dataclass(frozen=True, slots=True)
class ChangeTold:
    """One block that stands otherwise than in the source. `key` names it in the form; only what has a place in the
    source can go back there."""

    key: str
    field: str
    day: str
    said: str
    can_go_back: bool


@dataclass(frozen=True, slots=True)
class WayTold:
    """A week that was found. `met` says whether an ordinary week of it meets every rule."""

    number: int
    met: bool
    sentences: tuple[str, ...]
    changes: tuple[ChangeTold, ...]


@dataclass(frozen=True)
class FittingTold:
    """A fitting as its page shows it; `lacking` names the rules that cannot all be met, `seconds` says how long it
    has been at it."""

    title: str
    asked: str
    seconds: int
    ways: tuple[WayTold, ...]
    lacking: tuple[str, ...]
    left_behind: tuple[str, ...]
    given: tuple[str, ...]


def fitting_told(fitting: Fitting) -> FittingTold:
    words = year_words(fitting.classroom.year)
    names = {rule.rule.key: rule.name for rule in words.rules.values()}
    began = fitting.started_at or timezone.now()
    ended = fitting.finished_at or timezone.now()
    return FittingTold(
        title=title_of(fitting),
        asked=_asked(fitting),
        seconds=max(0, round((ended - began).total_seconds())),
        ways=tuple(_way(number, way, fitting.kind) for number, way in enumerate(fitting.ways)),
        lacking=tuple(names.get(key, key) for key in fitting.asked.get("lacking", ())),
        left_behind=tuple(fitting.asked.get("left_behind", ())),
        given=tuple(fitting.asked.get("given", ())),
    )


def title_of(fitting: Fitting) -> str:
    if fitting.kind == "draft":
        return "A week from nothing"
    if fitting.kind == "mend":
        return "What mends the week"
    room = fitting.source.classroom if fitting.source is not None else "a colleague"
    return f"The week of {room}, fitted to {fitting.classroom}"


def _asked(fitting: Fitting) -> str:
    if decided := fitting.asked.get("decided"):
        return f"Fitted around {counted(len(decided), 'change')} you decided about."
    return ""


def _way(number: int, way: dict[str, Any], kind: str) -> WayTold:
    changes = tuple(
        ChangeTold(change["key"], f"decide-{n}", _day(way, change), change["said"], change["was"] is not None)
        for n, change in enumerate(way["changes"])
    )
    return WayTold(number, not way["shortfall"], tuple(_sentences(way, kind, len(changes))), changes)


def _day(way: dict[str, Any], change: dict[str, Any]) -> str:
    """The day a change begins on."""
    day, kind = way["days"][(change["was"] or change["now"])[0]]
    return capital(day_in_full(day)) if day else capital(kind.replace("_", " "))


def _sentences(way: dict[str, Any], kind: str, changes: int) -> Iterator[str]:
    short = way["shortfall"]
    yield (
        f"It falls short of the rules by {_minutes(short)} in all."
        if short
        else "An ordinary week of it meets every rule that can be checked."
    )
    if way["advice"]:
        yield f"It stays {_minutes(way['advice'])} below what is only advised."
    if way["wishes"]:
        yield f"It goes against what you wished by {_minutes(way['wishes'])}."
    if kind == "draft":
        yield f"{counted(len(way['blocks']), 'block')}; {_minutes(way['free'])} of the week’s time are still free."
    else:
        yield _moved(way, changes)
    yield from _best(way, kind)


def _moved(way: dict[str, Any], changes: int) -> str:
    total = len(way["blocks"]) + way["dropped"]
    if not changes:
        return f"All {total} blocks stand as they did."
    told = [f"{counted(changes, 'block')} of {total} {'stands' if changes == 1 else 'stand'} otherwise"]
    if way["dropped"]:
        told.append(f"{way['dropped']} of them {'is' if way['dropped'] == 1 else 'are'} left out")
    if way["moved_days"]:
        told.append(f"{way['moved_days']} {'goes' if way['moved_days'] == 1 else 'go'} to another day")
    return ", ".join(told) + f"; {_minutes(way['moving'])} of moving and changed length."


def _best(way: dict[str, Any], kind: str) -> Iterator[str]:
    if way["proven"]:
        yield (
            "No change of fewer blocks does as well."
            if kind == "mend"
            else "No week comes nearer, as ordinary weeks go: that is proven."
        )
    elif way["stopped"]:
        yield "You stopped the search: a better week may be there."
    elif kind != "mend" and 0 < way["bound"] < way["moving"]:
        yield f"The search ran out of time: at best {_minutes(way['moving'] - way['bound'])} less would have to move."
    else:
        yield "The search ran out of time: a better week may be there."


def _minutes(minutes: float) -> str:
    return counted(round(minutes), "minute")


def keys_of(way: WayTold) -> Sequence[tuple[str, str]]:
    """The form's fields of a way with the change each is about."""
    return [(change.field, change.key) for change in way.changes]
