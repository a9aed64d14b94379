"""Rules' bodies for Hypothesis: every piece of a part, in every legal combination, defaults said or left unsaid."""

from collections.abc import Collection
from typing import Any

from hypothesis import strategies as st

from scheduling.minutes.definitions import part_faults

Written = dict[str, Any]
MINUTES = st.integers(0, 1_000_000)
FRACTIONS = st.one_of(
    st.builds(lambda of, n: f"{min(n, of)}/{of}", st.integers(1, 999), st.integers(0, 999)),
    st.builds(lambda n: f"{n}/100", st.integers(0, 100)),
    st.builds(lambda n: f"0.{n:03d}", st.integers(0, 999)),
    st.sampled_from(["0", "1", "1.5", "40/100", "004/100", "1.250"]),
)


def pools(activities: Collection[str]) -> st.SearchStrategy[Written]:
    some = st.lists(st.sampled_from(sorted(activities)), min_size=1, unique=True)
    none: st.SearchStrategy[Written] = st.just({"except": []})
    return st.one_of(none, some.map(lambda of: {"of": of}), some.map(lambda left: {"except": left}))


def caps(activities: Collection[str]) -> st.SearchStrategy[list[Written]]:
    activity = st.sampled_from(sorted(activities))
    per = st.fixed_dictionaries({}, optional={"per": st.sampled_from(["sitting", "day", "week", "year"])})
    minutes = st.builds(lambda a, n, more: {"activity": a, "at_most": n, **more}, activity, MINUTES, per)
    shares = st.builds(lambda a, share: {"activity": a, "at_most_share": share}, activity, FRACTIONS)
    return st.lists(st.one_of(minutes, shares), max_size=3)


def parts(activities: Collection[str], kinds: Collection[str]) -> st.SearchStrategy[Written]:
    """One part that no school file would refuse."""
    activity, count = st.sampled_from(sorted(activities)), st.integers(1, 400)
    met = st.fixed_dictionaries({"at_least": count}, optional={"minutes": st.integers(1, 1440)})
    share = st.fixed_dictionaries({"at_least": FRACTIONS, "of": pools(activities)})
    amount = st.sampled_from(["at_least", "at_most", "recommended", "unbroken"])
    test = st.one_of(
        st.builds(lambda kind, minutes: {kind: minutes}, amount, MINUTES),
        share.map(lambda asked: {"share": asked}),
        met.map(lambda asked: {"days_met": asked}),
    )
    run = st.fixed_dictionaries({"days": count}, optional={"rolling": st.booleans()})
    unsaid: st.SearchStrategy[Written] = st.just({})
    window: st.SearchStrategy[Written] = st.one_of(
        unsaid,
        st.sampled_from(["day", "week", "month", "year"]).map(lambda kind: {"window": kind}),
        run.map(lambda told: {"run": told}),
        run.map(lambda told: {"window": "run", "run": told}),
    )
    riders = st.fixed_dictionaries(
        {},
        optional={
            "pool": pools(activities),
            "mean": st.sampled_from(["day", "week"]),
            "sitting": MINUTES,
            "caps": caps(activities),
            "not_beside": st.lists(st.fixed_dictionaries({"activity": activity, "beside": activity}), max_size=3),
            "day_kinds": st.lists(st.sampled_from(sorted(kinds)), unique=True),
            "short_window": st.sampled_from(["full", "prorate", "skip"]),
        },
    )
    return st.builds(
        lambda *pieces: {key: value for piece in pieces for key, value in piece.items()}, test, window, riders
    ).filter(lambda part: not list(part_faults(part)))


def bodies(activities: Collection[str], kinds: Collection[str]) -> st.SearchStrategy[Written]:
    part = parts(activities, kinds)
    several = st.lists(part, min_size=1, max_size=4)
    return st.one_of(part, several.map(lambda some: {"all": some}), several.map(lambda some: {"any": some}))
