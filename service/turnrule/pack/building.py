"""datapackage.json, made from the files of the pack (Frictionless Data Package)."""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path

PLACE = "datapackage.json"
_MEDIA = {".json": "application/json", ".csv": "text/csv", ".md": "text/markdown"}
_SCHEMAS = {"policies": "policy", "demo/limits": "limits", "cases": "case"}
"""The schema of all files of a folder; elsewhere a file is as the schema of its own name says."""
_ABOUT = {
    "profile": "data-package",
    "name": "turnrule-reference",
    "title": "Reference pack for judging brake rotors and drums",
    "description": (
        "Catalogues of findings, cautions, rules, practice figures, regulations and sources; policies; worked "
        "cases with their published source; an invented demo scenario. No limits of real vehicles."
    ),
    "version": "1.2.0",
    "licenses": [{"name": "other-closed", "title": "As the program that it comes with"}],
    "keywords": ["brake rotor", "brake drum", "machining limit", "discard limit"],
}


def listed_files(folder: Path) -> list[Path]:
    """Every file of the pack but datapackage.json, in the order of their names."""
    return [path for path in _files(folder) if path.suffix in _MEDIA]


def strange_files(folder: Path) -> list[Path]:
    """Every file in the pack's folder that is of no kind that a pack holds."""
    return [path for path in _files(folder) if path.suffix not in _MEDIA]


def _files(folder: Path) -> list[Path]:
    return sorted(
        path
        for path in folder.rglob("*")
        if path.is_file() and path != folder / PLACE and not path.name.startswith(".")
    )


def schema_of(name: str) -> str | None:
    """The JSON Schema, within the pack, of a JSON file of the pack; None for a schema and a table's columns."""
    path = Path(name)
    if path.suffix != ".json" or path.parent.as_posix() in {"schema", "entry"}:
        return None
    return f"schema/{_SCHEMAS.get(path.parent.as_posix(), path.stem)}.schema.json"


def datapackage_text(folder: Path) -> str:
    """The text of datapackage.json for the files as they are."""
    resources = [_resource(folder, path) for path in listed_files(folder)]
    return json.dumps({**_ABOUT, "resources": resources}, indent=2, ensure_ascii=False) + "\n"


def _resource(folder: Path, path: Path) -> dict[str, object]:
    name = path.relative_to(folder).as_posix()
    content = path.read_bytes()
    resource: dict[str, object] = {
        "name": re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-"),
        "path": name,
        "mediatype": _MEDIA[path.suffix],
        "encoding": "utf-8",
        "bytes": len(content),
        "hash": f"sha256:{hashlib.sha256(content).hexdigest()}",
    }
    if path.suffix == ".json":
        resource |= {"type": "json", "format": "json"}
    if schema := schema_of(name):
        resource["jsonSchema"] = schema
    if path.suffix == ".csv":
        # the specification's own property: a Table Schema, which says what each column holds
        resource |= {"profile": "tabular-data-resource", "type": "table", "format": "csv", "schema": _columns(name)}
    return resource


def _columns(name: str) -> str:
    return Path(name).with_suffix(".columns.json").as_posix()
