"""What a verdict costs over an empty endpoint: `python -m tests.bench.requests`.

All in one run and one process, as the server calls the application, without network and server: the rows can be
compared with each other, and the ratio with that of another machine. Verdicts are stored as they always are.
"""

from __future__ import annotations

import argparse
import io
import sys
import tempfile
from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal
from pathlib import Path
from random import Random
from typing import Any
from urllib.parse import urlencode
from wsgiref.util import setup_testing_defaults

from flask import Flask, Response

from tests.bench import fleet
from tests.bench.filling import new_desk, publish, revision_of
from tests.bench.measuring import Spread, show, timed
from turnrule.actions.keys import create_key
from turnrule.actions.numbers import write_exact
from turnrule.api.application import build_api

RECORDS = 1000
Sending = Callable[[], object]


def empty_endpoint() -> Flask:
    """An application that answers one address with two bytes and does nothing."""
    app = Flask("empty")

    @app.post("/")
    def answer() -> Response:
        return Response(b"{}", mimetype="application/json")

    return app


def sending(app: Flask, method: str, path: str, body: bytes = b"", secret: str = "", wanted: int = 200) -> Sending:
    """A call that sends this request and reads the whole answer. Raises where the status is another one."""
    address, _, query = path.partition("?")

    def send() -> bytes:
        environ: dict[str, Any] = {}
        setup_testing_defaults(environ)
        environ |= {"REQUEST_METHOD": method, "PATH_INFO": address, "QUERY_STRING": query}
        environ |= {"wsgi.input": io.BytesIO(body), "CONTENT_LENGTH": str(len(body))}
        environ |= {"CONTENT_TYPE": "application/json", "HTTP_AUTHORIZATION": f"Bearer {secret}"}
        told: list[str] = []

        def start(status: str, _headers: object, _error: object = None, /) -> Callable[[bytes], object]:
            told.append(status)
            return lambda written: written

        content = b"".join(app(environ, start))
        if not told[0].startswith(str(wanted)):
            raise RuntimeError(f"{method} {path}: {told[0]}: {content[:500]!r}")
        return content

    return send


def requests(count: int, **changes: object) -> Iterable[bytes]:
    """Requests about parts of the fleet; a change that is None takes a field out."""
    chance = Random(7)
    for _ in range(count):
        number = chance.randrange(0, RECORDS, fleet.RECORDS_PER_VEHICLE)  # a rotor in front
        whole = {**fleet.request_body(number, chance), **changes}
        yield write_exact({name: value for name, value in whole.items() if value is not None})


def main(arguments: Sequence[str] | None = None) -> int:
    """Measure each kind of request and print it over the empty endpoint."""
    parser = argparse.ArgumentParser(description="Measure requests against an empty endpoint.")
    parser.add_argument("--requests", type=int, default=3000)
    chosen = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        desk = new_desk(Path(folder) / "store.sqlite")
        publish(desk, (revision_of(number) for number in range(RECORDS)))
        secret = create_key(desk, "bench-counter", ["verdicts"]).secret
        app, empty = build_api(desk), empty_endpoint()
        rows = [
            (name, measured(calls, chosen.requests))
            for name, calls in kinds(app, empty, secret, chosen.requests).items()
        ]
        desk.store.close()
    base = rows[0][1].median
    show(
        f"{chosen.requests:,} requests of each kind, microseconds",
        ("request", "median", "p99", "longest", "of empty"),
        [(name, one.median, one.p99, one.longest, f"{one.median / base:.1f}") for name, one in rows],
    )
    return 0


def measured(calls: Iterable[Sending], count: int) -> Spread:
    """How long the calls take, once a tenth as many have warmed things up."""
    ready = list(calls)
    for call in ready[: max(1, count // 10)]:
        call()
    return timed(ready)


def kinds(app: Flask, empty: Flask, secret: str, count: int) -> dict[str, Iterable[Sending]]:
    """The kinds of request, the empty one first."""

    def posted(bodies: Iterable[bytes], wanted: int = 201) -> list[Sending]:
        return [sending(app, "POST", "/v1/verdicts", body, secret, wanted) for body in bodies]

    def looked_up(**filters: object) -> list[Sending]:
        return [sending(app, "GET", f"/v1/limits?{urlencode(filters)}", secret=secret)] * count

    held = fleet.application(0)
    return {
        "POST to an empty endpoint": [sending(empty, "POST", "/", body) for body in requests(count)],
        "POST /v1/verdicts, limits looked up": posted(requests(count)),
        "POST /v1/verdicts, by the marking alone": posted(requests(count, application=None, marking=Decimal(22))),
        "POST /v1/verdicts, not in the store": posted(
            requests(count, application={**held, "make": "Unheard of"}), wanted=422
        ),
        "GET /v1/limits, found": looked_up(**held, kind="rotor"),
        "GET /v1/limits, not found": looked_up(**{**held, "make": "Unheard of"}, kind="rotor"),
    }


if __name__ == "__main__":
    sys.exit(main())
