"""A release pack opened strictly: every file, digest, row and signature is looked at before anything is believed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import IO, Self

from turnrule.actions.release_packs.archive import Archive
from turnrule.actions.release_packs.damage import PackDamagedError, RowError
from turnrule.actions.release_packs.limit_lines import LimitRow, read_limit_line
from turnrule.actions.release_packs.manifest import PackedFile, read_manifest
from turnrule.actions.release_packs.signatures import SIGNATURE_FILE, SIGNED_FILE, require_trust, signer_in
from turnrule.actions.release_packs.withdrawal_lines import read_withdrawal_line
from turnrule.store.content import ReleaseDigest
from turnrule.store.limit_records import StoreRules, Withdrawal

LARGEST_MANIFEST, LARGEST_README, LARGEST_SIGNATURE = 256 * 1024, 64 * 1024, 4 * 1024
"""In bytes; each is held in memory whole."""

Progress = Callable[[int, int], object]
"""Told again and again how many rows are done, and of how many."""


def quiet(_done: int, _of: int) -> None:
    """Where nobody watches."""


class ReleasePack:
    """A pack whose every byte was looked at; its rows are looked at anew each time that they are read.

    `signed_by` is the public key of a signature that fits, None where there is none; `messages` is what whoever
    brings it in should be told; `withdrawn` holds up to which revision each record was withdrawn, the one thing that
    is kept in memory. It holds its file open, so that nobody can put another in its place meanwhile.
    """

    def __init__(self, file: IO[bytes], name: str, rules: StoreRules) -> None:
        """Raises `PackDamagedError` and `SignatureError`."""
        self._file = file
        self._archive = Archive(file, name)
        self.datapackage = self._archive.small(SIGNED_FILE, at_most=LARGEST_MANIFEST)
        self.manifest = read_manifest(self.datapackage)
        self.signed_by = self._signer()
        self.messages = require_trust(self.signed_by, rules)
        self.readme = self._archive.exact(self.manifest.readme, at_most=LARGEST_README)
        self.withdrawn: dict[str, int] = {}
        for _, withdrawal in self.withdrawals():
            known = self.withdrawn.get(withdrawal.limits_id, 0)
            self.withdrawn[withdrawal.limits_id] = max(known, withdrawal.revision)

    def _signer(self) -> str | None:
        if not self._archive.is_signed:
            return None
        return signer_in(self._archive.small(SIGNATURE_FILE, at_most=LARGEST_SIGNATURE), self.datapackage)

    def lines(self, file: PackedFile) -> Iterator[bytes]:
        """The lines of a file as they are, without their line feeds."""
        return (line for _, line in self._archive.lines(file))

    def limits(self) -> Iterator[tuple[int, LimitRow]]:
        """The held revisions with their row numbers, by `limits_id`, rising, byte for byte.

        Raises `PackDamagedError` at the row, or at the end, where they are not what the release held.
        """
        file, release = self.manifest.limits, self.manifest.release
        total, alone, last = ReleaseDigest(), 0, ""
        for row, line in self._archive.lines(file):
            try:
                read = read_limit_line(line)
            except RowError as error:
                raise PackDamagedError(file.path, row, str(error)) from None
            limits_id = read.revision.limits_id
            if limits_id <= last:
                wrong = "stands twice" if limits_id == last else f"must stand before {last}: rows go by limits_id"
                raise PackDamagedError(file.path, row, f"{limits_id} {wrong}")
            if read.revision.revision <= self.withdrawn.get(limits_id, 0):
                raise PackDamagedError(file.path, row, f"{limits_id} is withdrawn in {self.manifest.withdrawals.path}")
            total.add(limits_id, read.content)
            alone += read.revision.by_one_person
            last = limits_id
            yield row, read
        found, stated = (total.records, alone, total.digest), (release.records, release.by_one_person, release.digest)
        if found != stated:
            detail = (
                f"states {stated[0]} records, {stated[1]} of them by one person, and {stated[2]}, and {file.path} "
                f"holds {found[0]}, {found[1]}, and {found[2]}; one of the two files was changed"
            )
            raise PackDamagedError(SIGNED_FILE, None, detail)

    def withdrawals(self) -> Iterator[tuple[int, Withdrawal]]:
        """The withdrawals that counted with their row numbers, in the order in which they were made."""
        file, last = self.manifest.withdrawals, 0
        for row, line in self._archive.lines(file):
            try:
                withdrawal = read_withdrawal_line(line)
            except RowError as error:
                raise PackDamagedError(file.path, row, str(error)) from None
            if withdrawal.sequence <= last:
                detail = f"its sequence is {withdrawal.sequence} after {last}; rows go by their sequence, rising"
                raise PackDamagedError(file.path, row, detail)
            last = withdrawal.sequence
            yield row, withdrawal

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def open_release_pack(path: Path, rules: StoreRules, *, progress: Progress = quiet) -> ReleasePack:
    """The pack in a file, after every byte of it was looked at, row by row and in constant memory.

    Raises `PackDamagedError` that names the file and the row where one can be named, `SignatureError` where the
    rules ask for a signature that it does not have, and `OSError` where the file cannot be read.
    """
    file = path.open("rb")
    try:
        pack = ReleasePack(file, path.name, rules)
        for row, _ in pack.limits():
            progress(row, pack.manifest.release.records)
    except BaseException:
        file.close()
        raise
    return pack
