"""What a release pack is refused for: something in it is not as it was written, or nobody vouches for it."""

from __future__ import annotations

from turnrule.pack import PackError


class PackDamagedError(PackError):
    """A file of a release pack, or a row of one, is not as it was written; the message names it."""

    code = "pack_damaged"

    def __init__(self, file: str, row: int | None, detail: str) -> None:
        """`row` counts the lines of the file from 1; None where no one row can be named."""
        super().__init__(file if row is None else f"{file}, row {row}", detail)
        self.file = file
        self.row = row


class SignatureError(PackError):
    """A release pack lacks a signature that the store asks for, or its signature does not fit."""

    code = "signature_needed"


class RowError(Exception):
    """What stands in one row or document cannot be taken; the reader of the file adds where it stands."""


class KeyFileError(PackError):
    """A file does not hold an Ed25519 key that a pack could be signed with."""

    code = "invalid_key_file"
