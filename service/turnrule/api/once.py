"""What is sent to be stored: its body, and the idempotency key under which it is done once and answered alike."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from flask import Response, request

from turnrule.actions.refusals import RefusedError
from turnrule.api import queries
from turnrule.api.answering import JSON
from turnrule.api.bodies import idempotency_key, json_body
from turnrule.api.keeping_out import caller, desk
from turnrule.api.problems import MEDIA_TYPE
from turnrule.store.limit_records import KeptAnswer
from turnrule.store.reference_port import AnsweredBeforeError, Idempotency, Once

Outcome = TypeVar("Outcome")
_FIRST_ERROR = 400


@dataclass(frozen=True, slots=True)
class Posted:
    """A request that is to store something: its bytes, and its idempotency key within the API key if it has one."""

    body: bytes
    idempotency: Idempotency | None


def posted() -> Posted:
    """What this request sends. Raises the problems of parameters, headers and bodies."""
    queries.read_query(queries.NONE)
    body, value = json_body(), idempotency_key()
    if value is None:
        return Posted(body, None)
    told = f"{request.method} {request.path}\n".encode() + body
    return Posted(body, Idempotency(caller().name, value, hashlib.sha256(told).hexdigest()))


def done_once(
    sent: Posted, do: Callable[[Once[Outcome] | None], Outcome], answer: Callable[[Outcome], KeptAnswer]
) -> Response:
    """The answer to what `do` stores; where the idempotency key came before, the first answer again, to the byte.

    `do` hands what it gets to the store, which keeps the answer in the transaction that stores the rest.
    """
    if sent.idempotency is None:
        return _sent(answer(do(None)))
    store = desk().store
    kept = store.answered(sent.idempotency)
    if kept is not None:
        return _sent(kept, replayed=True)
    try:
        return _sent(answer(do(Once(sent.idempotency, answer))))
    except AnsweredBeforeError as error:
        return _sent(error.kept, replayed=True)
    except RefusedError:
        # The same request, sent twice, may have been done in between; what it did is then what refuses this one.
        kept = store.answered(sent.idempotency)
        if kept is None:
            raise
        return _sent(kept, replayed=True)


def _sent(kept: KeptAnswer, *, replayed: bool = False) -> Response:
    response = Response(kept.content, status=kept.status, mimetype=MEDIA_TYPE if kept.status >= _FIRST_ERROR else JSON)
    if kept.location is not None:
        response.headers["Location"] = kept.location
    if replayed:
        response.headers["Idempotency-Replayed"] = "true"
    return response
