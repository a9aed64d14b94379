"""Whole numbers as somebody sends them. Pure: no Django."""

from typing import TypeGuard


def is_whole_number(written: object, *, digits: int = 9) -> TypeGuard[str]:
    """Whether something sent is a whole number in plain digits, and not more of them than any that was given out."""
    return isinstance(written, str) and written.isascii() and written.isdigit() and len(written) <= digits


def whole_number(written: object) -> int:
    """An id or a revision as sent; 0, which none has, for anything else. Nine digits fit every column of either."""
    return int(written) if is_whole_number(written) else 0
