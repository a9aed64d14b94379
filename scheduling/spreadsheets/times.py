"""Times of day as people type them into cells."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from teamroom.common.clock import said_clock

HalfDays = Literal["12", "24"]
"""How times without am or pm are taken: by the twelve-hour clock of a school day, or as they stand."""
NOON, DAY = 12 * 60, 24 * 60
EARLIEST = 7
"""The hour before which, by the twelve-hour clock of a school day, it is afternoon."""
HALF = r"(?:\s*(?P<half>[ap])\.?\s*m?\.?(?![a-z]))?"
TIME = re.compile(rf"(?P<hour>\d{{1,2}})\s*[:.h]\s*(?P<minute>\d\d)(?::00)?{HALF}", re.IGNORECASE)
DIGITS = re.compile(rf"(?P<hour>\d{{1,2}})(?P<minute>\d\d){HALF}", re.IGNORECASE)
HOUR = re.compile(r"(?P<hour>\d{1,2})(?P<minute>)\s*(?P<half>[ap])\.?\s*m\.?", re.IGNORECASE)
TO = re.compile(r"\s*(?:-|–|—|\bto\b|\buntil\b|\btill?\b)\s*", re.IGNORECASE)
SHORT = re.compile(r"(\d{1,2})[.:](\d)")
AN_EXAMPLE = "8:15"


class NoTime(ValueError):
    """What is no time of day, with a sentence that says what to write."""


@dataclass(frozen=True, slots=True)
class Written:
    """A time as written: hour and minute as they stand, and am or pm where it is said."""

    hour: int
    minute: int
    half: str = ""

    @property
    def is_open(self) -> bool:
        """Whether it may be of the morning or of the afternoon."""
        return not self.half and 1 <= self.hour < NOON // 60

    def minutes(self, reading: HalfDays = "24") -> int:
        """Minutes since midnight."""
        hour = self.hour
        if self.half:
            hour = hour % 12 + (12 if self.half == "pm" else 0)
        elif reading == "12" and 1 <= hour < EARLIEST:
            hour += 12
        return hour * 60 + self.minute


def time_in(text: str) -> Written:
    """`8:15`, `08:15`, `8.15`, `0815`, `8:15 am`, `8 am`, `noon`. Raises NoTime."""
    told = text.strip()
    if told.lower() == "noon":
        return Written(12, 0, "pm")
    found = TIME.fullmatch(told) or DIGITS.fullmatch(told) or HOUR.fullmatch(told)
    if found is None:
        raise NoTime(_why_none(told))
    hour, minute = int(found["hour"]), int(found["minute"] or 0)
    half = f"{found['half'].lower()}m" if found["half"] else ""
    if minute > 59 or hour * 60 + minute > DAY or (half and not 1 <= hour <= 23):
        raise NoTime(f"“{_short(told)}” is no time of day: write it as in {AN_EXAMPLE}")
    return Written(hour, minute, "" if hour > 12 else half)


def times_in(text: str) -> tuple[Written, Written | None]:
    """A time, or a start and an end in one cell: `8:15-9:00`. Raises NoTime."""
    told = text.strip()
    pieces = TO.split(told)
    if len(pieces) == 2 and all(pieces):
        last = time_in(pieces[1])
        first = time_in(pieces[0] + (f" {last.half}" if pieces[0].isdigit() and len(pieces[0]) < 3 else ""))
        return _with_half_of(first, last), last
    return time_in(told), None


def label_times(text: str) -> tuple[Written, Written | None] | None:
    """The times of a row's label, which may say more beside them, as `Period 1 (8:15-9:00)`; None without any."""
    told = " ".join(text.split())
    try:
        return times_in(told)
    except NoTime:
        pass
    found = list(TIME.finditer(told))
    if len(found) == 2 and TO.fullmatch(told[found[0].end() : found[1].start()]):
        try:
            return times_in(told[found[0].start() : found[1].end()])
        except NoTime:
            return None
    if len(found) == 1:
        try:
            return time_in(found[0][0]), None
        except NoTime:
            return None
    return None


def reading_of(times: Iterable[Written]) -> tuple[HalfDays, Written | None]:
    """Which clock the times of a sheet go by, and the first whose half of the day that decides, if there is one."""
    told = list(times)
    plain = [time for time in told if not time.half]
    by_24 = any(time.hour > 12 or time.hour == 0 for time in plain)
    decided = next((time for time in plain if time.is_open and time.hour < EARLIEST), None)
    return "24" if by_24 else "12", decided


def clock_typed(minutes: int) -> str:
    """495 as `8:15 am`: the half of the day always said, so that no reader has to guess."""
    told = said_clock(minutes)
    return told if told.endswith("m") else f"{told} {'am' if minutes < NOON else 'pm'}"


def _with_half_of(first: Written, last: Written) -> Written:
    """`1:05-1:50 pm`: what is said of the end holds for the start, unless that would turn them round."""
    if first.half or not last.half or first.hour > 12:
        return first
    alike = Written(first.hour, first.minute, last.half)
    other = Written(first.hour, first.minute, "am" if last.half == "pm" else "pm")
    return alike if alike.minutes() < (last.minutes() or DAY) else other


def _why_none(told: str) -> str:
    short = SHORT.fullmatch(told)
    if short:
        hour, digit = short.groups()
        return f"“{told}” can be {hour}:0{digit} or {hour}:{digit}0: write which"
    if told.isdigit() and len(told) < 3:
        return f"“{told}” says no minutes: write it as in {told}:00"
    return f"“{_short(told)}” is no time of day: write it as in {AN_EXAMPLE}"


def _short(told: str) -> str:
    return told if len(told) <= 40 else f"{told[:39]}…"
