"""Somebody at a service over the demo's limits who may do everything there is, for the tests of every error."""

from __future__ import annotations

from pathlib import Path

from werkzeug.test import TestResponse

from tests.api.bodies import EXAMPLE
from turnrule.actions.desk import Desk
from turnrule.actions.keys import create_key
from turnrule.actions.numbers import write_exact
from turnrule.api.application import build_api


class Counter:
    """Someone at a service over the demo's limits, with keys for everything."""

    def __init__(self, desk: Desk, place: Path) -> None:
        self.desk = desk
        self.place = place
        self.app = build_api(desk)
        self.client = self.app.test_client()
        scopes = ["verdicts", "reports", "policies:write", "limits:write", "releases:publish"]
        self.key = create_key(desk, "tester", scopes).secret
        self.readers = [create_key(desk, f"reader {number}", ["limits:verify"]).secret for number in (2, 3)]

    def send(self, method: str, path: str, body: object = None, **headers: str) -> TestResponse:
        """Send a document or bytes under a key that may do everything there is."""
        sent = {"Authorization": f"Bearer {self.key}", "Content-Type": "application/json"}
        sent |= {name.replace("_", "-"): value for name, value in headers.items()}
        raw = body if isinstance(body, bytes | str) or body is None else write_exact(body)
        return self.client.open(path, method=method, data=raw, headers=sent)

    def judge(self, body: object = EXAMPLE, **headers: str) -> TestResponse:
        """Ask for a verdict."""
        return self.send("POST", "/v1/verdicts", body, **headers)

    def write(self, body: object, name: str = "north", **headers: str) -> TestResponse:
        """Write a policy."""
        return self.send("PUT", f"/v1/policies/{name}", body, If_None_Match="*", **headers)

    def enter(self, body: object, **headers: str) -> TestResponse:
        """Enter limits."""
        return self.send("POST", "/v1/limits", body, **headers)

    def verify(self, limits_id: str, body: object, reader: int = 0) -> TestResponse:
        """Enter limits a second time, under the key of somebody else."""
        path = f"/v1/limits/{limits_id}/verifications"
        return self.send("POST", path, body, Authorization=f"Bearer {self.readers[reader]}")

    def withdraw(self, limits_id: str) -> TestResponse:
        """Withdraw a record."""
        return self.send("POST", f"/v1/limits/{limits_id}/withdrawals", {"reason": "the table is another rotor's"})

    def publish(self, **follows: object) -> TestResponse:
        """Publish what is verified."""
        return self.send("POST", "/v1/releases", {"notes": "more limits", **follows})
