"""Whatever is changed in a pack is refused, and the refusal names the file and the row."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Callable
from pathlib import Path
from random import Random
from typing import Any

import pytest

from tests.actions.release_packs.stores import (
    ANYTHING,
    Shop,
    lines_of,
    publish,
    put_together,
    record,
    rows_of,
    taken_apart,
    withdrawal,
)
from turnrule.actions.release_packs import (
    PackDamagedError,
    SignatureError,
    Signer,
    bring_in,
    new_signer,
    open_release_pack,
    plan_import,
)
from turnrule.actions.release_packs.limit_lines import limit_line, read_limit_line
from turnrule.actions.release_packs.members import canonical_line
from turnrule.pack import PackError
from turnrule.store.content import ReleaseDigest
from turnrule.store.limit_records import LimitRevision, StoreRules, Withdrawal

Rows = list[dict[str, Any]]
Files = dict[str, bytes]
KEY = new_signer()


@pytest.fixture(scope="module")
def signed(shop: Shop) -> Path:
    """A small signed pack: four records, two of which came and went."""
    here = shop.desk()
    publish(
        here,
        [record(f"corvane-{number}", note=f"row {number}") for number in range(6)],
        [withdrawal("corvane-1"), withdrawal("corvane-4")],
    )
    path = shop.export(here, signer=KEY)
    shop.close()
    return path


Read = tuple[bytes, bytes, str | None, list[LimitRevision], list[Withdrawal]]


def _read(path: Path) -> Read:
    """Everything that anybody reads of a pack."""
    with open_release_pack(path, ANYTHING) as pack:
        limits = [row.revision for _, row in pack.limits()]
        return pack.datapackage, pack.readme, pack.signed_by, limits, [row for _, row in pack.withdrawals()]


def _data(path: Path) -> dict[str, range]:
    """Where the packed content of each file lies."""
    with zipfile.ZipFile(path) as pack, path.open("rb") as raw:
        places = {}
        for entry in pack.infolist():
            raw.seek(entry.header_offset + 26)
            name, extra = int.from_bytes(raw.read(2), "little"), int.from_bytes(raw.read(2), "little")
            start = entry.header_offset + 30 + name + extra
            places[entry.filename] = range(start, start + entry.compress_size)
        return places


def test_every_byte_that_is_flipped_is_refused_by_name_or_is_one_that_nobody_reads(
    signed: Path, tmp_path: Path
) -> None:
    whole, before, places = signed.read_bytes(), _read(signed), _data(signed)
    names = {*places, "flipped.zip"}
    chance, path, unread = Random(1), tmp_path / "flipped.zip", 0
    for place in range(len(whole)):
        flipped = bytearray(whole)
        flipped[place] ^= chance.randrange(1, 256)
        path.write_bytes(flipped)
        inside = next((name for name, where in places.items() if place in where), None)
        refusal = _refusal_of(path)
        if refusal is None:
            assert _read(path) == before, place
            unread += 1
            continue
        file = refusal.file if isinstance(refusal, PackDamagedError) else "signature.json"
        assert file in names, place
        assert inside in {None, file}, place
        if inside == "limits.jsonl":
            assert " row " in refusal.place or "sha256" in refusal.detail, place
    # Dates, versions, rights, headers that the directory repeats: some of the ZIP's own bytes are read by nobody.
    assert unread < len(whole) // 4


def _refusal_of(path: Path) -> PackError | None:
    """Why a pack is refused, if it is."""
    try:
        open_release_pack(path, ANYTHING).close()
    except PackError as error:
        return error
    return None


def test_a_pack_that_was_cut_short_is_refused(signed: Path, tmp_path: Path) -> None:
    whole, path = signed.read_bytes(), tmp_path / "short.zip"
    for length in (0, 1, 21, 22, 97, 98, len(whole) // 2, len(whole) - 22, len(whole) - 1):
        path.write_bytes(whole[:length])
        with pytest.raises(PackDamagedError, match=r"^short\.zip: "):
            open_release_pack(path, ANYTHING)


@pytest.mark.parametrize(
    ("edit", "place"),
    [
        (lambda rows: rows[:1] + rows[2:], r"^limits\.jsonl: was changed.*has 3 rows.*states 4 rows"),
        (lambda rows: rows[:2] + rows[1:], r"^limits\.jsonl, row 3: corvane-2 stands twice"),
        (lambda rows: [rows[1], rows[0], *rows[2:]], r"^limits\.jsonl, row 2: corvane-0 must stand before corvane-2"),
        (lambda rows: [*rows, {**rows[3], "limits_id": "zz"}], r"^limits\.jsonl, row 5"),
        (lambda _: [], r"^limits\.jsonl: was changed.*has 0 rows"),
    ],
)
@pytest.mark.parametrize("sealed", [True, False])
def test_rows_removed_doubled_moved_or_added_are_refused(
    signed: Path, tmp_path: Path, edit: Callable[[Rows], Rows], place: str, *, sealed: bool
) -> None:
    files = taken_apart(signed)
    files["limits.jsonl"] = lines_of(edit(rows_of(files["limits.jsonl"])), sealed=sealed)
    with pytest.raises(PackDamagedError, match=place):
        open_release_pack(put_together(tmp_path / "edited.zip", files), ANYTHING)


def _each_member(row: dict[str, Any], path: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    """The way to each value of a row."""
    found = []
    for name, value in row.items():
        found += _each_member(value, (*path, name)) if isinstance(value, dict) else [(*path, name)]
    return found


def test_a_changed_value_is_refused_with_its_row_whichever_value_it_is(signed: Path, tmp_path: Path) -> None:
    files = taken_apart(signed)
    ways = _each_member(rows_of(files["limits.jsonl"])[2])
    assert len(ways) > 30
    for way in ways:
        rows = rows_of(files["limits.jsonl"])
        inner = rows[2]
        for name in way[:-1]:
            inner = inner[name]
        inner[way[-1]] = "2020-01-01" if inner[way[-1]] != "2020-01-01" else "2020-01-02"
        edited = put_together(tmp_path / "edited.zip", files | {"limits.jsonl": lines_of(rows, sealed=False)})
        with pytest.raises(PackDamagedError, match=r"^limits\.jsonl, row 3: ") as refusal:
            open_release_pack(edited, ANYTHING)
        assert (refusal.value.file, refusal.value.row) == ("limits.jsonl", 3), way


def test_a_row_whose_digest_was_made_to_fit_is_refused_with_its_file(signed: Path, tmp_path: Path) -> None:
    files = taken_apart(signed)
    rows = rows_of(files["limits.jsonl"])
    rows[2]["verified_by"] = "nobody"
    edited = put_together(tmp_path / "edited.zip", files | {"limits.jsonl": lines_of(rows, sealed=True)})
    with pytest.raises(PackDamagedError, match=r"^limits\.jsonl: was changed, or datapackage\.json was"):
        open_release_pack(edited, ANYTHING)


@pytest.mark.parametrize(
    ("edit", "place"),
    [
        (lambda rows: rows[1:], r"^withdrawals\.jsonl: was changed"),
        (lambda rows: rows[::-1], r"^withdrawals\.jsonl, row 2: its sequence is 1 after 2"),
        (lambda rows: [rows[0], rows[0], rows[1]], r"^withdrawals\.jsonl, row 2: its sequence is 1 after 1"),
        (
            lambda rows: [rows[0], {**rows[1], "limits_id": "corvane-5"}],
            r"^limits\.jsonl, row 4: corvane-5 is withdrawn",
        ),
    ],
)
def test_withdrawals_that_were_changed_are_refused(
    signed: Path, tmp_path: Path, edit: Callable[[Rows], Rows], place: str
) -> None:
    files = taken_apart(signed)
    files["withdrawals.jsonl"] = lines_of(edit(rows_of(files["withdrawals.jsonl"])), sealed=True)
    if "limits" in place:
        files = _fitted(files)
    with pytest.raises(PackDamagedError, match=place):
        open_release_pack(put_together(tmp_path / "edited.zip", files), ANYTHING)


@pytest.mark.parametrize("name", ["limits.jsonl", "withdrawals.jsonl", "README.txt", "datapackage.json"])
def test_a_file_that_is_missing_is_named(signed: Path, tmp_path: Path, name: str) -> None:
    files = {other: content for other, content in taken_apart(signed).items() if other != name}
    with pytest.raises(PackDamagedError, match=f"^{name}: is missing from the pack"):
        open_release_pack(put_together(tmp_path / "less.zip", files), ANYTHING)


def test_an_edited_readme_is_named(signed: Path, tmp_path: Path) -> None:
    files = taken_apart(signed)
    edited = files | {"README.txt": files["README.txt"].replace(b"Mind:", b"Never mind:")}
    with pytest.raises(PackDamagedError, match=r"^README\.txt: was changed, or datapackage\.json was"):
        open_release_pack(put_together(tmp_path / "edited.zip", edited), ANYTHING)


def _described(files: Files, **changes: object) -> Files:
    """The files with a datapackage.json in which fields of the release are others."""
    document = json.loads(files["datapackage.json"])
    document["release"] |= changes
    return files | {"datapackage.json": (json.dumps(document, indent=2, ensure_ascii=False) + "\n").encode()}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"digest": "sha256:" + "0" * 64}, r"^datapackage\.json: states 4 records"),
        ({"digest": "md5:0"}, r"^datapackage\.json: digest is"),
        ({"records": 5}, r"^datapackage\.json: states 5 records"),
        ({"records": -1}, r"^datapackage\.json: release\.records must be a whole number"),
        ({"by_one_person": 1}, r"^datapackage\.json: states 4 records, 1 of them by one person"),
        ({"by_one_person": 5}, r"^datapackage\.json: release\.by_one_person must be"),
        ({"number": 0}, r"^datapackage\.json: release\.number must be"),
        ({"number": 7}, r"^datapackage\.json: was changed"),
        ({"published_at": "yesterday"}, r"^datapackage\.json: release\.published_at must be a moment"),
        ({"published_by": ""}, r"^datapackage\.json: release\.published_by is blank"),
        ({"notes": "a\x00b"}, r"U\+0000"),
        ({"notes": None}, r"^datapackage\.json: release\.notes must be text"),
        ({"extra": 1}, r"^datapackage\.json: release\.extra is no member"),
    ],
)
def test_an_edited_description_of_an_unsigned_pack_is_refused_where_it_does_not_fit(
    signed: Path, tmp_path: Path, changes: dict[str, object], words: str
) -> None:
    files = taken_apart(signed)
    del files["signature.json"]
    with pytest.raises(PackDamagedError, match=words):
        open_release_pack(put_together(tmp_path / "edited.zip", _described(files, **changes)), ANYTHING)


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (lambda text: text.replace(b'"format_version": 1', b'"format_version": 2'), "not of the format"),
        (lambda text: text.replace(b'"format": "turn', b'"format": "un'), "not of the format"),
        (lambda text: text.replace(b'"title"', b'"name": "x",\n  "title"'), "own form"),
        (lambda text: text.replace(b"\n", b"\r\n"), "own form"),
        (lambda text: text + b" ", "own form"),
        (lambda text: text.replace(b'"limits.jsonl"', b'"../limits.jsonl"'), "must list limits.jsonl where"),
        (lambda text: text.replace(b'"rows": 4', b'"rows": 4.0'), "rows must be a whole number"),
        (lambda text: text.replace(b"sha256:", b"sha1:", 1), "digest is|hash is"),
        (lambda text: text.replace(b'"type": "datetime"', b'"type": "string"', 1), "own form"),
        (lambda _: b"[]", "must be an object"),
        (lambda _: b"{", "not JSON"),
        (lambda _: b"\xff", "not JSON"),
        (lambda text: text.ljust(300_000), "is larger than"),
    ],
)
def test_a_description_in_another_form_is_refused(
    signed: Path, tmp_path: Path, edit: Callable[[bytes], bytes], words: str
) -> None:
    files = taken_apart(signed)
    del files["signature.json"]
    edited = edit(files["datapackage.json"])
    assert edited != files["datapackage.json"]
    with pytest.raises(PackDamagedError, match=rf"^datapackage\.json: .*({words})"):
        open_release_pack(put_together(tmp_path / "edited.zip", files | {"datapackage.json": edited}), ANYTHING)


def _fitted(files: Files) -> Files:
    """The files with every digest made to fit the rows, as somebody would who forges a pack; unsigned."""
    lines = files["limits.jsonl"].splitlines()
    total = ReleaseDigest()
    for line in lines:
        read = read_limit_line(line)
        total.add(read.revision.limits_id, read.content)
    document = json.loads(files["datapackage.json"])
    document["release"] |= {"digest": total.digest, "records": total.records}
    for resource in document["resources"]:
        content = files[resource["path"]]
        resource |= {"bytes": len(content), "hash": f"sha256:{hashlib.sha256(content).hexdigest()}"}
        if "rows" in resource:
            resource["rows"] = len(content.splitlines())
    described = (json.dumps(document, indent=2, ensure_ascii=False) + "\n").encode()
    kept = {name: content for name, content in files.items() if name != "signature.json"}
    return kept | {"datapackage.json": described}


def test_a_thorough_forgery_is_told_by_nothing_but_a_signature(signed: Path, tmp_path: Path) -> None:
    files = taken_apart(signed)
    lines = files["limits.jsonl"].splitlines()
    lines[0] = limit_line(record("corvane-0", note="nobody ever entered this"))
    forged = _fitted(files | {"limits.jsonl": b"".join(line + b"\n" for line in lines)})
    unsigned = put_together(tmp_path / "unsigned.zip", forged)
    with open_release_pack(unsigned, ANYTHING) as pack:
        assert next(row.revision.note for _, row in pack.limits()) == "nobody ever entered this"
    with pytest.raises(SignatureError, match="signed packs only"):
        open_release_pack(unsigned, StoreRules(signed_packs_only=True, trusted_keys=(KEY.public_key,)))
    with_the_old_one = put_together(tmp_path / "old.zip", forged | {"signature.json": files["signature.json"]})
    with pytest.raises(SignatureError, match=r"^signature\.json: is no signature of datapackage\.json"):
        open_release_pack(with_the_old_one, ANYTHING)


def test_a_pack_that_changes_under_ones_hands_is_noticed_when_its_rows_are_read_again(shop: Shop) -> None:
    here, there = shop.desk(), shop.desk()
    publish(here, [record(f"corvane-{number}", note=f"{number * 7919:x}") for number in range(900)])
    path = shop.export(here)
    where = _data(path)["limits.jsonl"]
    with open_release_pack(path, ANYTHING) as pack:
        plan = plan_import(there.store, pack)
        with path.open("r+b") as file:
            file.seek(where[len(where) // 2])
            file.write(b"\x00\xff\x00\xff")
        with pytest.raises(PackDamagedError, match=r"^limits\.jsonl, row [1-9]"):
            bring_in(there, pack, plan, "importer")
    assert there.store.release() is None
    assert there.store.history("corvane-1") == []
    shop.close()


def test_a_canonical_line_of_no_record_is_refused_at_its_row(signed: Path, tmp_path: Path) -> None:
    files = taken_apart(signed)
    for name in ("limits.jsonl", "withdrawals.jsonl"):
        lines = files[name].splitlines()
        lines[1] = canonical_line({"a": 1})
        edited = files | {name: b"".join(line + b"\n" for line in lines)}
        with pytest.raises(PackDamagedError, match=f"^{name}, row 2: a is no member"):
            open_release_pack(put_together(tmp_path / "edited.zip", edited), ANYTHING)


def test_the_key_of_these_tests_signed_the_pack(signed: Path) -> None:
    assert isinstance(KEY, Signer)
    assert _read(signed)[2] == KEY.public_key
