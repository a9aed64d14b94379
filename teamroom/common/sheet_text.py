"""Text in the cells of files that spreadsheets open. Pure: no Django."""

# What a spreadsheet takes for the beginning of a formula (OWASP, "CSV Injection").
FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")


def harmless(text: str) -> str:
    """Text that no spreadsheet reads as a formula; `as_meant` gives it back."""
    return f"'{text}" if text.lstrip("'").startswith(FORMULA) else text


def as_meant(text: str) -> str:
    """Text without the mark that `harmless` set before it."""
    return text[1:] if text.startswith("'") and text.lstrip("'").startswith(FORMULA) else text
