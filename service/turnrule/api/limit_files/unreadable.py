"""A file of which, from some row on, nothing can be read."""

from __future__ import annotations

from turnrule.actions.file_rows import RowFault


class UnreadableError(Exception):
    """From here on nothing can be read; `fault` says why."""

    code = "unreadable_file"

    def __init__(self, fault: RowFault) -> None:
        self.fault = fault
        super().__init__(fault.remedy)


def unreadable(row: int, code: str, remedy: str) -> UnreadableError:
    """The error, at a row of the file; 0 for the file as a whole."""
    return UnreadableError(RowFault(row, "", "", code, remedy))
