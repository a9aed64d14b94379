"""Times of day as people write them and as the code keeps them: minutes since midnight."""

import re

WRITTEN = re.compile(r"([01]?\d|2[0-4]):([0-5]\d)")


def minutes_of(written: str) -> int:
    """`09:05` as 545; `24:00` is the midnight that ends the day.

    Raises ValueError with a sentence if it is no time of day.
    """
    found = WRITTEN.fullmatch(written.strip())
    minutes = int(found[1]) * 60 + int(found[2]) if found else None
    if minutes is None or minutes > 24 * 60:
        raise ValueError(f"{written!r} is no time of day: write hours and minutes, as in 09:05.")
    return minutes


def written_clock(minutes: int) -> str:
    """545 as `09:05`."""
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
