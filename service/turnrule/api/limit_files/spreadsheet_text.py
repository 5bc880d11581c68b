"""Text that no spreadsheet program takes for a formula, and the way back to the text as it was.

A program that opens a CSV file may run what begins with `= + - @` or a control character, in whichever of its
languages, also behind spaces; and one that expects semicolons begins a new cell behind each of them, quotes or not.
So an apostrophe is put before every such character that could begin a cell, and before an apostrophe that stands
there itself, which makes the change reversible (OWASP, CSV Injection).
"""

from __future__ import annotations

import re

_STARTS = "=+\\-@\t\r\n\uff1d\uff0b\uff0d\uff20"
_SPACES = "[ \u00a0]*"
_UNSAFE = re.compile(f"((?:^|[;\r\n]){_SPACES})(?=[{_STARTS}'])")
_RISKY = re.compile(f"((?:^|[;\r\n]){_SPACES})(?=[{_STARTS}])")
_MADE_SAFE = re.compile(f"((?:^|[;\r\n]){_SPACES})'(?=[{_STARTS}'])")


def safe_text(text: str) -> str:
    """The text with an apostrophe before each character that could begin a formula."""
    return _UNSAFE.sub(r"\1'", text)


def shown_safely(text: str) -> str:
    """The same for text that nobody reads back: an apostrophe that stands there itself is left as it is."""
    return _RISKY.sub(r"\1'", text)


def as_it_was(cell: str) -> str:
    """The text that `safe_text` was given; a cell that was written by hand stays as it is."""
    return _MADE_SAFE.sub(r"\1", cell) if "'" in cell else cell
