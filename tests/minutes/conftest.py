"""The cases worked by hand hold the naive counter and the engine to the same figures."""

from collections.abc import Iterator

import pytest

from tests.minutes.naive.small import COUNTERS, in_turn


@pytest.fixture(params=COUNTERS)
def each_counter(request: pytest.FixtureRequest) -> Iterator[None]:
    """Let the naive counter and the engine answer in turn."""
    token = in_turn.set(request.param)
    yield
    in_turn.reset(token)
