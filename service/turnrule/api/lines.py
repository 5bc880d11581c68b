"""Answers that are streams of JSON documents, one a line: sent in chunks, and plainly broken where they break."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from turnrule.actions.numbers import write_exact

logger = logging.getLogger("turnrule.api")

NDJSON = "application/x-ndjson"
_CHUNK = 16 * 1024


@dataclass(frozen=True, slots=True)
class Line:
    """One document of a stream.

    What is `at_once` goes out with all before it. What only tells `how_far` a stream is, is left out where something
    else goes out in its place.
    """

    document: object
    at_once: bool = False
    how_far: bool = False


def as_stream(lines: Iterable[Line], request_id: str) -> Iterator[bytes]:
    """The lines in chunks.

    Whatever breaks them is logged and handed on: the server then lets go of the connection, and no line says that it
    is done.
    """
    chunk: list[bytes] = []
    held = 0
    try:
        for line in lines:
            if not line.how_far or not chunk:
                chunk.append(write_exact(line.document) + b"\n")
                held += len(chunk[-1])
            if held >= _CHUNK or line.at_once or line.how_far:
                yield b"".join(chunk)
                chunk, held = [], 0
    except Exception:
        logger.exception("stream_broken", extra={"request_id": request_id})
        raise
