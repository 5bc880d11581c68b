"""The ZIP around a release pack: written as a stream, the same bytes each time; opened only where it holds no surprise.

Nothing is ever unpacked to a disk, so that no name can lead anywhere; what is read is read in pieces of bounded size.
"""

from __future__ import annotations

import hashlib
import io
import struct
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import IO, Self

from turnrule.actions.release_packs.damage import PackDamagedError
from turnrule.actions.release_packs.limit_lines import LONGEST_LINE
from turnrule.actions.release_packs.manifest import LIMITS_FILE, README_FILE, WITHDRAWALS_FILE, PackedFile
from turnrule.actions.release_packs.signatures import SIGNATURE_FILE, SIGNED_FILE
from turnrule.store.content import PREFIX

FILES = (LIMITS_FILE, WITHDRAWALS_FILE, README_FILE, SIGNED_FILE)
"""What every pack holds, in the order in which it is written; a signature may follow."""

_EARLIEST = (1980, 1, 1, 0, 0, 0)
"""The date of every file: a ZIP must state one, and it must not tell when or where the pack was made."""
_UNIX, _PLAIN_FILE = 3, 0o100644 << 16
_BEYOND_32_BIT = 2**31 - 1
_PIECE = 64 * 1024
_KNOWN_FLAGS = 0x0808  # sizes that stand behind the data, and names in UTF-8
_LARGEST_DIRECTORY = 4 * 1024
_END, _END_64, _LOCATOR_64 = struct.Struct("<4s4H2LH"), struct.Struct("<4sQ2H2L4Q"), struct.Struct("<4sLQL")
_WRONG = (
    *(zipfile.BadZipFile, zlib.error, struct.error, EOFError),
    *(NotImplementedError, RuntimeError, ValueError, OverflowError, OSError),
)
"""What the standard reader raises on a ZIP that was tampered with."""


class _Stream:
    """Writing only: the ZIP then has one form, whether or not what stands behind could be wound back."""

    def __init__(self, out: IO[bytes]) -> None:
        self._out = out

    def write(self, content: bytes) -> int:
        self._out.write(content)
        return len(content)

    def flush(self) -> None:
        self._out.flush()

    def close(self) -> None:
        """What stands behind is for its owner to close."""


class ArchiveWriter:
    """Writes the files of a pack one after another, each in one pass and in constant memory; then the directory."""

    def __init__(self, out: IO[bytes]) -> None:
        self._zip = zipfile.ZipFile(_Stream(out), "w")

    def put_lines(self, path: str, lines: Iterable[bytes], *, at_most: int) -> PackedFile:
        """Write lines, each without its line feed, of which there are at most so many; what was written.

        The sizes take 64 bits wherever that many lines could need them: whether they do must be known beforehand.
        """
        total, size, rows = hashlib.sha256(), 0, 0
        large = at_most * LONGEST_LINE > _BEYOND_32_BIT
        with self._zip.open(_entry(path), "w", force_zip64=large) as member:
            pending = bytearray()
            for line in lines:
                rows += 1
                pending += line
                pending += b"\n"
                if len(pending) >= _PIECE:
                    total.update(pending)
                    size += member.write(pending)
                    pending.clear()
            total.update(pending)
            size += member.write(pending)
        return PackedFile(path, size, f"{PREFIX}{total.hexdigest()}", rows)

    def put(self, path: str, content: bytes) -> PackedFile:
        """Write one small file; what was written."""
        with self._zip.open(_entry(path), "w") as member:
            member.write(content)
        return PackedFile(path, len(content), f"{PREFIX}{hashlib.sha256(content).hexdigest()}")

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._zip.close()


