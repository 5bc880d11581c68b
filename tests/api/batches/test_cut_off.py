"""Batches that break off in the middle: what was answered is stored, and what is stored is whole."""

from __future__ import annotations

import contextlib
import http.client
import itertools
import json
import os
import signal
import socket
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.api.bodies import DRUM_LIMITS, EXAMPLE, EXAMPLE_LIMITS
from tests.api.conftest import publish
from tests.api.serving import PATIENCE, connected, serving, started
from turnrule.actions.desk import Desk, new_id, utc_now
from turnrule.actions.keys import create_key
from turnrule.pack import Pack
from turnrule.store.port import Store, VerdictQuery
from turnrule.store.sqlite import open_sqlite

LINE = " ".join(EXAMPLE.split()).encode() + b"\n"
MANY = 4000


@pytest.fixture
def database(tmp_path: Path) -> Path:
    """Where the store is."""
    return tmp_path / "store.sqlite"


@pytest.fixture
def secret(database: Path, pack: Pack) -> str:
    """The key of somebody who asks for verdicts, on a store with release 1."""
    store = open_sqlite(database)
    store.migrate()
    desk = Desk(store, pack, utc_now, new_id)
    publish(desk, EXAMPLE_LIMITS, DRUM_LIMITS)
    made = create_key(desk, "shop", ["verdicts"], None).secret
    store.close()
    return made


@contextlib.contextmanager
def stored(database: Path) -> Iterator[Store]:
    """The store, opened anew."""
    store = open_sqlite(database)
    yield store
    store.close()


def _send(connection: http.client.HTTPConnection, secret: str, query: str, *, key: str = "evening") -> None:
    headers = {
        "Authorization": f"Bearer {secret}",
        "Content-Type": "application/x-ndjson",
        "Transfer-Encoding": "chunked",
        "Idempotency-Key": key,
    }
    body = itertools.repeat(LINE, MANY)
    connection.request("POST", f"/v1/verdict-batches{query}", body, headers, encode_chunked=True)


def _answers(response: http.client.HTTPResponse, most: int) -> list[dict[str, Any]]:
    """The answers that came whole, up to so many."""
    answers: list[dict[str, Any]] = []
    with contextlib.suppress(http.client.IncompleteRead, ConnectionError):
        while len(answers) < most and (line := response.readline()).endswith(b"\n"):
            answers.append(json.loads(line))
    return answers


def _all_whole(database: Path, answers: list[dict[str, Any]]) -> int:
    """See that every answered verdict is stored as it was answered, and that the store is sound; how many it holds."""
    with stored(database) as store:
        assert store.check() == []
        for answer in answers:
            record = store.verdict(answer["verdict"]["id"])
            assert record is not None
            assert json.loads(record.answer) == answer["verdict"]
        records = store.verdicts(VerdictQuery(), limit=10 * MANY)
        assert {record.request for record in records} <= {LINE.strip()}
        return len(records)


def test_a_client_that_goes_away_loses_nothing_that_it_was_told(database: Path, secret: str) -> None:
    with serving(database) as port:
        with connected(port) as connection:
            _send(connection, secret, "")
            answers = _answers(connection.getresponse(), 300)
        assert len(answers) == 300
        kept = _settled(database)
        assert 300 <= kept < MANY
        assert _all_whole(database, answers) == kept
        with connected(port) as connection:
            _send(connection, secret, "")
            again = _answers(connection.getresponse(), MANY)
        assert [answer["replayed"] for answer in again] == [True] * kept + [False] * (MANY - kept)
        assert [answer["verdict"]["id"] for answer in again[:300]] == [answer["verdict"]["id"] for answer in answers]
    assert _all_whole(database, again) == MANY


def _settled(database: Path) -> int:
    """How many verdicts are stored once none is added any more."""
    before = -1
    with stored(database) as store:
        for _ in range(int(PATIENCE * 4)):
            now = store.count_verdicts(VerdictQuery())
            if now == before:
                return now
            before = now
            time.sleep(0.25)
    raise AssertionError(f"verdicts are still added: {before}")


def test_a_server_that_is_killed_has_stored_what_it_answered(database: Path, secret: str) -> None:
    process, port = started(database)
    with connected(port) as connection:
        _send(connection, secret, "")
        response = connection.getresponse()
        answers = _answers(response, 200)
        os.killpg(process.pid, signal.SIGKILL)
        process.wait(timeout=PATIENCE)
        answers += _answers(response, MANY)
    assert 200 <= len(answers) < MANY
    kept = _all_whole(database, answers)
    assert len(answers) <= kept < MANY
    with serving(database) as port, connected(port) as connection:
        _send(connection, secret, "")
        again = _answers(connection.getresponse(), MANY)
    assert [answer["status"] for answer in again] == [201] * MANY
    assert [answer["verdict"]["id"] for answer in again[: len(answers)]] == [one["verdict"]["id"] for one in answers]
    assert _all_whole(database, again) == MANY


def test_an_atomic_batch_whose_server_is_killed_is_stored_whole_or_not_at_all(database: Path, secret: str) -> None:
    process, port = started(database)
    with connected(port) as connection:
        _send(connection, secret, "?atomic=true")
        time.sleep(1.0)
        os.killpg(process.pid, signal.SIGKILL)
        process.wait(timeout=PATIENCE)
    assert _all_whole(database, []) in {0, MANY}


def test_a_body_that_breaks_off_keeps_nothing_and_is_not_answered_as_done(database: Path, secret: str) -> None:
    head = (
        f"POST /v1/verdict-batches HTTP/1.1\r\nHost: here\r\nAuthorization: Bearer {secret}\r\n"
        "Content-Type: application/x-ndjson\r\nContent-Length: 1000000\r\n\r\n"
    ).encode()
    with serving(database) as port:
        with socket.create_connection(("127.0.0.1", port), timeout=PATIENCE) as sock:
            sock.sendall(head + LINE * 5)
            sock.shutdown(socket.SHUT_WR)
            answer = sock.makefile("rb").read()
        assert not answer.startswith(b"HTTP/1.1 200")
        assert _all_whole(database, []) == 0


def test_who_reads_while_sending_has_answers_while_the_batch_still_comes(database: Path, secret: str) -> None:
    """Each line is followed by as much space as the server holds back of a body that has not ended."""
    line = LINE.rstrip() + b" " * 1024 + b"\n"
    head = (
        f"POST /v1/verdict-batches?answers=at_once HTTP/1.1\r\nHost: here\r\nAuthorization: Bearer {secret}\r\n"
        "Content-Type: application/x-ndjson\r\nTransfer-Encoding: chunked\r\n\r\n"
    ).encode()
    answers = []
    with serving(database) as port, socket.create_connection(("127.0.0.1", port), timeout=PATIENCE) as sock:
        sock.sendall(head)
        with contextlib.closing(http.client.HTTPResponse(sock, method="POST")) as response:
            for place in range(4):
                # A further line takes the last one out of what is held back; it is answered in its own turn.
                for _ in range(1 if place else 2):
                    sock.sendall(b"%x\r\n%b\r\n" % (len(line), line))
                if place == 0:
                    response.begin()
                answers.append(json.loads(response.readline()))
            sock.sendall(b"0\r\n\r\n")
            answers.append(json.loads(response.readline()))
            assert response.readline() == b""
    assert [answer["index"] for answer in answers] == [0, 1, 2, 3, 4]
    assert _all_whole(database, answers) == 5
