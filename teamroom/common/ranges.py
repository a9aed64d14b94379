"""Database range expressions, for constraints that forbid overlaps."""

from django.contrib.postgres.constraints import ExclusionConstraint
from django.contrib.postgres.fields import RangeOperators
from django.db.models import Deferrable, F, Func


class MinuteRange(Func):
    """The minutes of a day from a start up to, not including, an end."""

    function = "int4range"


class DateSpan(Func):
    """The dates from a first to a last, both included."""

    function = "daterange"
    template = "%(function)s(%(expressions)s, '[]')"


def no_overlap(*same: str, span: Func, name: str, message: str, deferred: bool = False) -> ExclusionConstraint:
    """No two rows that agree on the `same` columns may have spans that share a point."""
    return ExclusionConstraint(
        name=name,
        expressions=[
            *[(F(column), RangeOperators.EQUAL) for column in same],
            (span, RangeOperators.OVERLAPS),
        ],
        violation_error_message=message,
        deferrable=Deferrable.DEFERRED if deferred else None,
    )
