"""datapackage.json lists every file of the pack, and no other, with its digest and a schema that is there."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping

from turnrule.pack.building import listed_files, schema_of, strange_files
from turnrule.pack.model import Pack
from turnrule.pack.reader import read_document


def faults(pack: Pack) -> Iterator[str]:
    """Files that are strange, lack a schema, are not listed, are listed and not there, or were changed."""
    document = read_document(pack.folder / "datapackage.json")
    resources = document.get("resources") if isinstance(document, Mapping) else None
    listed = {
        str(resource["path"]): resource
        for resource in (resources if isinstance(resources, list) else [])
        if isinstance(resource, Mapping) and "path" in resource
    }
    there = {path.relative_to(pack.folder).as_posix(): path for path in listed_files(pack.folder)}
    for path in strange_files(pack.folder):
        name = path.relative_to(pack.folder).as_posix()
        yield f"{name}: is of no kind that a pack holds (JSON, CSV or Markdown); take it out"
    for name in sorted(there):
        schema = schema_of(name)
        if schema is not None and schema not in there:
            yield f"{name}: its schema {schema} is not there; write it, or take the file out"
    for name in sorted(there.keys() - listed.keys()):
        yield f"datapackage.json: {name} is not listed; run 'turnrule pack build'"
    for name in sorted(listed.keys() - there.keys()):
        yield f"datapackage.json: {name} is listed and not there; run 'turnrule pack build'"
    for name in sorted(there.keys() & listed.keys()):
        digest = f"sha256:{hashlib.sha256(there[name].read_bytes()).hexdigest()}"
        if listed[name].get("hash") != digest:
            yield f"{name}: was changed after datapackage.json was built; run 'turnrule pack build'"
