"""Batches of verdicts: read and answered one after another, in one form or another; nothing grows with their number.

Unless the caller asks for each answer at once, the body is taken in whole first, into a file of its own: whoever
sends a body to its end before reading would otherwise wait for a server that waits for its answers to be read.
"""

from __future__ import annotations

import contextlib
import itertools
import re
import tempfile
from collections.abc import Iterable, Iterator
from enum import StrEnum
from typing import BinaryIO, cast

from flask import Blueprint, Response, current_app, g, request
from marshmallow import fields

from turnrule.actions.batching import (
    GROUP,
    Batch,
    BatchRefusedError,
    Item,
    Outcome,
    judge_batch,
    judge_together,
)
from turnrule.api.batch_answers import Place, Written, csv_table, json_array, ndjson
from turnrule.api.batch_reading import elements, lines, rows
from turnrule.api.bodies import idempotency_key
from turnrule.api.errors import log_store_error, told
from turnrule.api.faults import MOST_FAULTS, TooLargeError
from turnrule.api.fields import Choice
from turnrule.api.json_reading import read_json
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.metrics import Metrics
from turnrule.api.problems import ProblemError
from turnrule.api.queries import read_query
from turnrule.api.shapes import Shape
from turnrule.api.whole_reading import read_wholly
from turnrule.judging.faults import Fault
from turnrule.store.port import StoreError

blueprint = Blueprint("batches", __name__)

JSON, NDJSON, CSV = "application/json", "application/x-ndjson", "text/csv"
LARGEST_BATCH = 1024**3
"""Bytes of a batch; they stand on disk while it is answered."""

_CHUNK = 64 * 1024
_TYPE = re.compile(r'([a-z]+/[a-z-]+)(?:[ \t]*;[ \t]*(?:charset="?utf-8"?|header=present))*[ \t]*', re.IGNORECASE)


_READ = {JSON: elements, NDJSON: lines, CSV: rows}
_WRITE: dict[str, Written] = {JSON: json_array, NDJSON: ndjson, CSV: csv_table}
_SENT_AS = {JSON: JSON, NDJSON: NDJSON, CSV: "text/csv; charset=utf-8; header=present"}


class Answers(StrEnum):
    """When answers are sent."""

    AFTER = "after"
    AT_ONCE = "at_once"


class BatchQuery(Shape):
    """How a batch is kept and answered."""

    atomic: fields.Field[str] = Choice(
        ("true", "false"),
        load_default="false",
        metadata={
            "description": "`true`: the verdicts of all items are recorded in one transaction, or none is and the "
            "problem names the items that stand in the way; at most 10,000 items."
        },
    )
    answers: fields.Field[str] = Choice(
        Answers,
        load_default=Answers.AFTER,
        metadata={
            "description": "`after`: the answers begin when the whole batch has come. `at_once`: they begin while it "
            "still comes, each once its item is judged and recorded, for callers that read while they send; the last "
            "KiB of what has come may have to wait for more."
        },
    )


BATCH = BatchQuery()


@blueprint.post("/v1/verdict-batches")
@needs_key("verdicts")
def judge_many() -> Response:
    """Judge a batch, item by item, and answer in the same order."""
    query = read_query(BATCH)
    given = _media_type()
    wanted = _wanted(given)
    batch = Batch(caller(), idempotency_key())
    at_once = query.get("answers") == Answers.AT_ONCE
    request.max_content_length = LARGEST_BATCH + 1
    with contextlib.ExitStack() as files:
        file = cast("BinaryIO", request.stream) if at_once else _whole(files)
        items = _items(given, file)
        if query.get("atomic") == "true":
            outcomes = _together(files, batch, items)
        else:
            outcomes = judge_batch(desk(), batch, items, 1 if at_once else GROUP)
        place = Place(request.path, g.request_id)
        watched = _watched(outcomes, place)
        # What is wrong with the frame as a whole shows at the first item, while a problem can still answer it.
        begun = itertools.chain(list(itertools.islice(watched, 1)), watched)
        written = _WRITE[wanted](begun, place)
        sent = _until_sent(written if at_once else _in_chunks(written), files.pop_all())
        return Response(sent, content_type=_SENT_AS[wanted])


