"""datapackage.json lists every file of the pack, and no other, with its size and digest."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping

from turnrule.pack.building import listed_files
from turnrule.pack.model import Pack
from turnrule.pack.reader import read_document


def faults(pack: Pack) -> Iterator[str]:
    """Files that are not listed, listed files that are not there, files that were changed."""
    document = read_document(pack.folder / "datapackage.json")
    resources = document.get("resources") if isinstance(document, Mapping) else None
    listed = {
        str(resource["path"]): resource
        for resource in (resources if isinstance(resources, list) else [])
        if isinstance(resource, Mapping) and "path" in resource
    }
    there = {path.relative_to(pack.folder).as_posix(): path for path in listed_files(pack.folder)}
    for name in sorted(there.keys() - listed.keys()):
        yield f"datapackage.json: {name} is not listed; run 'turnrule pack build'"
    for name in sorted(listed.keys() - there.keys()):
        yield f"datapackage.json: {name} is listed and not there; run 'turnrule pack build'"
    for name in sorted(there.keys() & listed.keys()):
        digest = f"sha256:{hashlib.sha256(there[name].read_bytes()).hexdigest()}"
        if listed[name].get("hash") != digest:
            yield f"{name}: was changed after datapackage.json was built; run 'turnrule pack build'"
