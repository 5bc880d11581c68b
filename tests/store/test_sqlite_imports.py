"""An import that others have begun to clear away cannot end well any more, however far the clearing came."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.store.entries import draft, model
from tests.store.raw import raw, rows_of
from tests.store.samples import NOON
from turnrule.store import sqlite_imports
from turnrule.store.limit_records import LimitRevision
from turnrule.store.port import StoreError
from turnrule.store.sqlite import open_sqlite

CHUNK = sqlite_imports.CHUNK


def _clear_a_part(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let another program take the import for abandoned, and stop it once it has deleted a chunk of two."""
    with raw(path) as conn:
        assert len(rows_of(conn, "open_drafts")) == 2 * CHUNK
        conn.execute(
            "CREATE TRIGGER broken BEFORE DELETE ON open_drafts"  # noqa: S608  # a number of ours
            f" WHEN (SELECT count(*) FROM limit_revisions) = {CHUNK} BEGIN SELECT RAISE(ABORT, 'broken'); END"
        )
        monkeypatch.setattr(sqlite_imports, "ABANDONED_S", -1)
        other = open_sqlite(path)
        with pytest.raises(StoreError, match="broken"):
            other.enter(draft("L1"))
        other.close()
        monkeypatch.undo()
        conn.execute("DROP TRIGGER broken")
        assert len(rows_of(conn, "open_drafts")) == CHUNK


@pytest.mark.parametrize("more", [0, 1], ids=["at its end", "before its end"])
def test_an_import_of_which_a_part_was_cleared_away_is_not_finished(
    path: Path, monkeypatch: pytest.MonkeyPatch, more: int
) -> None:
    def rows() -> Iterator[tuple[LimitRevision, int | None]]:
        for number in range(2 * CHUNK):
            yield draft(f"N{number:05}", fits=model(number)), None
        _clear_a_part(path, monkeypatch)
        for number in range(more):
            yield draft(f"M{number:05}", fits=model(-1)), None

    store = open_sqlite(path)
    store.migrate()
    with pytest.raises(StoreError, match="stood still for so long"):
        store.enter_many(rows(), at=NOON, by="importer")
    assert store.drafts() == []
    with raw(path) as conn:
        assert rows_of(conn, "imports") == rows_of(conn, "limit_revisions") == []
    assert store.check() == []
    store.close()
