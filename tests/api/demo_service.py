"""The real service over the demo scenario, with a clock that stands still and ids that can be foreseen."""

from __future__ import annotations

import contextlib
import datetime
import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from turnrule.actions.desk import Desk
from turnrule.actions.keys import create_key
from turnrule.actions.numbers import write_exact
from turnrule.api.application import ApiSettings, build_api
from turnrule.api.contract_examples import Example, examples
from turnrule.api.demo import load_demo_limits
from turnrule.pack import Pack
from turnrule.store.sqlite import open_sqlite

NOON = datetime.datetime(2026, 11, 2, 12, 0, tzinfo=datetime.UTC)
REQUEST_ID = "7f8a0c4e5b9d4d1e"
NAMES = {
    ("verdicts",): "north-counter",
    ("verdicts", "reports"): "north-office",
    ("policies:write",): "fleet-office",
    ("limits:write",): "data-clerk",
    ("limits:verify",): "second-reader",
    ("limits:write", "limits:verify"): "foreman",
    ("releases:publish",): "data-office",
    (): "north-bench",
}
"""What the keys of the examples are called, by their scopes."""


def steady_ids() -> Callable[[datetime.datetime], str]:
    """A maker of ids that counts."""
    count = itertools.count(1)
    return lambda _at: f"01m7q5st{next(count):018d}"


@dataclass(frozen=True, slots=True)
class DemoService:
    """The application over the demo's limits, and a way to send it examples."""

    desk: Desk
    app: Flask
    client: FlaskClient
    secrets: dict[tuple[str, ...], str]

    def secret(self, scopes: tuple[str, ...]) -> str:
        """The secret of a key with these scopes; made when it is first asked for."""
        if scopes not in self.secrets:
            name = NAMES.get(scopes, "north-bench")
            self.secrets[scopes] = create_key(self.desk, name, scopes or ("reports",)).secret
        return self.secrets[scopes]

    def send(self, example: Example) -> TestResponse:
        """Send an example's request, once everything that comes before it was sent."""
        for before in example.after:
            self.send(examples()[before])
        headers = {"X-Request-ID": REQUEST_ID}
        if example.scopes is not None:
            headers["Authorization"] = f"Bearer {self.secret(example.scopes)}"
        body = body_of(example)
        if body is not None:
            headers["Content-Type"] = "application/json"
        headers |= example.headers
        return self.client.open(example.path, method=example.method, headers=headers, data=body)


def body_of(example: Example) -> bytes | None:
    """The bytes that an example sends."""
    if example.raw is not None:
        return example.raw.encode()
    return write_exact(example.sent) if example.sent is not None else None


@contextlib.contextmanager
def demo_service(folder: Path, pack: Pack, settings: ApiSettings | None = None) -> Iterator[DemoService]:
    """A service on a fresh store that holds the demo's limits and nothing else."""
    store = open_sqlite(folder / "demo.sqlite")
    store.migrate()
    desk = Desk(store, pack, lambda: NOON, steady_ids())
    load_demo_limits(desk)
    app = build_api(desk, settings)
    yield DemoService(desk, app, app.test_client(), {})
    store.close()
