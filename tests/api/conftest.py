"""A real service on a real store: the pack's catalogues, and two records of an invented fleet as release 1."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

import pytest
from flask import Flask

from tests.api.bodies import DRUM_LIMITS, EXAMPLE_LIMITS, exact
from tests.api.callers import START, Caller, Clock
from tests.api.entering import Person
from turnrule.actions.desk import Desk, new_id
from turnrule.actions.keys import create_key
from turnrule.actions.publishing import as_revisions
from turnrule.api.application import ApiSettings, build_api
from turnrule.api.limits_schemas import read_limits
from turnrule.pack import Pack, load_pack
from turnrule.store.port import Release
from turnrule.store.sqlite import open_sqlite

__all__ = ["START", "Caller", "Clock", "Joining", "People", "publish"]


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
    return desk.store.publish(rows, published_at=desk.clock(), published_by="test", notes="")


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

    def joined(*scopes: str, site: str | None = None, name: str | None = None) -> Caller:
        nonlocal made
        made += 1
        return Caller(app.test_client(), create_key(desk, name or f"caller-{made}", scopes, site).secret)

    return joined


@pytest.fixture
def shop(join: Joining) -> Caller:
    """A caller who may ask for verdicts."""
    return join("verdicts")


class People(NamedTuple):
    """Those who keep the reference: one enters, four can verify, one publishes."""

    anna: Person
    bert: Person
    carl: Person
    dora: Person
    emil: Person
    office: Person


@pytest.fixture
def people(join: Joining) -> People:
    """Everybody, under a key of their own."""

    def person(name: str, *scopes: str) -> Person:
        return Person(join(*scopes, name=name))

    return People(
        person("anna", "limits:write"),
        person("bert", "limits:verify"),
        person("carl", "limits:verify"),
        person("dora", "limits:verify"),
        person("emil", "limits:verify"),
        person("office", "releases:publish", "reports"),
    )
