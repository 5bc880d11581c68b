"""The figures of practice that the engine holds parts against are in the catalogue, as lengths."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.judging.checks import FINISH_FIGURE
from turnrule.pack.model import Pack


def faults(pack: Pack) -> Iterator[str]:
    """A missing figure, or one that is no length."""
    figure = pack.catalogue.practice.get(FINISH_FIGURE)
    if figure is None:
        yield f"practice.json: {FINISH_FIGURE!r} is needed for finished parts; add it"
    elif figure.unit != "mm":
        yield f"practice.json: {FINISH_FIGURE!r} must be given in um or mm, not {figure.unit}"
