"""Who may come in: the key behind an Authorization header, its scopes, and how often it may ask."""

from __future__ import annotations

import functools
import math
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import ParamSpec

from flask import Response, current_app, g, request

from turnrule.actions.desk import Desk
from turnrule.actions.keys import allows, key_for
from turnrule.api.problems import ProblemError
from turnrule.store.port import Key

Parameters = ParamSpec("Parameters")
View = Callable[Parameters, Response]

NEEDED_SCOPES = "needed_scopes"
"""The attribute by which a view tells which scopes open it; the contract is written from it."""


def desk() -> Desk:
    """The desk that this application works with, as the caller of this request stands at it."""
    held: Desk = current_app.extensions["turnrule.desk"]
    key: Key | None = g.get("key")
    return held if key is None else held.of(key.site)


def caller() -> Key:
    """The key of this request; only within a view that needs one."""
    key: Key = g.key
    return key


def needs_key(*scopes: str) -> Callable[[View[Parameters]], View[Parameters]]:
    """A view that only a working key opens, with any one of these scopes; checked before anything is read."""

    def wrap(view: View[Parameters]) -> View[Parameters]:
        @functools.wraps(view)
        def guarded(*args: Parameters.args, **kwargs: Parameters.kwargs) -> Response:
            g.key = _key_of_request()
            if not allows(g.key, *scopes):
                wanted = " or ".join(scopes)
                raise ProblemError("forbidden", f"the key {g.key.name!r} lacks the scope {wanted}")
            _limiter().take(g.key.name)
            return view(*args, **kwargs)

        setattr(guarded, NEEDED_SCOPES, scopes)
        return guarded

    return wrap


def _key_of_request() -> Key:
    scheme, _, secret = request.headers.get("Authorization", "").partition(" ")
    key = key_for(desk(), secret.strip()) if scheme.lower() == "bearer" else None
    if key is None:
        given = "Authorization" in request.headers
        detail = "this key does not work" if given else "this address is for callers with a key"
        challenge = 'Bearer realm="turnrule", error="invalid_token"' if given else 'Bearer realm="turnrule"'
        raise ProblemError("unauthorized", detail, headers={"WWW-Authenticate": challenge})
    return key


@dataclass(slots=True)
class _Bucket:
    tokens: float
    filled_at: float


class RateLimiter:
    """A token bucket for each key, in this process alone: n workers let n times as much through.

    Off where `per_minute` is None or 0. `clock` counts seconds and never goes back.
    """

    def __init__(self, per_minute: int | None, burst: int, clock: Callable[[], float] = time.monotonic) -> None:
        self.per_second = per_minute / 60 if per_minute else None
        self.burst = burst
        self.clock = clock
        self._buckets: dict[str, _Bucket] = {}
        self._lock = threading.Lock()

    def take(self, key_name: str) -> None:
        """Let one request through, or raise the problem 429 with the seconds until the next."""
        if self.per_second is None:
            return
        with self._lock:
            now = self.clock()
            bucket = self._buckets.setdefault(key_name, _Bucket(self.burst, now))
            bucket.tokens = min(self.burst, bucket.tokens + (now - bucket.filled_at) * self.per_second)
            bucket.filled_at = now
            if bucket.tokens >= 1:
                bucket.tokens -= 1
                return
            wait = math.ceil((1 - bucket.tokens) / self.per_second)
        raise ProblemError(
            "too_many_requests", f"the next request is taken in {wait} s", headers={"Retry-After": str(wait)}
        )


def _limiter() -> RateLimiter:
    limiter: RateLimiter = current_app.extensions["turnrule.limiter"]
    return limiter
