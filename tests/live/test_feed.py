"""What a page is told: each edition once, in order, however it comes to be known."""

from hypothesis import given
from hypothesis import strategies as st

from teamroom.common.live.feed import MOST_MISSED, Feed, read_position, written_position

TOPICS = st.sampled_from(("classroom-1", "classroom-2", "year-1"))


@given(st.lists(TOPICS, max_size=60), st.data())
def test_every_edition_is_told_once_and_in_order_however_some_are_missed_or_repeated(
    raised: list[str], data: st.DataObject
) -> None:
    known = dict.fromkeys(("classroom-1", "classroom-2", "year-1"), 0)
    feed = Feed(known)
    stands = dict(known)
    told: dict[str, list[int]] = {topic: [] for topic in known}
    for topic in raised:
        stands[topic] += 1
        times = data.draw(st.integers(0, 2))
        for _ in range(times):
            for change in feed.moved(topic, stands[topic]):
                told[change.topic].append(change.edition)
                assert read_position(change.position)[change.topic] == change.edition
    for topic, edition in stands.items():
        told[topic] += [change.edition for change in feed.moved(topic, edition)]
    assert told == {topic: list(range(1, edition + 1)) for topic, edition in stands.items()}


def test_a_topic_that_is_not_followed_is_not_told() -> None:
    assert list(Feed({"classroom-1": 3}).moved("classroom-2", 4)) == []


def test_who_missed_too_much_is_told_the_latest_at_once() -> None:
    changes = list(Feed({"classroom-1": 3}).moved("classroom-1", 4 + MOST_MISSED))
    assert [change.edition for change in changes] == [4 + MOST_MISSED]


def test_what_is_heard_late_is_not_told_again() -> None:
    feed = Feed({"classroom-1": 3})
    told = [change.edition for edition in (5, 4, 5, 3) for change in feed.moved("classroom-1", edition)]
    assert told == [4, 5]


def test_who_knows_more_than_there_is_is_told_what_there_is() -> None:
    feed = Feed({"classroom-1": 4}, {"classroom-1": 9})
    assert [change.edition for change in feed.moved("classroom-1", 4)] == [4]


@given(st.dictionaries(TOPICS, st.integers(0, 10**18 - 1)))
def test_a_position_reads_as_it_was_written(known: dict[str, int]) -> None:
    assert read_position(written_position(known)) == known


@given(st.text())
def test_whatever_somebody_sends_as_a_position_is_read_without_a_fault(written: str) -> None:
    assert all(edition >= 0 for edition in read_position(written).values())
