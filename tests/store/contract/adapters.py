"""The adapters that must keep the contract; another one is one line more in `ADAPTERS`."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType

from turnrule.store import sqlite_imports
from turnrule.store.port import Store
from turnrule.store.sqlite import open_sqlite


@dataclass(frozen=True, slots=True)
class Adapter:
    """How a test gets a store: `new` makes a place for an empty one in a folder, `open` opens what is at a place.

    A place is text, so that another process can be told of it. `abandoned` is where the adapter keeps the number of
    seconds after which it takes an import for abandoned: a module, and the name in it.
    """

    name: str
    new: Callable[[Path], str]
    open: Callable[[str], Store]
    abandoned: tuple[ModuleType, str]

    def migrated(self, folder: Path) -> tuple[str, Store]:
        """A new store that is ready for use, and its place."""
        place = self.new(folder)
        store = self.open(place)
        store.migrate()
        return place, store


def _sqlite_place(folder: Path) -> str:
    return str(folder / "store.sqlite")


def _sqlite(place: str) -> Store:
    return open_sqlite(Path(place))


ADAPTERS = {
    "sqlite": Adapter("sqlite", _sqlite_place, _sqlite, (sqlite_imports, "ABANDONED_S")),
}
