"""A real service on a real store: the pack's catalogues, and two records of an invented fleet as release 1."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from tests.api.bodies import DRUM_LIMITS, EXAMPLE_LIMITS, exact
from turnrule.actions.desk import Desk, new_id
from turnrule.actions.keys import create_key
from turnrule.actions.publishing import as_revisions, content_digest
from turnrule.api.application import ApiSettings, build_api
from turnrule.api.limits_schemas import read_limits
from turnrule.pack import Pack, load_pack
from turnrule.store.port import Release
from turnrule.store.sqlite import open_sqlite

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


@pytest.fixture(scope="session")
def pack() -> Pack:
    """The reference pack of this tree."""
    return load_pack()


@pytest.fixture
def clock() -> Clock:
    """The clock of the desk."""
    return Clock()


@pytest.fixture
def desk(tmp_path: Path, pack: Pack, clock: Clock) -> Iterator[Desk]:
    """A desk over a fresh store, nothing released."""
    store = open_sqlite(tmp_path / "store.sqlite")
    store.migrate()
    yield Desk(store, pack, clock, new_id)
    store.close()


def publish(desk: Desk, *bodies: str) -> Release:
    """Release limits bodies."""
    rows = as_revisions(
        [read_limits(exact(body)) for body in bodies], entered_by="test-entry", verified_by="test-check"
    )
    return desk.store.publish(
        rows, published_at=desk.clock(), published_by="test", notes="", digest=content_digest(rows)
    )


@pytest.fixture
def released(desk: Desk) -> Release:
    """Release 1: the contract's example rotor and a drum."""
    return publish(desk, EXAMPLE_LIMITS, DRUM_LIMITS)


@pytest.fixture
def app(desk: Desk, released: Release) -> Flask:
    """The application over release 1."""
    assert released.number == 1
    return build_api(desk, ApiSettings())


Joining = Callable[..., Caller]


@pytest.fixture
def join(app: Flask, desk: Desk) -> Joining:
    """Make a caller with these scopes, perhaps of a site."""
    made = 0

    def joined(*scopes: str, site: str | None = None) -> Caller:
        nonlocal made
        made += 1
        return Caller(app.test_client(), create_key(desk, f"caller-{made}", scopes, site).secret)

    return joined


@pytest.fixture
def shop(join: Joining) -> Caller:
    """A caller who may ask for verdicts."""
    return join("verdicts")
