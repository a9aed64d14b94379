"""A rule's parts laid out for the screen: every choice with its words, every refusal at its field. Pure."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from scheduling.forms.rules.typed import BodyTyped, CapTyped, PairTyped, PartTyped, PoolTyped

Choices = Sequence[tuple[str, str]]

TESTS: Choices = (
    ("at_least", "at least"),
    ("at_most", "at most"),
    ("recommended", "recommended:"),
    ("unbroken", "one unbroken stretch of at least"),
    ("share", "a share of at least"),
    ("days_met", "on at least so many days"),
)
WINDOWS: Choices = (
    ("day", "each school day"),
    ("week", "each calendar week"),
    ("run", "a run of school days"),
    ("month", "each calendar month"),
    ("year", "the school year"),
)
RUN_WAYS: Choices = (("fixed", "one run after the other, from the first day"), ("rolling", "any so many in a row"))
MEANS: Choices = (
    ("", "in all"),
    ("day", "as a mean per school day"),
    ("week", "as a mean per five school days"),
)
PERS: Choices = (
    ("sitting", "minutes at a sitting"),
    ("day", "minutes a day"),
    ("week", "minutes a week"),
    ("year", "minutes a year"),
    ("share", "of the requirement"),
)
SHORT_WINDOWS: Choices = (
    ("", "as usual (a week its due share; runs and months left out)"),
    ("prorate", "asked its due share"),
    ("full", "asked the full figure"),
    ("skip", "left out"),
)
POOLS: Choices = (("of", "these activities together"), ("except", "all planned time except these"))


@dataclass(frozen=True, slots=True)
class Option:
    """One choice of a field, and whether it is the one chosen."""

    value: str
    label: str
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class CapRow:
    activities: Sequence[Option]
    most: str
    pers: Sequence[Option]


@dataclass(frozen=True, slots=True)
class PairRow:
    activities: Sequence[Option]
    besides: Sequence[Option]


@dataclass(frozen=True)
class PartShown:
    """One part for the template. `faults` are sentences by field; `riders_open` opens what is rarely used."""

    number: int
    place: int
    typed: PartTyped
    faults: Mapping[str, str]
    pools: Sequence[Option]
    activities: Sequence[Option]
    tests: Sequence[Option]
    windows: Sequence[Option]
    run_ways: Sequence[Option]
    means: Sequence[Option]
    base_pools: Sequence[Option]
    base_activities: Sequence[Option]
    kinds: Sequence[Option]
    short_windows: Sequence[Option]
    caps: Sequence[CapRow]
    pairs: Sequence[PairRow]
    riders_open: bool
    fresh: bool = False

    @property
    def prefix(self) -> str:
        return f"p{self.number}-"


@dataclass(frozen=True, slots=True)
class Step:
    """What a page shows after a button that saves nothing: whose rare pieces are open, which part is new."""

    opened: tuple[int, ...] = ()
    fresh: int | None = None


RIDERS = ("sitting", "caps", "pairs", "day_kinds", "short_window")


def parts_shown(
    body: BodyTyped,
    faults: Mapping[int, Mapping[str, str]],
    *,
    activities: Mapping[str, str],
    kinds: Mapping[str, str],
    step: Step,
) -> list[PartShown]:
    """Every part with its choices. `activities` and `kinds` are names by key; what a part names beyond
    them is shown by its key."""
    return [
        _shown(
            number,
            place,
            part,
            faults.get(number, {}),
            {**activities, **{key: key for key in _named(part) if key not in activities}},
            {**kinds, **{key: key for key in part.day_kinds if key not in kinds}},
            opened=number in step.opened,
            fresh=number == step.fresh,
        )
        for place, (number, part) in enumerate(body.parts.items(), start=1)
    ]


def _named(part: PartTyped) -> Iterator[str]:
    yield from part.pool.activities
    yield from part.base.activities
    for key in [
        *(cap.activity for cap in part.caps),
        *(key for pair in part.pairs for key in (pair.activity, pair.beside)),
    ]:
        if key:
            yield key


def _shown(
    number: int,
    place: int,
    part: PartTyped,
    faults: Mapping[str, str],
    activities: Mapping[str, str],
    kinds: Mapping[str, str],
    *,
    opened: bool,
    fresh: bool,
) -> PartShown:
    used = part.sitting or part.caps or part.pairs or part.day_kinds or part.short_window
    return PartShown(
        number=number,
        place=place,
        typed=part,
        faults=faults,
        pools=_options(POOLS, part.pool.counts),
        activities=_ticks(activities, part.pool),
        tests=_options(TESTS, part.test),
        windows=_options(WINDOWS, part.window),
        run_ways=_options(RUN_WAYS, part.run),
        means=_options(MEANS, part.mean),
        base_pools=_options(POOLS, part.base.counts),
        base_activities=_ticks(activities, part.base),
        kinds=[Option(key, name, key in part.day_kinds) for key, name in kinds.items()],
        short_windows=_options(SHORT_WINDOWS, part.short_window),
        caps=[_cap(cap, activities) for cap in (*part.caps, CapTyped())],
        pairs=[_pair(pair, activities) for pair in (*part.pairs, PairTyped())],
        riders_open=bool(used or opened or any(field in faults for field in RIDERS)),
        fresh=fresh,
    )


def _options(choices: Choices, chosen: str) -> list[Option]:
    return [Option(value, label, value == chosen) for value, label in choices]


def _ticks(names: Mapping[str, str], pool: PoolTyped) -> list[Option]:
    return [Option(key, name, key in pool.activities) for key, name in names.items()]


def _one_of(names: Mapping[str, str], chosen: str) -> list[Option]:
    return [Option("", "Choose…"), *(Option(key, name, key == chosen) for key, name in names.items())]


def _cap(cap: CapTyped, activities: Mapping[str, str]) -> CapRow:
    return CapRow(_one_of(activities, cap.activity), cap.most, _options(PERS, cap.per))


def _pair(pair: PairTyped, activities: Mapping[str, str]) -> PairRow:
    return PairRow(_one_of(activities, pair.activity), _one_of(activities, pair.beside))
