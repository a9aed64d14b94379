"""Secrets of links that let somebody in once: only their hash is kept."""

import hashlib
import hmac
import secrets

from django.utils.crypto import salted_hmac

SECRET_BYTES = 32
"""256 bits: nobody finds one by trying, so its plain hash gives nothing away (no salt, no slow hash)."""


def new_secret() -> tuple[str, str]:
    """A fresh secret for an address, and what is kept of it."""
    token = secrets.token_urlsafe(SECRET_BYTES)
    return token, hash_of(token)


def hash_of(token: str) -> str:
    """The SHA-256 of a secret in hexadecimal; of any text, as what comes from an address may be anything."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def with_proof(token: str) -> str:
    """A secret as a letter carries it: whoever brings it like this has read the letter."""
    return f"{token}.{_proof(token)}"


def without_proof(brought: str) -> tuple[str, bool]:
    """The secret itself, and whether it was brought as the letter has it."""
    token, _, proof = brought.partition(".")
    return token, hmac.compare_digest(proof.encode("utf-8", "surrogatepass"), _proof(token).encode())


def _proof(token: str) -> str:
    # 64 bits, which can be tried only one request at a time, keep the link short enough for a letter's line.
    return salted_hmac("teamroom.members.letter", token.encode("utf-8", "surrogatepass")).hexdigest()[:16]
