"""The errors that services and access raise when something is refused for a reason people can mend."""

from django.core.exceptions import PermissionDenied


class RuleBroken(Exception):
    """A write that may not be done, with a sentence that says what to do instead.

    `field` names the form field the sentence belongs to, where there is one.
    """

    def __init__(self, message: str, *, field: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.field = field


class Stale(RuleBroken):
    """Somebody else changed the same thing first; nothing was overwritten."""


class Denied(PermissionDenied):
    """A member who may look at a thing may not do this to it."""

    def __init__(self, deed: str) -> None:
        super().__init__(f"Your part in this team lets you look, not {deed}.")
        self.deed = deed
