"""Database columns for what Django has none: exact figures and times of day in minutes."""

from fractions import Fraction
from typing import Any

from django.core.validators import MaxValueValidator
from django.db import models

MINUTES_IN_A_DAY = 24 * 60


class FigureField(models.CharField):  # type: ignore[type-arg]  # its Python side is a figure, not text
    """An exact figure, whole or a fraction, kept as text such as `200` or `1525/4`."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 60)
        super().__init__(*args, **kwargs)

    def from_db_value(self, value: str | None, *_: Any) -> int | Fraction | None:
        if value is None:
            return None
        return Fraction(value) if "/" in value else int(value)

    def to_python(self, value: Any) -> Any:
        return value if value is None or isinstance(value, int | Fraction) else Fraction(str(value))

    def get_prep_value(self, value: Any) -> str | None:
        return None if value is None else str(value)


class ClockField(models.PositiveSmallIntegerField):  # type: ignore[type-arg]  # as its parent's
    """A time of day in minutes since midnight; 1440 is the midnight that ends the day."""

    default_validators = [MaxValueValidator(MINUTES_IN_A_DAY, "A day ends at 24:00.")]


class KeyField(models.CharField):  # type: ignore[type-arg]  # as its parent's
    """A school's own short name for a thing, as its school file uses it."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 80)
        super().__init__(*args, **kwargs)
