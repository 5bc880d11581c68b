"""A stage of long work, shown as a bar from when it begins."""

from __future__ import annotations

import contextlib
from types import TracebackType
from typing import Self

from turnrule.actions.release_packs import Progress
from turnrule.cli.release_packing import watched


class Stage:
    """Shows a bar on standard error, where that is a terminal, from the first call on."""

    def __init__(self, label: str) -> None:
        self._label = label
        self._stack = contextlib.ExitStack()
        self._progress: Progress | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stack.__exit__(kind, error, trace)

    def __call__(self, done: int, of: int) -> None:
        """So much of so much is done."""
        if self._progress is None:
            self._progress = self._stack.enter_context(watched(self._label))
        self._progress(done, of)
