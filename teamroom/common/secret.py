"""Secrets that an installation makes for itself: one that it keeps, and passphrases for people."""

import os
import secrets
from pathlib import Path

# Letters that need no spelling out and make no coarse word: five groups of two syllables are 54 bits.
CONSONANTS, VOWELS, GROUPS = "bdlmnrstvwy", "aiou", 5


def passphrase() -> str:
    """A fresh passphrase that is easily read out and typed, such as vora-wosu-rani-noyo-tili."""
    return "-".join(_syllable() + _syllable() for _ in range(GROUPS))


def _syllable() -> str:
    return secrets.choice(CONSONANTS) + secrets.choice(VOWELS)


def kept_secret(path: Path) -> str:
    """The secret kept in `path`, made on first use, readable by its owner alone.

    Raises OSError when the folder cannot be written to.
    """
    try:
        return path.read_text(encoding="ascii")
    except FileNotFoundError:
        pass
    path.parent.mkdir(mode=0o711, parents=True, exist_ok=True)
    fresh = path.with_name(f"{path.name}.{os.getpid()}")
    with os.fdopen(os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="ascii") as file:
        file.write(secrets.token_urlsafe(50))
    # Two processes may come here at once: the link lets one win and both read the winner's.
    try:
        os.link(fresh, path)
    except FileExistsError:
        pass
    finally:
        fresh.unlink()
    return path.read_text(encoding="ascii")
