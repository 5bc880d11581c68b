"""A whole pack, read from its folder."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from turnrule.pack.catalogues import read_catalogue
from turnrule.pack.digest import pack_digest
from turnrule.pack.location import pack_folder
from turnrule.pack.model import Demo, Inspection, Pack
from turnrule.pack.reader import PackError, Row, read_document, read_items


def load_pack(path: Path | None = None) -> Pack:
    """The pack in this folder, or the one that came with the program. Raises `PackError`."""
    folder = pack_folder(path)
    about = read_document(folder / "datapackage.json")
    if not isinstance(about, Mapping):
        raise PackError("datapackage.json", "is not an object")
    name, version = str(about.get("name")), str(about.get("version"))
    return Pack(
        name=name,
        version=version,
        digest=pack_digest(folder),
        folder=folder,
        catalogue=read_catalogue(folder, version),
        policies=read_policies(folder),
        demo=Demo(tuple(_limits(folder)), tuple(_inspections(folder))),
    )


def read_policies(folder: Path) -> dict[str, Mapping[str, object]]:
    """The policy documents by name; each lies in the file of its name."""
    found: dict[str, Mapping[str, object]] = {}
    for path in sorted((folder / "policies").glob("*.json")):
        document = read_document(path)
        if not isinstance(document, Mapping) or document.get("name") != path.stem:
            raise PackError(path.name, f'must be an object with "name": "{path.stem}"')
        found[path.stem] = document
    return found


def _limits(folder: Path) -> Iterator[Mapping[str, object]]:
    for path in sorted((folder / "demo" / "limits").glob("*.json")):
        document = read_document(path)
        if not isinstance(document, Mapping):
            raise PackError(path.name, "is not a limits body")
        yield document


def _inspections(folder: Path) -> list[Inspection]:
    return read_items(folder / "demo" / "inspections.json", _inspection)


def _inspection(row: Row) -> Inspection:
    name, note, problem = row.text("name"), row.maybe_text("note"), row.maybe_text("expect_problem")
    request = row.raw("request")
    if not isinstance(request, Mapping):
        raise PackError(row.place, "request is not an object")
    return Inspection(name, note, problem, request)