def _until_sent(stream: Iterable[bytes], files: contextlib.ExitStack) -> Iterator[bytes]:
    """The same, its files closed at the end, or where the caller went away."""
    with files:
        yield from stream


def _media_type() -> str:
    encoding = request.headers.get("Content-Encoding", "identity").strip().lower()
    if encoding not in {"", "identity"}:
        detail = f"Content-Encoding {encoding!r} is not read; send the body as it is"
        raise ProblemError("unsupported_media_type", detail)
    found = _TYPE.fullmatch(request.headers.get("Content-Type", "").strip())
    if found is None or found[1].lower() not in _READ:
        detail = f"Content-Type must be {JSON} (an array), {NDJSON} or {CSV}, in UTF-8"
        raise ProblemError("unsupported_media_type", detail)
    return found[1].lower()


def _wanted(given: str) -> str:
    """The type of the answer: the one that is asked for, or the batch's own."""
    if "Accept" not in request.headers:
        return given
    order = [given, *(name for name in _WRITE if name != given)]
    found = request.accept_mimetypes.best_match(order)
    if found is None:
        raise ProblemError("not_acceptable", f"a batch is answered as {JSON}, {NDJSON} or {CSV}")
    return found


def _items(given: str, file: BinaryIO) -> Iterator[Item]:
    at = desk()
    return _READ[given](file, lambda body: read_wholly(at, read_json(body)))


def _own_file(files: contextlib.ExitStack) -> BinaryIO:
    """A file without a name that goes when `files` are closed."""
    file = tempfile.TemporaryFile(prefix="turnrule-batch-")  # noqa: SIM115 - closed with the others
    return cast("BinaryIO", files.enter_context(file))


def _whole(files: contextlib.ExitStack) -> BinaryIO:
    """The whole body in a file of its own, which goes when `files` are closed."""
    file = _own_file(files)
    taken = 0
    while chunk := _chunk():
        taken += len(chunk)
        if taken > LARGEST_BATCH:
            raise TooLargeError(f"the batch is longer than {LARGEST_BATCH} bytes; send it in parts")
        file.write(chunk)
    if request.content_length not in {None, taken}:
        raise ProblemError("bad_request", f"the body ends after {taken} bytes, before its Content-Length")
    file.seek(0)
    return file


def _chunk() -> bytes:
    try:
        return request.stream.read(_CHUNK)
    except Exception:  # noqa: BLE001 - a stream that breaks, or chunks that are none, raise whatever the server has
        raise ProblemError("bad_request", "the body broke off or was not sent as its headers say") from None


def _together(files: contextlib.ExitStack, batch: Batch, items: Iterable[Item]) -> Iterator[Outcome]:
    spool = _own_file(files)
    try:
        return judge_together(desk(), batch, items, spool, MOST_FAULTS)
    except BatchRefusedError as error:
        raise ProblemError("batch_refused", str(error), list(itertools.islice(_named(error), MOST_FAULTS))) from None


def _named(error: BatchRefusedError) -> Iterator[Fault]:
    """The faults of items, each pointer beginning with the place of its item."""
    for place, refused in error.refused:
        code, detail, faults = told(refused)
        for fault in faults or [Fault("", code, detail)]:
            yield Fault(f"/{place}{fault.pointer}", fault.code, fault.detail)


def _watched(outcomes: Iterable[Outcome], place: Place) -> Iterator[Outcome]:
    """The outcomes, counted; what the store said goes to the log."""
    metrics: Metrics = current_app.extensions["turnrule.metrics"]

    def watch() -> Iterator[Outcome]:
        for outcome in outcomes:
            if isinstance(outcome.error, StoreError):
                log_store_error(outcome.error, place.request_id)
            if outcome.record is not None and not outcome.replayed:
                metrics.count_verdict(outcome.record.ruling)
            yield outcome

    return watch()


def _in_chunks(stream: Iterable[bytes]) -> Iterator[bytes]:
    """The same bytes in fewer pieces."""
    held: list[bytes] = []
    size = 0
    for piece in stream:
        held.append(piece)
        size += len(piece)
        if size >= _CHUNK:
            yield b"".join(held)
            held, size = [], 0
    if held:
        yield b"".join(held)
