"""The faults of a file as a CSV file of their own, written as they are found; no cell of it can begin a formula."""

from __future__ import annotations

import re
from typing import BinaryIO

from turnrule.actions.file_rows import RowFault
from turnrule.api.limit_files.export import BOM, csv_line
from turnrule.api.limit_files.spreadsheet_text import shown_safely

COLUMNS = ("row", "column", "value", "code", "remedy", "level", "file")
_UNSEEN = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff\ufeff]")
"""What a terminal or a spreadsheet obeys, and does not show."""


def shown(text: str) -> str:
    """Text in which what cannot be seen is written out as an escape of its number."""
    return _UNSEEN.sub(lambda found: found[0].encode("unicode_escape").decode(), text)


class FaultsCsv:
    """Writes each fault that it is told; `level` is `refused` or, where a reason is enough, `warning`."""

    def __init__(self, out: BinaryIO) -> None:
        self._out = out
        out.write(BOM + csv_line(COLUMNS))

    def __call__(self, fault: RowFault) -> None:
        """Write one fault."""
        level = "warning" if fault.is_warning else "refused"
        cells = (fault.column, fault.value, fault.code, fault.remedy, level, fault.file)
        self._out.write(csv_line([fault.row, *map(shown, cells)], shown_safely))
