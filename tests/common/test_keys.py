"""Keys made from names: short, of plain letters, never one that is taken."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from teamroom.common.keys import LONGEST, free_key


@pytest.mark.parametrize(
    ("name", "taken", "key"),
    [
        ("Room 12", [], "room-12"),
        ("Room 12", ["room-12"], "room-12-2"),
        ("Room 12", ["room-12", "room-12-2"], "room-12-3"),
        ("École d'été", [], "ecole-dete"),
        ("教室", [], "classroom"),
        ("  ", ["classroom"], "classroom-2"),
    ],
)
def test_a_key_is_made_from_the_name(name: str, taken: list[str], key: str) -> None:
    assert free_key(name, taken, otherwise="classroom") == key


@given(st.text(max_size=200), st.sets(st.text(max_size=90), max_size=5))
def test_a_key_is_free_plain_and_short(name: str, taken: set[str]) -> None:
    # Taken ones of the hardest kind: those that the name itself would give.
    for _ in range(3):
        taken = {*taken, free_key(name, taken, otherwise="x")}
    key = free_key(name, taken, otherwise="x")
    assert key not in taken
    assert re.fullmatch(r"[a-z0-9_-]{1,80}", key) and len(key) <= LONGEST
