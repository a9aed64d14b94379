"""Two changes of one block put together: each part by itself, and nothing of either lost unseen."""

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from scheduling.block_merge import PARTS, merges, settled

BLOCKS = st.fixed_dictionaries(
    {
        "block": st.just(7),
        "day": st.sampled_from(("mon", "tue")),
        "kind": st.just("regular"),
        "start": st.sampled_from((480, 510)),
        "end": st.sampled_from((540, 600)),
        "activity": st.sampled_from(("math", "art")),
        "credits": st.sampled_from(([], [["math", 30]])),
        "why": st.sampled_from(("", "quiet time")),
    },
    optional={"uses": st.just([["lab", 1]])},
)


def sides_of(base: dict[str, Any], theirs: dict[str, Any], mine: dict[str, Any]) -> dict[str, Any]:
    return {part.name: part.side or "mine" for part in merges(base, theirs, mine)}


@given(BLOCKS, BLOCKS)
def test_who_changed_nothing_has_no_say(base: dict[str, Any], other: dict[str, Any]) -> None:
    assert settled(other, base, sides_of(base, other, base)) == other
    assert settled(base, other, sides_of(base, base, other)) == other


@given(BLOCKS, BLOCKS, BLOCKS)
def test_a_part_is_in_question_only_if_both_changed_it_differently(
    base: dict[str, Any], theirs: dict[str, Any], mine: dict[str, Any]
) -> None:
    for part in merges(base, theirs, mine):
        changed_by_both = part.theirs != part.base and part.mine != part.base
        assert (part.side is None) == (changed_by_both and part.theirs != part.mine)


@given(BLOCKS, BLOCKS, st.dictionaries(st.sampled_from(list(PARTS)), st.sampled_from(("mine", "theirs"))))
def test_each_part_is_of_the_side_that_was_chosen(
    theirs: dict[str, Any], mine: dict[str, Any], sides: dict[str, Any]
) -> None:
    block = settled(theirs, mine, sides)
    for part in merges(None, theirs, mine):
        wanted = part.mine if sides.get(part.name) == "mine" else part.theirs
        (found,) = (one.theirs for one in merges(None, block, block) if one.name == part.name)
        assert found == wanted


@given(BLOCKS, BLOCKS)
def test_without_knowing_how_it_was_whatever_differs_is_in_question(
    theirs: dict[str, Any], mine: dict[str, Any]
) -> None:
    assert {part.name for part in merges(None, theirs, mine) if part.side is None} == {
        part.name for part in merges(None, theirs, mine) if part.theirs != part.mine
    }
