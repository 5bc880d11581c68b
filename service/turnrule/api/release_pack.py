"""A release as a data pack, to be brought into another store."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from tempfile import SpooledTemporaryFile

from flask import Blueprint, Response, current_app, request

from turnrule.actions.reading_records import read_release
from turnrule.actions.release_packs import FORMAT, FORMAT_VERSION, Signer, write_release_pack
from turnrule.api import queries
from turnrule.api.answering import FOR_EVER
from turnrule.api.keeping_out import desk, needs_key
from turnrule.api.problems import ProblemError
from turnrule.store.port import Release

blueprint = Blueprint("release_pack", __name__)

SIGNER = "turnrule.pack_signer"
"""The extension of the application that holds the key which signs packs; packs go out unsigned where it is None."""
MEDIA_TYPE = "application/zip"

_GREATEST_NUMBER = 2**31 - 1
_IN_MEMORY = 4 * 1024 * 1024
_PIECE = 64 * 1024


@blueprint.get("/v1/releases/<int:number>/pack")
@needs_key()
def read(number: int) -> Response:
    """Read a release as a data pack, a ZIP file that `turnrule pack import` brings into another store."""
    queries.read_query(queries.NONE)
    release = read_release(desk(), number) if 0 < number <= _GREATEST_NUMBER else None
    if release is None:
        raise ProblemError("not_found", f"there is no release {number}")
    signer: Signer | None = current_app.extensions.get(SIGNER)
    tag = _tag(release, signer)
    keeping = {"ETag": f'"{tag}"', "Cache-Control": FOR_EVER}
    if request.if_none_match.contains_weak(tag):
        return Response(status=304, headers=keeping)
    whole = SpooledTemporaryFile(_IN_MEMORY)  # noqa: SIM115 - closed when the answer has gone out
    try:
        write_release_pack(desk().store, number, whole, signer=signer)
    except BaseException:
        whole.close()
        raise
    keeping["Content-Length"] = str(whole.tell())
    keeping["Content-Disposition"] = f'attachment; filename="turnrule-release-{number}.zip"'
    whole.seek(0)
    response = Response(_pieces(whole), mimetype=MEDIA_TYPE, headers=keeping)
    response.call_on_close(whole.close)  # where nobody reads it to the end
    return response


def _tag(release: Release, signer: Signer | None) -> str:
    """One tag for each release, format and signing key: with the three, a pack's content is settled."""
    settled = (FORMAT, FORMAT_VERSION, release.number, release.digest, signer.public_key if signer else "")
    return hashlib.sha256(" ".join(map(str, settled)).encode()).hexdigest()[:32]


def _pieces(whole: SpooledTemporaryFile[bytes]) -> Iterator[bytes]:
    with whole:
        while piece := whole.read(_PIECE):
            yield piece
