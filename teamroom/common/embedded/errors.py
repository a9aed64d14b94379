"""The one error of the embedded servers."""

from django.core.exceptions import ImproperlyConfigured


class CannotServe(ImproperlyConfigured):
    """A server cannot be had here; the text is one sentence that says how to mend it."""
