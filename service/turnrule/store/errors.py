"""What a store refuses, each with its stable code; a store that raised one of these has written nothing."""

from __future__ import annotations


class StoreError(Exception):
    """The store could not do what was asked; nothing was written."""

    code = "store_error"


class StoreUnavailableError(StoreError):
    """The store cannot be reached, is full, is locked for too long, or refuses to write."""

    code = "store_unavailable"


class StoreNotMigratedError(StoreError):
    """The store has no schema, an older one, or one from a newer version."""

    code = "store_not_migrated"


class NameTakenError(StoreError):
    """A name that must be unique is in use."""

    code = "name_taken"


class IdempotencyConflictError(StoreError):
    """The idempotency key was used before, with another body."""

    code = "idempotency_conflict"


class StaleRevisionError(StoreError):
    """A correction names another revision than the newest one, or a record that the store does not hold."""

    code = "stale_revision"


class DraftOpenError(StoreError):
    """A draft of this record waits for its second entry already."""

    code = "draft_open"


class OverlapError(StoreError):
    """Another live record, draft or published, is for some of the same vehicles, axle, kind and days."""

    code = "overlap"

    def __init__(self, limits_id: str) -> None:
        """`limits_id` is the other record."""
        self.limits_id = limits_id
        super().__init__(f"the record {limits_id} is for some of the same vehicles")


class NotOpenError(StoreError):
    """There is no draft of this record that could be verified or rejected, or nothing that could be withdrawn."""

    code = "not_open"


class IndependenceError(StoreError):
    """The two entries of a record would not be those of two people, or not far enough apart for one person."""

    code = "not_independent"


class NothingToPublishError(StoreError):
    """Nothing has been verified or withdrawn since the newest release."""

    code = "nothing_to_publish"


class ReleaseRaceError(StoreError):
    """Another release was published than the one that this one was to follow."""

    code = "release_race"


class RulesError(StoreError):
    """The rules of a store would be loosened, or one that is set when the store is made would change."""

    code = "rules_loosened"
