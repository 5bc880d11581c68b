"""datapackage.json of a release pack (Frictionless Data Package): the release, and each file with size and digest.

It is read by making the manifest out of it and writing that again: what is not the same to the byte is refused.
"""

from __future__ import annotations

import json
import re
from dataclasses import asdict, dataclass

from turnrule.actions.answers import moment
from turnrule.actions.release_packs.damage import PackDamagedError, RowError
from turnrule.actions.release_packs.members import Members, parsed
from turnrule.actions.release_packs.signatures import SIGNED_FILE
from turnrule.actions.release_packs.table_schemas import LIMITS_SCHEMA, WITHDRAWALS_SCHEMA
from turnrule.store.port import Release

FORMAT, FORMAT_VERSION = "turnrule-release-pack", 1
LIMITS_FILE, WITHDRAWALS_FILE, README_FILE = "limits.jsonl", "withdrawals.jsonl", "README.txt"
GREATEST_FILE = 2**40
"""No file of a pack has more bytes."""

_DIGEST = re.compile("sha256:[0-9a-f]{64}", re.ASCII)
_NAMES = frozenset(
    {"profile", "name", "title", "description", "format", "format_version", "created", "release", "resources"}
)
_RELEASE = ("number", "published_at", "published_by", "notes", "digest", "records", "by_one_person")
_LISTED = frozenset({"name", "path", "mediatype", "encoding", "bytes", "hash"})
_TABLE = frozenset({*_LISTED, "type", "profile", "rows", "schema"})
_SCHEMAS = {LIMITS_FILE: LIMITS_SCHEMA, WITHDRAWALS_FILE: WITHDRAWALS_SCHEMA}
_CAUTION = (
    "Limits for worn brake rotors and drums, each with the document that it was read from. The maker's current "
    "service data, the law of the place and licensed practice go before them; README.txt says what else to mind."
)


@dataclass(frozen=True, slots=True)
class PackedFile:
    """A file of the pack: its size in bytes, its SHA-256, and how many rows it has, where it has rows."""

    path: str
    bytes: int
    hash: str
    rows: int | None = None


@dataclass(frozen=True, slots=True)
class Manifest:
    """What datapackage.json says: the release, and the files in their order.

    The `accepted` and `withdrawn` of the release are numbers of the store that it came from, and 0 here.
    """

    release: Release
    limits: PackedFile
    withdrawals: PackedFile
    readme: PackedFile


def manifest_bytes(manifest: Manifest) -> bytes:
    """The content of datapackage.json, the same on every machine."""
    release = manifest.release
    document = {
        "profile": "data-package",
        "name": f"turnrule-release-{release.number}",
        "title": f"Limits for brake rotors and drums, release {release.number}",
        "description": _CAUTION,
        "format": FORMAT,
        "format_version": FORMAT_VERSION,
        "created": moment(release.published_at),
        "release": {name: getattr(release, name) for name in _RELEASE} | {"published_at": moment(release.published_at)},
        "resources": [_resource(file) for file in (manifest.limits, manifest.withdrawals, manifest.readme)],
    }
    return (json.dumps(document, indent=2, ensure_ascii=False) + "\n").encode()


def _resource(file: PackedFile) -> dict[str, object]:
    known: dict[str, object] = {"name": file.path.partition(".")[0].lower()}
    known |= {name: value for name, value in asdict(file).items() if value is not None}
    if file.rows is None:
        return {**known, "mediatype": "text/plain", "encoding": "utf-8"}
    # A file of no rows is no table to a reader of tables; the schema still says what its rows would hold.
    table = (
        {"type": "table", "profile": "tabular-data-resource"}
        if file.rows
        else {"type": "file", "profile": "data-resource"}
    )
    return {**known, "mediatype": "application/jsonl", "encoding": "utf-8", **table, "schema": _SCHEMAS[file.path]}


def read_manifest(content: bytes) -> Manifest:
    """The manifest in these bytes. Raises `PackDamagedError`."""
    try:
        manifest = _manifest(content)
    except RowError as error:
        raise PackDamagedError(SIGNED_FILE, None, str(error)) from None
    if manifest_bytes(manifest) != content:
        raise PackDamagedError(SIGNED_FILE, None, "was changed: it is not written in the pack's own form")
    return manifest


def _manifest(content: bytes) -> Manifest:
    document = parsed(content)
    if isinstance(document, dict) and (document.get("format"), document.get("format_version")) != (
        FORMAT,
        FORMAT_VERSION,
    ):
        raise RowError(f"is not of the format {FORMAT} {FORMAT_VERSION}, and no other is read")
    members = Members(document, _NAMES)
    release = members.inner("release", frozenset(_RELEASE))
    listed = members.several("resources")
    paths = (LIMITS_FILE, WITHDRAWALS_FILE, README_FILE)
    if len(listed) != len(paths):
        raise RowError(f"must list {', '.join(paths)}, in this order")
    files = [_file(entry, path) for entry, path in zip(listed, paths, strict=True)]
    records = release.whole("records", least=0)
    return Manifest(
        Release(
            number=release.whole("number", most=2**31 - 1),
            published_at=release.moment("published_at"),
            published_by=release.text("published_by"),
            notes=release.prose("notes"),
            digest=_digest(release, "digest"),
            records=records,
            by_one_person=release.whole("by_one_person", least=0, most=records),
        ),
        *files,
    )


def _file(entry: object, path: str) -> PackedFile:
    is_table = path in _SCHEMAS
    members = Members(entry, _TABLE if is_table else _LISTED, f"resources.{path}.")
    if members.text("path") != path:
        raise RowError(f"must list {path} where it lists {members.text('path')!r:.60}")
    size = members.whole("bytes", least=0, most=GREATEST_FILE)
    return PackedFile(path, size, _digest(members, "hash"), members.whole("rows", least=0) if is_table else None)


def _digest(members: Members, name: str) -> str:
    digest = members.text(name)
    if _DIGEST.fullmatch(digest) is None:
        raise RowError(f"{name} is {digest!r:.80}, and not sha256: with 64 hexadecimal digits")
    return digest
