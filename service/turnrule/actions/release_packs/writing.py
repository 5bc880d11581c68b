"""A release of the store written as a pack, in one pass over its rows; and a signature put to one that is there."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import IO

from turnrule.actions.refusals import refused
from turnrule.actions.release_packs.archive import ArchiveWriter
from turnrule.actions.release_packs.damage import PackDamagedError, RowError
from turnrule.actions.release_packs.limit_lines import limit_line, read_limit_line
from turnrule.actions.release_packs.manifest import (
    LIMITS_FILE,
    README_FILE,
    WITHDRAWALS_FILE,
    Manifest,
    manifest_bytes,
    read_manifest,
)
from turnrule.actions.release_packs.reading import Progress, ReleasePack, open_release_pack, quiet
from turnrule.actions.release_packs.readme import readme_text
from turnrule.actions.release_packs.signatures import SIGNATURE_FILE, SIGNED_FILE, Signer
from turnrule.actions.release_packs.withdrawal_lines import read_withdrawal_line, withdrawal_line
from turnrule.store.content import ReleaseDigest
from turnrule.store.limit_records import StoreRules, Withdrawal
from turnrule.store.port import LimitQuery, LimitRevision, Release, Store, StoreError

PAGE = 500


def write_release_pack(
    store: Store, release: int, out: IO[bytes], *, signer: Signer | None = None, progress: Progress = quiet
) -> None:
    """Write a release as a pack; memory does not grow with it, and its content is the same bytes each time.

    Raises `RefusedError` where there is no such release, and `StoreError` where what the store holds of it is not
    what was published, or could not be read back; then what was written is no pack.
    """
    found = store.release(release)
    if found is None:
        raise refused("release_not_found", "", f"there is no release {release}")
    held = _Held(store, found, progress)
    with ArchiveWriter(out) as archive:
        limits = archive.put_lines(LIMITS_FILE, held.limit_lines(), at_most=found.records)
        held.require_as_published()
        withdrawals = archive.put_lines(WITHDRAWALS_FILE, held.withdrawal_lines(), at_most=found.withdrawn)
        readme = archive.put(README_FILE, readme_text(found).encode())
        content = _described(Manifest(replace(found, accepted=0, withdrawn=0), limits, withdrawals, readme))
        archive.put(SIGNED_FILE, content)
        if signer is not None:
            archive.put(SIGNATURE_FILE, signer.signature_file(content))


def _described(manifest: Manifest) -> bytes:
    """The content of datapackage.json, read back. Raises `StoreError` where it could not be."""
    content = manifest_bytes(manifest)
    try:
        read_manifest(content)
    except PackDamagedError as error:
        raise StoreError(f"release {manifest.release.number} cannot go into a pack: {error.detail}") from None
    return content


class _Held:
    """What a release holds, line by line; each line is read back before it leaves, so that no pack is unreadable."""

    def __init__(self, store: Store, release: Release, progress: Progress) -> None:
        self._store = store
        self._release = release
        self._progress = progress
        self._digest = ReleaseDigest()

    def limit_lines(self) -> Iterator[bytes]:
        for revision in self._revisions():
            try:
                line = limit_line(revision)
                self._digest.add(revision.limits_id, read_limit_line(line).content)
            except RowError as error:
                detail = f"revision {revision.revision} of {revision.limits_id} cannot go into a pack: {error}"
                raise StoreError(detail) from None
            yield line

    def _revisions(self) -> Iterator[LimitRevision]:
        query, after = LimitQuery(release=self._release.number), ""
        while page := self._store.limits(query, after=after, limit=PAGE):
            yield from page
            after = page[-1].limits_id
            self._progress(self._digest.records, self._release.records)

    def require_as_published(self) -> None:
        """Raise `StoreError` where the release is not the one that was published."""
        found = (self._digest.records, self._digest.digest)
        if found != (self._release.records, self._release.digest):
            raise StoreError(
                f"release {self._release.number} was published with {self._release.records} records and "
                f"{self._release.digest}, and the store now gives {found[0]} records and {found[1]}; check the store"
            )

    def withdrawal_lines(self) -> Iterator[bytes]:
        for withdrawal in self._withdrawals():
            line = withdrawal_line(withdrawal)
            try:
                read_withdrawal_line(line)
            except RowError as error:
                raise StoreError(f"the withdrawal of {withdrawal.limits_id} cannot go into a pack: {error}") from None
            yield line

    def _withdrawals(self) -> Iterator[Withdrawal]:
        after = 0
        while page := self._store.withdrawals(after=after, up_to=self._release.withdrawn, limit=PAGE):
            yield from page
            after = page[-1].sequence


def sign_release_pack(path: Path, signer: Signer) -> str | None:
    """Put a signature to a pack that is whole, in place of one that it has; the key that had signed it before, if any.

    The file is replaced in one step. Raises `PackDamagedError` and `SignatureError`.
    """
    with open_release_pack(path, StoreRules()) as pack, NamedTemporaryFile(dir=path.parent, delete=False) as made:
        try:
            _write_signed(pack, made, signer)
            made.flush()
            os.fsync(made.fileno())
            Path(made.name).chmod(path.stat().st_mode)
            Path(made.name).replace(path)
        except BaseException:
            Path(made.name).unlink(missing_ok=True)
            raise
        return pack.signed_by


def _write_signed(pack: ReleasePack, made: IO[bytes], signer: Signer) -> None:
    manifest = pack.manifest
    with ArchiveWriter(made) as archive:
        for file in (manifest.limits, manifest.withdrawals):
            archive.put_lines(file.path, pack.lines(file), at_most=file.rows or 0)
        archive.put(README_FILE, pack.readme)
        archive.put(SIGNED_FILE, pack.datapackage)
        archive.put(SIGNATURE_FILE, signer.signature_file(pack.datapackage))
