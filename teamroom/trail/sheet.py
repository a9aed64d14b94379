"""The trail as a sheet of comma-separated values, read out of the database in steps."""

import csv
import io
from collections.abc import Iterator, Sequence

from teamroom.common.sheet_text import harmless
from teamroom.trail.entries import at_school, words_for
from teamroom.trail.kinds import BY_KEY, SORTS
from teamroom.trail.reading import Asked, Record, records_after
from teamroom.trail.wording import differences, said, who

A_STEP = 1000
HEADS = ("Date", "Time", "Who", "Sort", "What", "Before", "After")


def sheet_of(asked: Asked) -> Iterator[str]:
    """The lines of the sheet, newest first, with the mark by which spreadsheets know UTF-8."""
    yield "\ufeff" + _line(HEADS)
    last: Record | None = None
    while records := records_after(asked, last, A_STEP):
        words = words_for(asked.year, records)
        for record in records:
            at = at_school(asked.year, record.moment.at)
            changes = differences(record, words) if record.label == "update" else []
            yield _line(
                (
                    f"{at:%Y-%m-%d}",
                    f"{at:%H:%M:%S}",
                    who(record, words.names),
                    SORTS[BY_KEY[record.kind].sort],
                    said(record, words).sentence,
                    "; ".join(f"{each.what}: {each.before}" for each in changes),
                    "; ".join(f"{each.what}: {each.after}" for each in changes),
                )
            )
        last = records[-1]


def _line(cells: Sequence[str]) -> str:
    written = io.StringIO()
    csv.writer(written).writerow([harmless(cell) for cell in cells])
    return written.getvalue()
