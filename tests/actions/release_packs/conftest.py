"""A shop whose stores packs come from and go to."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.actions.release_packs.stores import Shop
from turnrule.pack import load_pack
from turnrule.store.sqlite import open_sqlite


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """Stores and packs in one folder."""
    folder: Path = tmp_path_factory.mktemp("packs")
    empty = folder / "empty.sqlite"
    store = open_sqlite(empty)
    store.migrate()
    store.close()
    made = Shop(folder, load_pack(), empty)
    yield made
    made.close()
