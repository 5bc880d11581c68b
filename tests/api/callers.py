"""Who sends requests in these tests, and the clock that they all go by."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from flask.testing import FlaskClient
from werkzeug.test import TestResponse

START = datetime.datetime(2026, 11, 2, 10, 0, tzinfo=datetime.UTC)


class Clock:
    """A clock that stands still until it is moved."""

    def __init__(self) -> None:
        self.now = START

    def __call__(self) -> datetime.datetime:
        return self.now

    def move(self, **by: float) -> None:
        """Let time pass."""
        self.now += datetime.timedelta(**by)


@dataclass(frozen=True, slots=True)
class Caller:
    """Someone with a key, who sends requests."""

    client: FlaskClient
    secret: str

    def send(self, method: str, path: str, body: str | bytes | None = None, **headers: str) -> TestResponse:
        """Send a request; header names are written with underscores."""
        sent = {"Authorization": f"Bearer {self.secret}"}
        if body is not None:
            sent["Content-Type"] = "application/json"
        sent |= {name.replace("_", "-"): value for name, value in headers.items()}
        return self.client.open(path, method=method, data=body, headers=sent)

    def get(self, path: str, **headers: str) -> TestResponse:
        """Read something."""
        return self.send("GET", path, **headers)

    def post(self, path: str, body: str | bytes, **headers: str) -> TestResponse:
        """Send something."""
        return self.send("POST", path, body, **headers)

    def put(self, path: str, body: str | bytes, **headers: str) -> TestResponse:
        """Write something."""
        return self.send("PUT", path, body, **headers)
