"""What a passphrase must be, after NIST SP 800-63B-4, section 3.1.1.2.

At least 15 characters where it may be all that is asked for, any characters, no rules of composition, no end; none that
is commonly used or follows from whom and where it is for. The lengths as quoted in the discussion of OWASP ASVS 6.2.1
(github.com/OWASP/ASVS/issues/3242), the rest from the draft text at github.com/usnistgov/800-63-4.
"""

import re
from functools import cache
from itertools import pairwise

from django.contrib.auth.password_validation import CommonPasswordValidator
from django.core.exceptions import ValidationError

from teamroom.dates.models import School
from teamroom.members.models import Member

SHORTEST = 15
# Words of the place itself, besides its schools' names and the person's own name and address (ASVS 6.1.2).
PLACE_WORDS = frozenset(
    {
        "administrator",
        "classroom",
        "coordinator",
        "district",
        "elementary",
        "grade",
        "lead",
        "lesson",
        "passphrase",
        "password",
        "principal",
        "pupil",
        "room",
        "school",
        "student",
        "teacher",
        "team",
        "teamroom",
        "week",
        "welcome",
    }
)
ROWS = (
    "abcdefghijklmnopqrstuvwxyz",
    "01234567890",
    "qwertyuiop",
    "asdfghjkl",
    "zxcvbnm",
    "1qaz2wsx3edc4rfv5tgb6yhn7ujm",
)


class LongEnough:
    """At least 15 characters, each code point counted as one."""

    def validate(self, password: str, user: Member | None = None) -> None:
        if len(password) < SHORTEST:
            raise ValidationError(
                f"Make it at least {SHORTEST} characters long: four or five words that mean something to you alone.",
                code="password_too_short",
            )

    def get_help_text(self) -> str:
        return (
            f"At least {SHORTEST} characters. Four or five words that mean something to you alone are good and easily "
            "typed; spaces and any other signs may be in it."
        )


class NotCommon:
    """None that people commonly choose, which at this length are mostly short ones repeated or runs of keys."""

    def validate(self, password: str, user: Member | None = None) -> None:
        words = password.casefold().strip()
        if words in _common() or _is_run(words) or _is_repeated(words):
            raise ValidationError(
                "Too many people would think of this one, so it is tried first. Choose words that have nothing to do "
                "with each other.",
                code="password_too_common",
            )

    def get_help_text(self) -> str:
        return ""


class NotAboutYou:
    """None that is made of the app's, the schools' and the person's own words alone, whatever stands between them."""

    def validate(self, password: str, user: Member | None = None) -> None:
        letters = "".join(re.findall(r"[^\W\d_]", password.casefold()))
        known = PLACE_WORDS | _words(" ".join(School.objects.values_list("name", flat=True)))
        if user is not None:
            known |= _words(f"{user.name} {user.email}")
        if letters and _is_made_of(letters, known):
            raise ValidationError(
                "This one can be guessed by somebody who knows you or the school. Put in words that have nothing to do "
                "with either.",
                code="password_about_you",
            )

    def get_help_text(self) -> str:
        return ""


@cache
def _common() -> frozenset[str]:
    return frozenset(CommonPasswordValidator().passwords)


def _is_repeated(words: str) -> bool:
    """Whether one common password, or any piece of up to three signs, is all of it over and over."""
    for length in range(1, len(words) // 2 + 1):
        piece = words[:length]
        times, rest = divmod(len(words), length)
        if piece * times + piece[:rest] == words and (length <= 3 or piece in _common()):
            return True
    return False


def _is_run(words: str) -> bool:
    """Whether it goes along a row of keys or letters, forward or back, with no more than three leaps."""
    beside = {pair for row in ROWS for way in (row, row[::-1]) for pair in pairwise(way)}
    return sum(pair not in beside and pair[0] != pair[1] for pair in pairwise(words)) <= 3


def _words(text: str) -> frozenset[str]:
    return frozenset(word for word in re.findall(r"[^\W\d_]{3,}", text.casefold()))


def _is_made_of(letters: str, known: frozenset[str]) -> bool:
    """Whether known words stand end to end, and nothing else."""
    reached = {0}
    for end in range(1, len(letters) + 1):
        if any(letters.endswith(word, 0, end) and end - len(word) in reached for word in known):
            reached.add(end)
    return len(letters) in reached
