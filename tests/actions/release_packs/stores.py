"""Stores that packs come from and go to, packs taken apart and put together again."""

from __future__ import annotations

import datetime
import json
import shutil
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from tests.store.samples import FITS, NOON, revision
from turnrule.actions.desk import Desk, new_id
from turnrule.actions.release_packs import Signer, import_release_pack, write_release_pack
from turnrule.actions.release_packs.limit_lines import row_digest
from turnrule.actions.release_packs.members import canonical_line
from turnrule.pack import Pack
from turnrule.store.limit_records import LimitRevision, StoreRules, Withdrawal
from turnrule.store.port import Release
from turnrule.store.sqlite import SqliteStore, open_sqlite

ANYTHING = StoreRules()
"""The rules of a store that takes every pack which is whole."""


@dataclass
class Shop:
    """A fresh store with what a use case needs around it; it is copied from a migrated one, which is quicker."""

    folder: Path
    pack: Pack
    empty: Path
    made: int = field(default=0)

    def __post_init__(self) -> None:
        self.stores: list[SqliteStore] = []

    def desk(self, rules: StoreRules | None = None) -> Desk:
        """A desk over a new and empty store."""
        self.made += 1
        path = self.folder / f"store-{self.made}.sqlite"
        shutil.copyfile(self.empty, path)
        store = open_sqlite(path)
        self.stores.append(store)
        if rules is not None:
            store.set_rules(rules, at=NOON, by="owner")
        return Desk(store, self.pack, lambda: NOON + datetime.timedelta(days=self.made), new_id)

    def export(self, desk: Desk, release: int = 1, signer: Signer | None = None) -> Path:
        """A release as a pack in a new file."""
        self.made += 1
        path = self.folder / f"pack-{self.made}.zip"
        with path.open("wb") as out:
            write_release_pack(desk.store, release, out, signer=signer)
        return path

    def bring(self, desk: Desk, path: Path) -> Release:
        """A pack brought into a store."""
        return import_release_pack(desk, path, "importer")

    def close(self) -> None:
        """Let go of every store, and take the files away."""
        for store in self.stores:
            store.close()
            store.path.unlink()
        self.stores.clear()


def publish(
    desk: Desk,
    revisions: Iterable[LimitRevision],
    withdrawals: Iterable[Withdrawal] = (),
    notes: str = "What was verified.",
) -> Release:
    """Publish what was verified elsewhere as the next release."""
    ordered = sorted(revisions, key=lambda one: (one.limits_id, one.revision))
    return desk.store.publish(
        ordered, published_at=NOON, published_by="publisher", notes=notes, withdrawals=withdrawals
    )


def withdrawal(limits_id: str, number: int = 1, reason: str = "The maker has called it in.") -> Withdrawal:
    """A withdrawal of a record up to a revision."""
    return Withdrawal(limits_id, number, "foreman", NOON, reason)


def record(limits_id: str, number: int = 1, **changes: object) -> LimitRevision:
    """A revision of a record for a model of its own, so that no two are for the same vehicles."""
    return revision(limits_id, number, **{"fits": replace(FITS, model=f"Ostrel {limits_id}"), **changes})


def taken_apart(path: Path) -> dict[str, bytes]:
    """The files of a pack by their names."""
    with zipfile.ZipFile(path) as pack:
        return {name: pack.read(name) for name in pack.namelist()}


def put_together(path: Path, files: Mapping[str, bytes] | Iterable[tuple[str, bytes]]) -> Path:
    """A ZIP of these files, in their order, at this path."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as pack:
        for name, content in files.items() if isinstance(files, Mapping) else files:
            pack.writestr(name, content)
    return path


def rows_of(content: bytes) -> list[dict[str, Any]]:
    """The rows of a file of lines."""
    return [json.loads(line) for line in content.splitlines()]


def lines_of(rows: Iterable[Mapping[str, Any]], *, sealed: bool) -> bytes:
    """Rows as a file of lines, each with a digest of its own that fits where it is to be `sealed`."""
    lines = []
    for row in rows:
        bare = {name: value for name, value in row.items() if name != "row_digest"}
        lines.append(canonical_line({**bare, "row_digest": row_digest(bare) if sealed else row["row_digest"]}))
    return b"".join(line + b"\n" for line in lines)