def _entry(path: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(path, _EARLIEST)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.create_system = _UNIX
    entry.external_attr = _PLAIN_FILE
    return entry


@contextmanager
def _undamaged(place: str) -> Iterator[None]:
    try:
        yield
    except _WRONG as error:
        raise PackDamagedError(place, None, f"cannot be unpacked: {str(error) or type(error).__name__}") from None


class Archive:
    """An open pack whose ZIP holds exactly the files of one, each in a form that is read here."""

    def __init__(self, file: IO[bytes], name: str) -> None:
        """`name` is what the pack is called in errors. Raises `PackDamagedError`."""
        with _undamaged(name):
            counted = _counted_at_end(file)
            self._zip = zipfile.ZipFile(file)
        entries = self._zip.infolist()
        if len(entries) != counted:
            raise PackDamagedError(
                name, None, f"its directory lists {len(entries)} files, and its end counts {counted}"
            )
        for entry in entries:
            if entry.filename not in {*FILES, SIGNATURE_FILE}:
                listed = ", ".join((*FILES, SIGNATURE_FILE))
                raise PackDamagedError(name, None, f"holds {entry.filename!r:.90}, which is none of {listed}")
            if entry.flag_bits & ~_KNOWN_FLAGS or entry.compress_type not in {zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED}:
                raise PackDamagedError(entry.filename, None, "is encrypted, or packed in a way that is not read here")
        names = [entry.filename for entry in entries]
        for path in (*FILES, SIGNATURE_FILE):
            if names.count(path) > 1:
                raise PackDamagedError(path, None, "stands in the pack twice")
            if path not in names and path in FILES:
                raise PackDamagedError(path, None, "is missing from the pack")
        self.is_signed = SIGNATURE_FILE in names

    def small(self, path: str, *, at_most: int) -> bytes:
        """The whole content of a small file. Raises `PackDamagedError` where it is larger than that."""
        with _undamaged(path), self._zip.open(path) as member:
            content = member.read(at_most + 1)
        if len(content) > at_most:
            raise PackDamagedError(path, None, f"is larger than {at_most} bytes")
        return content

    def lines(self, file: PackedFile) -> Iterator[tuple[int, bytes]]:
        """The lines of a file with their numbers from 1, without their line feeds.

        Raises `PackDamagedError` at the line or at the end where the file is not the one that is described.
        """
        total, size, row = hashlib.sha256(), 0, 0
        for line in self._split(file.path):
            row += 1
            size += len(line) + 1
            if size > file.bytes:
                raise PackDamagedError(
                    file.path, row, f"reaches beyond the {file.bytes} bytes that {SIGNED_FILE} states"
                )
            total.update(line)
            total.update(b"\n")
            yield row, line
        self._require(file, PackedFile(file.path, size, f"{PREFIX}{total.hexdigest()}", row))

    def _split(self, path: str) -> Iterator[bytes]:
        with _undamaged(path):
            member = self._zip.open(path)
        row, pending = 1, b""
        with member:
            while piece := _piece(member, path, row):
                *lines, pending = (pending + piece).split(b"\n")
                for line in lines:
                    _require_short(line, path, row)
                    yield line
                    row += 1
                _require_short(pending, path, row)
        if pending:
            raise PackDamagedError(path, row, "ends without a line feed")

    @staticmethod
    def _require(stated: PackedFile, found: PackedFile) -> None:
        if found != stated:
            detail = (
                f"was changed, or {SIGNED_FILE} was: it has {_told(found)}, and {SIGNED_FILE} states {_told(stated)}"
            )
            raise PackDamagedError(stated.path, None, detail)

    def exact(self, file: PackedFile, *, at_most: int) -> bytes:
        """The content of a small file. Raises `PackDamagedError` where it is not the one that is described."""
        content = self.small(file.path, at_most=at_most)
        self._require(file, PackedFile(file.path, len(content), f"{PREFIX}{hashlib.sha256(content).hexdigest()}"))
        return content


def _require_short(line: bytes, path: str, row: int) -> None:
    if len(line) > LONGEST_LINE:
        raise PackDamagedError(path, row, f"has more than {LONGEST_LINE} bytes")


def _told(file: PackedFile) -> str:
    rows = "" if file.rows is None else f"{file.rows} rows, "
    return f"{rows}{file.bytes} bytes and {file.hash}"


def _piece(member: IO[bytes], path: str, row: int) -> bytes:
    try:
        return member.read(_PIECE)
    except _WRONG as error:
        raise PackDamagedError(path, row, f"cannot be unpacked: {str(error) or type(error).__name__}") from None


def _counted_at_end(file: IO[bytes]) -> int:
    """How many files the end of a ZIP counts, which no flipped length in its directory can hide.

    Raises `BadZipFile` where the directory is one that the standard reader would take into memory whole though it is
    not a pack's, or where it does not lie where the end says.
    """
    size = file.seek(0, io.SEEK_END)
    both = _END_64.size + _LOCATOR_64.size
    file.seek(max(size - _END.size - both, 0))
    tail = file.read()
    if len(tail) < _END.size or not tail[-_END.size :].startswith(b"PK\x05\x06"):
        raise zipfile.BadZipFile("it is no ZIP, or something was added to its end")
    *_, here, count, length, begin, comment = _END.unpack(tail[-_END.size :])
    after = size - _END.size
    if len(tail) == _END.size + both and tail[_END_64.size :].startswith(b"PK\x06\x07"):
        *_, here, count, length, begin = _END_64.unpack(tail[: _END_64.size])
        after -= both
    if comment or length > _LARGEST_DIRECTORY:
        raise zipfile.BadZipFile("its directory is larger than that of a pack")
    if here != count or begin + length != after:
        raise zipfile.BadZipFile("its directory is not where its end says, or something was put before it")
    return int(count)
