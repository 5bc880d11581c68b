"""`GET /v1/releases/{n}/pack`: the pack as the command line writes it, kept for as long as anybody likes."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path
from tempfile import SpooledTemporaryFile

import pytest
from flask import Flask

from tests.actions.release_packs.stores import record, taken_apart
from tests.api.conftest import Caller, Joining
from tests.store.samples import NOON
from turnrule.actions.desk import Desk
from turnrule.actions.release_packs import import_release_pack, new_signer, open_release_pack, write_release_pack
from turnrule.api.release_pack import SIGNER
from turnrule.store.limit_records import StoreRules
from turnrule.store.port import Release
from turnrule.store.sqlite import open_sqlite

PATH = "/v1/releases/1/pack"


@pytest.fixture
def reader(join: Joining) -> Caller:
    """A caller whose key may do nothing in particular."""
    return join("reports")


def _written(desk: Desk, number: int = 1) -> bytes:
    out = io.BytesIO()
    write_release_pack(desk.store, number, out)
    return out.getvalue()


def test_the_pack_is_the_one_that_the_command_line_writes(reader: Caller, desk: Desk) -> None:
    got = reader.get(PATH)
    assert (got.status_code, got.mimetype) == (200, "application/zip")
    assert got.headers["Content-Disposition"] == 'attachment; filename="turnrule-release-1.zip"'
    assert got.headers["Content-Length"] == str(len(got.data))
    assert got.data == _written(desk)


def test_a_pack_from_one_service_comes_into_another_store(
    reader: Caller, desk: Desk, released: Release, tmp_path: Path
) -> None:
    path = tmp_path / "got.zip"
    path.write_bytes(reader.get(PATH).data)
    store = open_sqlite(tmp_path / "other.sqlite")
    store.migrate()
    other = Desk(store, desk.pack, desk.clock, desk.make_id)
    assert import_release_pack(other, path, "importer").digest == released.digest
    store.close()


def test_a_pack_may_be_kept_for_ever_and_is_not_sent_twice(reader: Caller) -> None:
    got = reader.get(PATH)
    assert got.headers["Cache-Control"] == "private, max-age=31536000, immutable"
    tag = got.headers["ETag"]
    for known in (tag, f"W/{tag}", f'"other", {tag}', "*"):
        again = reader.get(PATH, If_None_Match=known)
        assert (again.status_code, again.data) == (304, b"")
        assert (again.headers["ETag"], again.headers["Cache-Control"]) == (tag, got.headers["Cache-Control"])
    assert reader.get(PATH, If_None_Match='"other"').status_code == 200


def test_each_release_and_each_signing_key_has_a_tag_of_its_own(reader: Caller, app: Flask, desk: Desk) -> None:
    for rows in ([record("corvane-9")], []):  # the third holds what the second does
        desk.store.publish(rows, published_at=NOON, published_by="publisher", notes="")
    tags = [_tag(reader, number) for number in (1, 2, 3)]
    for _ in range(2):
        app.extensions[SIGNER] = new_signer()
        tags.append(_tag(reader, 1))
    assert len(set(tags)) == 5


def _tag(reader: Caller, number: int) -> str:
    with reader.get(f"/v1/releases/{number}/pack") as got:
        return got.headers["ETag"]


def test_an_answer_that_nobody_reads_leaves_no_file_open(reader: Caller, monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[SpooledTemporaryFile[bytes]] = []

    def recorded(size: int) -> SpooledTemporaryFile[bytes]:
        made.append(SpooledTemporaryFile(size))  # noqa: SIM115 - whether it is closed is the question
        return made[-1]

    monkeypatch.setattr("turnrule.api.release_pack.SpooledTemporaryFile", recorded)
    for method in ("GET", "HEAD"):
        reader.send(method, PATH).close()
        assert made[-1].closed
    reader.get(PATH).get_data()
    assert made[-1].closed
    assert len(made) == 3


def test_a_service_with_a_key_signs_what_it_sends(reader: Caller, app: Flask, desk: Desk, tmp_path: Path) -> None:
    signer = new_signer()
    app.extensions[SIGNER] = signer
    path = tmp_path / "got.zip"
    path.write_bytes(reader.get(PATH).data)
    with open_release_pack(path, StoreRules(signed_packs_only=True, trusted_keys=(signer.public_key,))) as pack:
        assert pack.signed_by == signer.public_key
    unsigned = zipfile.ZipFile(io.BytesIO(_written(desk)))
    files = taken_apart(path)
    assert {name: files[name] for name in unsigned.namelist()} == {
        name: unsigned.read(name) for name in unsigned.namelist()
    }


def test_a_great_pack_is_sent_in_pieces_from_a_file(
    reader: Caller, desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("turnrule.api.release_pack._IN_MEMORY", 64)
    monkeypatch.setattr("turnrule.api.release_pack._PIECE", 100)
    got = reader.get(PATH)
    assert got.data == _written(desk)


@pytest.mark.parametrize("number", ["0", "2", "2147483648", "99999999999999999999"])
def test_a_release_that_is_not_there_has_no_pack(reader: Caller, number: str) -> None:
    got = reader.get(f"/v1/releases/{number}/pack")
    assert (got.status_code, got.get_json()["type"]) == (404, "/problems/not_found")


def test_a_pack_needs_a_key_and_takes_no_parameters(reader: Caller, app: Flask) -> None:
    assert app.test_client().get(PATH).status_code == 401
    got = reader.get(f"{PATH}?format=tar")
    assert (got.status_code, got.get_json()["errors"][0]["parameter"]) == (400, "format")
    assert reader.post(PATH, b"").status_code == 405


def test_a_head_tells_the_size_and_sends_nothing(reader: Caller, desk: Desk) -> None:
    with reader.send("HEAD", PATH) as got:
        assert (got.status_code, got.data) == (200, b"")
        assert got.headers["Content-Length"] == str(len(_written(desk)))
