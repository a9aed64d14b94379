"""The code that an app shows, after RFC 6238 (with the HOTP of RFC 4226), written from the standard for these tests."""

import base64
import hashlib
import hmac
import struct
import time


def code_of(secret: str, at: float | None = None) -> str:
    """Six digits for a secret in base 32, at a moment in seconds since the epoch."""
    counter = struct.pack(">Q", int(time.time() if at is None else at) // 30)
    digest = hmac.new(base64.b32decode(secret), counter, hashlib.sha1).digest()
    offset = digest[-1] & 0x0F
    return f"{(struct.unpack('>I', digest[offset : offset + 4])[0] & 0x7FFFFFFF) % 1_000_000:06}"
