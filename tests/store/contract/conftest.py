"""A store of every adapter."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.store.contract.adapters import ADAPTERS, Adapter
from turnrule.store.port import Store


@pytest.fixture(params=list(ADAPTERS.values()), ids=list(ADAPTERS))
def adapter(request: pytest.FixtureRequest) -> Adapter:
    """Each adapter in turn."""
    found = request.param
    assert isinstance(found, Adapter)
    return found


@pytest.fixture
def place(adapter: Adapter, tmp_path: Path) -> str:
    """Where a store may be; there is none yet."""
    return adapter.new(tmp_path)


@pytest.fixture
def store(adapter: Adapter, place: str) -> Iterator[Store]:
    """A migrated, empty store; whatever a test did to it, it is sound afterwards."""
    opened = adapter.open(place)
    opened.migrate()
    yield opened
    opened.close()
    again = adapter.open(place)
    assert again.check() == []
    again.close()
