"""datapackage.json, made from the files of the pack (Frictionless Data Package)."""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path

PLACE = "datapackage.json"
_MEDIA = {".json": "application/json", ".csv": "text/csv", ".md": "text/markdown"}
_ABOUT = {
    "profile": "data-package",
    "name": "turnrule-reference",
    "title": "Reference pack for judging brake rotors and drums",
    "description": (
        "Catalogues of findings, cautions, rules, practice figures, regulations and sources; policies; worked "
        "cases with their published source; an invented demo scenario. No limits of real vehicles."
    ),
    "version": "1.0.0",
    "licenses": [{"name": "other-closed", "title": "As the program that it comes with"}],
    "keywords": ["brake rotor", "brake drum", "machining limit", "discard limit"],
}


def listed_files(folder: Path) -> list[Path]:
    """Every file of the pack but datapackage.json, in the order of their names."""
    return sorted(
        path
        for path in folder.rglob("*")
        if path.is_file() and path.name != PLACE and not path.name.startswith(".") and path.suffix in _MEDIA
    )


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
    return resource
