"""What the name of a calendar entry says about the day: a word rule, for suggestions alone.

Common practice, no source: the words are those that American school calendars use. Whoever imports
a calendar sees the word that decided, and decides otherwise where it is wrong.
"""

import re
from typing import Literal, NamedTuple

Meaning = Literal["closes", "shorter", "nothing"]


class Said(NamedTuple):
    """What a name means for the day, and the words of it that say so ('' for nothing)."""

    meaning: Meaning
    because: str


NOTHING = Said("nothing", "")
LONG_ENOUGH = 6 * 60
"""Minutes from which a timed entry can be about the whole school day."""

# Without pupils.
CLOSES = re.compile(
    r"""\b(no\s+(?:school|class(?:es)?|students?)|schools?\s+(?:is\s+|are\s+|will\s+be\s+)?closed|closed|closure
    |(?:school|student|public|legal|federal|state|district|local)?\s*holidays?|non-?\s*(?:student|instructional)\s+day
    |(?:\w+\s+)?(?:break|recess|vacation)|student[-\s]free
    |(?:teacher|staff|certificated|pupil[-\s]free)\s+(?:work|preparation|prep|planning|institute|conference|learning)\s*
        -?days?|(?:teacher|staff)\s+workdays?|work\s*days?|institute\s+day|pupil[-\s]free
    |(?:professional|staff)\s+(?:development|learning)(?:\s+day)?|in-?\s?service|
    snow\s+day|emergency\s+(?:closing|closure)
    |labor\s+day|columbus\s+day|indigenous\s+peoples?['’]?s?\s+day|veterans?['’]?s?\s+day|thanksgiving(?:\s+day)?
    |christmas(?:\s+(?:day|eve))?|new\s+year['’]?s?(?:\s+(?:day|eve))?|martin\s+luther\s+king|m\.?l\.?k\.?\s*(?:jr\.?)?
        \s*(?:day)?|presidents?['’]?s?\s+day|washington['’]?s\s+birthday|lincoln['’]?s?\s+(?:birth)?day
    |memorial\s+day|juneteenth|independence\s+day|good\s+friday|easter\s+monday|yom\s+kippur|rosh\s+hashanah
    |eid(?:\s+al[-\s]\w+)?|diwali|lunar\s+new\s+year|c[eé]sar\s+ch[aá]vez(?:\s+day)?)\b""",
    re.VERBOSE | re.IGNORECASE,
)
# With pupils, for fewer hours.
SHORTER = re.compile(
    r"""\b(early\s+(?:release|dismissal|out|closing)|(?:minimum|min|half|short(?:ened)?|abbreviated|modified|partial)
    [-\s]+(?:school\s+)?days?|noon\s+dismissal|(?:late|delayed)\s+(?:start|opening|arrival))\b""",
    re.VERBOSE | re.IGNORECASE,
)
# About a day without pupils, and not one: coming back from it, something held for it, or a part of a day.
BESIDE_IT = re.compile(
    r"""\b(resumes?|reopens?|returns?|back\s+(?:to|from)|before|after\s+(?!thanksgiving|christmas|easter)|ends?\b
    |last\s+day|first\s+day|concert|part(?:y|ies)|assembl(?:y|ies)|shop|store|sale|fair|program|performance|sing|camp
    |dance|parade|luncheon|lunch|dinner|breakfast|food\s+drive|feast|meeting|night|deadline|due|registration|duty)\b""",
    re.VERBOSE | re.IGNORECASE,
)
PLAIN = re.compile(r"\bno\s+(?:school|class(?:es)?|students?)\b|\bschools?\s+closed\b", re.IGNORECASE)


def meaning_of(name: str, *, minutes: int | None = None) -> Said:
    """What a calendar entry of this name means for its days. `minutes` is how long it lasts; None for whole days."""
    if plain := PLAIN.search(name):
        return Said("closes", _told(plain)) if minutes is None or minutes >= LONG_ENOUGH else NOTHING
    if shorter := SHORTER.search(name):
        return Said("shorter", _told(shorter))
    closes = CLOSES.search(name)
    if closes is None or BESIDE_IT.search(name) or (minutes is not None and minutes < LONG_ENOUGH):
        return NOTHING
    return Said("closes", _told(closes))


def _told(found: re.Match[str]) -> str:
    return " ".join(found[0].split()).strip()
