"""The ZIP around a pack: tricks with names, sizes and directories are refused before they cost anything."""

from __future__ import annotations

import io
import struct
import subprocess
import tracemalloc
import warnings
import zipfile
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.actions.release_packs.stores import ANYTHING, Shop, publish, put_together, record, taken_apart
from turnrule.actions.release_packs import PackDamagedError, open_release_pack
from turnrule.actions.release_packs.archive import Archive, ArchiveWriter
from turnrule.actions.release_packs.limit_lines import LONGEST_LINE
from turnrule.actions.release_packs.manifest import PackedFile

MIB = 1024 * 1024
MANY = 8192
"""From so many lines of the greatest length on, a file could outgrow sizes of 31 bits."""


@pytest.fixture(scope="module")
def plain(shop: Shop) -> Path:
    """A small pack that is not signed."""
    here = shop.desk()
    publish(here, [record(f"corvane-{number}") for number in range(3)])
    path = shop.export(here)
    shop.close()
    return path


@pytest.mark.parametrize(
    "name",
    [
        *("../limits.jsonl", "/limits.jsonl", "./limits.jsonl", "..\\limits.jsonl", "limits.jsonl/", "a/limits.jsonl"),
        *("LIMITS.JSONL", "limits.jsonl ", "limits.json", "extra.txt", "signature.json.txt", "limits\u200b.jsonl"),
        *(".", "..", "C:limits.jsonl", "con", "limits.jsonl:stream"),
    ],
)
def test_a_name_that_no_pack_has_is_refused(plain: Path, tmp_path: Path, name: str) -> None:
    edited = put_together(tmp_path / "named.zip", [*taken_apart(plain).items(), (name, b"x")])
    with pytest.raises(PackDamagedError, match=r"^named\.zip: holds .*, which is none of limits\.jsonl"):
        open_release_pack(edited, ANYTHING)


def test_a_name_with_a_null_in_it_is_refused(plain: Path, tmp_path: Path) -> None:
    whole = plain.read_bytes()
    path = tmp_path / "null.zip"
    path.write_bytes(whole.replace(b"README.txt", b"README\x00txt"))
    with pytest.raises(PackDamagedError):
        open_release_pack(path, ANYTHING)


@pytest.mark.parametrize("name", ["limits.jsonl", "withdrawals.jsonl", "README.txt", "datapackage.json"])
@pytest.mark.parametrize("first", [True, False])
def test_a_name_that_stands_twice_is_refused(plain: Path, tmp_path: Path, name: str, *, first: bool) -> None:
    files = list(taken_apart(plain).items())
    with warnings.catch_warnings(category=UserWarning, action="ignore"):  # the writer warns of it itself
        doubled = [(name, b"another"), *files] if first else [*files, (name, b"another")]
        edited = put_together(tmp_path / "doubled.zip", doubled)
    with pytest.raises(PackDamagedError, match=f"^{name}: stands in the pack twice"):
        open_release_pack(edited, ANYTHING)


def test_a_signature_that_stands_twice_is_refused(plain: Path, tmp_path: Path) -> None:
    with warnings.catch_warnings(category=UserWarning, action="ignore"):
        files = [*taken_apart(plain).items(), ("signature.json", b"{}"), ("signature.json", b"{}")]
        edited = put_together(tmp_path / "doubled.zip", files)
    with pytest.raises(PackDamagedError, match=r"^signature\.json: stands in the pack twice"):
        open_release_pack(edited, ANYTHING)


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_other_ways_of_packing_are_refused(plain: Path, tmp_path: Path, method: int) -> None:
    path = tmp_path / "other.zip"
    with zipfile.ZipFile(path, "w", method) as pack:
        for name, content in taken_apart(plain).items():
            pack.writestr(name, content)
    with pytest.raises(PackDamagedError, match=r"packed in a way that is not read here"):
        open_release_pack(path, ANYTHING)


@pytest.mark.parametrize("bit", [0x1, 0x20, 0x40, 0x2000])
def test_encrypted_and_patched_files_are_refused(plain: Path, tmp_path: Path, bit: int) -> None:
    whole = bytearray(plain.read_bytes())
    entry = whole.index(b"PK\x01\x02")
    (flags,) = struct.unpack_from("<H", whole, entry + 8)
    struct.pack_into("<H", whole, entry + 8, flags | bit)
    path = tmp_path / "locked.zip"
    path.write_bytes(whole)
    with pytest.raises(PackDamagedError, match=r"limits\.jsonl: is encrypted"):
        open_release_pack(path, ANYTHING)


