"""The digest of a pack: the same for the same content, whatever the machine, the spacing or the order of keys."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from decimal import Decimal
from pathlib import Path

from turnrule.pack.reader import read_document

BEARING = ("catalogue", "policies")
"""The folders whose content bears on a verdict."""


def pack_digest(folder: Path) -> str:
    """`sha256:` and the digest of the catalogues and policies, each file by its name and canonical content."""
    total = hashlib.sha256()
    for path in sorted(path for part in BEARING for path in (folder / part).glob("*.json")):
        content = canonical(read_document(path)).encode()
        total.update(f"{path.relative_to(folder).as_posix()} {hashlib.sha256(content).hexdigest()}\n".encode())
    return f"sha256:{total.hexdigest()}"


def canonical(value: object) -> str:
    """JSON with sorted keys, no spaces, and numbers without trailing zeros."""
    if isinstance(value, Mapping):
        members = ",".join(f"{json.dumps(name)}:{canonical(value[name])}" for name in sorted(value))
        return f"{{{members}}}"
    if isinstance(value, Decimal):
        return f"{value.normalize() + 0:f}"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return f"[{','.join(canonical(entry) for entry in value)}]"
    return json.dumps(value)
