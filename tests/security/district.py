"""The sign-in of an invented district: a small OpenID provider that answers over HTTP (OpenID Connect Core 1.0)."""

import base64
import hashlib
import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, urlsplit


class District(ThreadingHTTPServer):
    """What it says of whoever signs in is in `claims`; what it was asked is kept."""

    daemon_threads = True

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Answers)
        self.claims: dict[str, Any] = {"sub": "4711", "email": "ada@school.example", "email_verified": True}
        self.challenge = ""
        self.asked: list[str] = []

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.server_port}"


class Answers(BaseHTTPRequestHandler):
    """The provider's pages."""

    server: District

    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing."""

    def do_GET(self) -> None:  # noqa: N802 - the name that http.server asks for
        self.server.asked.append(self.path)
        if self.path.endswith("/.well-known/openid-configuration"):
            own = self.server.address
            ends = ("authorization_endpoint", "token_endpoint", "userinfo_endpoint", "jwks_uri")
            self.say({"issuer": own, **{end: f"{own}/{end}" for end in ends}})
        else:
            self.say(self.server.claims)

    def do_POST(self) -> None:  # noqa: N802 - as above
        sent = parse_qs(self.rfile.read(int(self.headers["Content-Length"])).decode())
        verifier = sent.get("code_verifier", [""])[0].encode()
        proof = base64.urlsafe_b64encode(hashlib.sha256(verifier).digest()).decode().rstrip("=")
        if proof != self.server.challenge:
            self.say({"error": "invalid_grant"}, status=400)
        else:
            self.say({"access_token": "a", "token_type": "Bearer"})

    def say(self, what: dict[str, Any], status: int = 200) -> None:
        self.send_response(status)
        self.send_header("Content-Type", "application/json")
        self.end_headers()
        self.wfile.write(json.dumps(what).encode())


def asked_for(location: str) -> dict[str, str]:
    """What an address asks of the provider."""
    return {key: values[0] for key, values in parse_qs(urlsplit(location).query).items()}


@contextmanager
def district() -> Iterator[District]:
    server = District()
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield server
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