@pytest.mark.parametrize(
    "edit",
    [
        lambda whole: b"something before it" + whole,
        lambda whole: whole + b"something behind it",
        lambda whole: whole[:-2] + struct.pack("<H", 5) + b"hello",
        lambda whole: whole[:-2] + struct.pack("<H", 0xFFFF),
        lambda _: b"",
        lambda _: b"PK\x05\x06" + bytes(18),
        lambda _: b"not a pack at all" * 100,
    ],
)
def test_a_file_that_is_no_plain_zip_is_refused(plain: Path, tmp_path: Path, edit: Callable[[bytes], bytes]) -> None:
    path = tmp_path / "odd.zip"
    path.write_bytes(edit(plain.read_bytes()))
    with pytest.raises(PackDamagedError):
        open_release_pack(path, ANYTHING)


def _peak(work: Callable[[], object]) -> float:
    """The most memory in MiB that Python held during it, beyond what it held before."""
    tracemalloc.start()
    try:
        with pytest.raises(PackDamagedError):
            work()
        return tracemalloc.get_traced_memory()[1] / MIB
    finally:
        tracemalloc.stop()


def _bomb(path: Path, files: dict[str, bytes], name: str, size: int) -> Path:
    """A pack in which one file unpacks to so many MiB of nothing."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as pack:
        for other, content in files.items():
            if other != name:
                pack.writestr(other, content)
        with pack.open(name, "w", force_zip64=True) as member:
            for _ in range(size):
                member.write(bytes(MIB))
    return path


@pytest.mark.parametrize(
    "name", ["limits.jsonl", "withdrawals.jsonl", "README.txt", "datapackage.json", "signature.json"]
)
def test_a_zip_bomb_costs_next_to_nothing(plain: Path, tmp_path: Path, name: str) -> None:
    path = _bomb(tmp_path / "bomb.zip", taken_apart(plain), name, 200)
    assert path.stat().st_size < MIB
    assert _peak(lambda: open_release_pack(path, ANYTHING)) < 4


def test_a_directory_that_never_ends_is_not_read(plain: Path, tmp_path: Path) -> None:
    path = tmp_path / "long.zip"
    with zipfile.ZipFile(path, "w") as pack:
        for name, content in taken_apart(plain).items():
            pack.writestr(name, content)
        for number in range(30_000):
            pack.writestr(f"{number}", b"")
    assert path.stat().st_size > 2 * MIB
    assert _peak(lambda: open_release_pack(path, ANYTHING)) < 1
    with pytest.raises(PackDamagedError, match=r"^long\.zip: .*larger than that of a pack"):
        open_release_pack(path, ANYTHING)


def test_a_directory_whose_size_lies_in_64_bits_is_not_read(plain: Path, tmp_path: Path) -> None:
    whole = plain.read_bytes()
    directory, end = whole.index(b"PK\x01\x02"), whole.index(b"PK\x05\x06")
    filler = bytes(5 * MIB)
    begin = directory
    length = len(filler) + end - directory
    end_64 = struct.pack("<4sQ2H2L4Q", b"PK\x06\x06", 44, 45, 45, 0, 0, 4, 4, length, begin)
    locator = struct.pack("<4sLQL", b"PK\x06\x07", 0, begin + length, 1)
    path = tmp_path / "wide.zip"
    path.write_bytes(whole[:directory] + filler + whole[directory:end] + end_64 + locator + whole[end:])
    assert _peak(lambda: open_release_pack(path, ANYTHING)) < 1


@pytest.mark.parametrize("length", [LONGEST_LINE + 1, 40 * LONGEST_LINE])
def test_a_line_that_never_ends_is_given_up(tmp_path: Path, length: int) -> None:
    path = tmp_path / "long.zip"
    with path.open("wb") as out, ArchiveWriter(out) as pack:
        described = pack.put_lines("limits.jsonl", [b"", b"x" * length], at_most=2)
        for name in ("withdrawals.jsonl", "README.txt", "datapackage.json"):
            pack.put(name, b"")
    with path.open("rb") as file, pytest.raises(PackDamagedError, match=rf"row 2: has more than {LONGEST_LINE} bytes"):
        list(Archive(file, "long.zip").lines(described))


def _written(path: Path, lines: Iterator[bytes], at_most: int) -> PackedFile:
    with path.open("wb") as out, ArchiveWriter(out) as pack:
        described = pack.put_lines("limits.jsonl", lines, at_most=at_most)
        for name in ("withdrawals.jsonl", "README.txt", "datapackage.json"):
            pack.put(name, b"")
    return described


@pytest.mark.parametrize("count", [0, 1, MANY - 1, MANY, 3 * MANY])
def test_every_line_comes_back_and_sizes_take_64_bits_where_they_could_need_them(tmp_path: Path, count: int) -> None:
    path = tmp_path / "lines.zip"
    lines = [b"%d " % number * (number % 300) for number in range(count)]
    described = _written(path, iter(lines), count)
    assert described.rows == count
    with path.open("rb") as file:
        assert [line for _, line in Archive(file, "lines.zip").lines(described)] == lines
        file.seek(0)
        header = file.read(30)
    version = struct.unpack_from("<H", header, 4)[0]
    # APPNOTE 6.3.10, 4.4.3.2: version 4.5 for the sizes of 64 bits.
    assert (version >= 45) is (count >= MANY)
    # Another reader of ZIP takes it, too.
    assert subprocess.run(["unzip", "-tq", str(path)], check=False, capture_output=True).returncode == 0
    shown = subprocess.run(["unzip", "-p", str(path), "limits.jsonl"], check=True, capture_output=True).stdout
    assert shown == b"".join(line + b"\n" for line in lines)


def test_the_zip_tells_nothing_of_when_and_where_it_was_made(plain: Path) -> None:
    with zipfile.ZipFile(plain) as pack:
        for entry in pack.infolist():
            assert entry.date_time == (1980, 1, 1, 0, 0, 0)
            assert (entry.create_system, entry.external_attr, entry.extra, entry.comment) == (
                3,
                0o100644 << 16,
                b"",
                b"",
            )
        assert pack.namelist() == ["limits.jsonl", "withdrawals.jsonl", "README.txt", "datapackage.json"]
        assert pack.comment == b""


def test_a_size_that_hides_the_rest_of_a_file_is_noticed(plain: Path, tmp_path: Path) -> None:
    whole = bytearray(plain.read_bytes())
    entry = whole.index(b"PK\x01\x02")
    (size,) = struct.unpack_from("<L", whole, entry + 24)
    for other in (0, size - 1):
        struct.pack_into("<L", whole, entry + 24, other)
        path = tmp_path / "lying.zip"
        path.write_bytes(whole)
        with pytest.raises(PackDamagedError, match=r"^limits\.jsonl"):
            open_release_pack(path, ANYTHING)


def test_content_that_unpacks_to_more_than_its_size_is_noticed(plain: Path, tmp_path: Path) -> None:
    files = taken_apart(plain)
    path = put_together(tmp_path / "more.zip", files | {"limits.jsonl": files["limits.jsonl"] + b"more\n"})
    with pytest.raises(PackDamagedError, match=r"^limits\.jsonl, row 4: reaches beyond"):
        open_release_pack(path, ANYTHING)


def test_a_last_line_without_its_end_is_noticed(plain: Path, tmp_path: Path) -> None:
    files = taken_apart(plain)
    path = put_together(tmp_path / "less.zip", files | {"limits.jsonl": files["limits.jsonl"][:-1]})
    with pytest.raises(PackDamagedError, match=r"^limits\.jsonl, row 3: ends without a line feed"):
        open_release_pack(path, ANYTHING)


def test_the_digests_do_not_hang_on_how_well_the_machine_packs(plain: Path) -> None:
    with zipfile.ZipFile(plain) as pack:
        content = pack.read("limits.jsonl")
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as again:
            again.writestr("limits.jsonl", content)
        assert again.getinfo("limits.jsonl").compress_size != pack.getinfo("limits.jsonl").compress_size
        assert again.getinfo("limits.jsonl").CRC == pack.getinfo("limits.jsonl").CRC == zlib.crc32(content)
