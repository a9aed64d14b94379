"""A passkey in software, as W3C Web Authentication describes one: makes itself known, and answers challenges."""

import hashlib
import json
from typing import Any

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from fido2.cose import ES256
from fido2.utils import websafe_encode
from fido2.webauthn import AttestationObject, AttestedCredentialData, AuthenticatorData

PRESENT_AND_VERIFIED = AuthenticatorData.FLAG.UP | AuthenticatorData.FLAG.UV


class SoftKey:
    """One key for one account at one host."""

    def __init__(self, host: str = "testserver", origin: str = "https://testserver", name: bytes = b"k" * 32) -> None:
        self.private = ec.generate_private_key(ec.SECP256R1())
        self.host, self.origin, self.name = host, origin, name

    def made(self, challenge: str) -> dict[str, Any]:
        """What a browser says when this key is made for the challenge, as JSON has it."""
        known = AttestedCredentialData.create(
            aaguid=b"\0" * 16,
            credential_id=self.name,
            public_key=ES256.from_cryptography_key(self.private.public_key()),  # type: ignore[no-untyped-call]  # theirs,
        )
        flags = PRESENT_AND_VERIFIED | AuthenticatorData.FLAG.AT
        data = AuthenticatorData.create(self._host_hash(), flags, 0, known)
        attestation = AttestationObject.create("none", data, {})
        return self._said(
            clientDataJSON=self._client("webauthn.create", challenge), attestationObject=bytes(attestation)
        ) | {"clientExtensionResults": {"credProps": {"rk": True}}}

    def used(self, challenge: str, user: str) -> dict[str, Any]:
        """What a browser says when this key answers the challenge for an account."""
        client = self._client("webauthn.get", challenge)
        data = bytes(AuthenticatorData.create(self._host_hash(), PRESENT_AND_VERIFIED, 1))
        signature = self.private.sign(data + hashlib.sha256(client).digest(), ec.ECDSA(SHA256()))
        return self._said(
            clientDataJSON=client, authenticatorData=data, signature=signature, userHandle=user.encode()
        ) | {"clientExtensionResults": {}}

    def _host_hash(self) -> bytes:
        return hashlib.sha256(self.host.encode()).digest()

    def _client(self, what: str, challenge: str) -> bytes:
        return json.dumps({"type": what, "challenge": challenge, "origin": self.origin}).encode()

    def _said(self, **parts: bytes) -> dict[str, Any]:
        name = websafe_encode(self.name)
        said = {part: websafe_encode(value) for part, value in parts.items()}
        return {"type": "public-key", "id": name, "rawId": name, "response": said}
