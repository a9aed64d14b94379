"""The one error that services raise when a write is refused for a reason people can mend."""


class RuleBroken(Exception):
    """A write that may not be done, with a sentence that says what to do instead.

    `field` names the form field the sentence belongs to, where there is one.
    """

    def __init__(self, message: str, *, field: str | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.field = field
