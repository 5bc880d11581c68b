"""Export a release: every record that it holds, one after another, and proof that none was left out or changed."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.actions.refusals import refused
from turnrule.store.content import ReleaseDigest, content_digest
from turnrule.store.errors import StoreError
from turnrule.store.limit_records import LimitQuery, LimitRevision, Release
from turnrule.store.reference_port import ReferenceStore

_PAGE = 500


def release_to_export(store: ReferenceStore, number: int | None) -> Release:
    """The release of this number, or the newest. Raises `RefusedError` where there is none."""
    release = store.release(number)
    if release is None:
        which = "nothing is released yet" if number is None else f"there is no release {number}"
        raise refused("release_not_found", "/release", which)
    return release


def held_revisions(store: ReferenceStore, release: Release) -> Iterator[LimitRevision]:
    """The revisions that a release holds, by id, rising; as it was published, whatever was withdrawn since.

    Raises `StoreError` at the end where what was read has not the digest of the release.
    """
    total = ReleaseDigest()
    after = ""
    query = LimitQuery(release=release.number)
    while page := store.limits(query, after=after, limit=_PAGE):
        for row in page:
            total.add(row.limits_id, content_digest(row))
            yield row
        after = page[-1].limits_id
    if (total.records, total.digest) != (release.records, release.digest):
        raise StoreError(
            f"what release {release.number} holds is not what was published; run 'turnrule store check', and use "
            "nothing of this export"
        )
