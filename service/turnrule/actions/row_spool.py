"""What was made of rows, put aside in a passing file until the whole of their file has passed."""

from __future__ import annotations

import pickle
import tempfile
from collections.abc import Iterator
from typing import Generic, TypeVar

Item = TypeVar("Item")


class Spool(Generic[Item]):
    """Items in the order in which they were put aside: in a file without a name, which nobody else can open.

    Memory does not grow with their number.
    """

    def __init__(self) -> None:
        self._file = tempfile.TemporaryFile()  # noqa: SIM115 - closed by close()
        self.count = 0

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()

    def add(self, item: Item) -> None:
        """Put one more aside."""
        pickle.dump(item, self._file, pickle.HIGHEST_PROTOCOL)
        self.count += 1

    def __iter__(self) -> Iterator[Item]:
        self._file.seek(0)
        for _ in range(self.count):
            item: Item = pickle.load(self._file)  # noqa: S301 - written by `add` to a file without a name
            yield item
