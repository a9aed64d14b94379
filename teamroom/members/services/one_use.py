"""Secrets of links that let somebody in once: only their hash is kept."""

import hashlib
import secrets

SECRET_BYTES = 32
"""256 bits: nobody finds one by trying, so its plain hash gives nothing away (no salt, no slow hash)."""


def new_secret() -> tuple[str, str]:
    """A fresh secret for an address, and what is kept of it."""
    token = secrets.token_urlsafe(SECRET_BYTES)
    return token, hash_of(token)


def hash_of(token: str) -> str:
    """The SHA-256 of a secret in hexadecimal; of any text, as what comes from an address may be anything."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
