"""Hostile requests below the body: lines, headers, addresses, lengths, and connections that break off."""

from __future__ import annotations

import json
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.api.bodies import EXAMPLE
from tests.api.demo_service import demo_service
from tests.api.serving import serving
from turnrule.pack import load_pack

HOST = b"Host: turnrule.example\r\nConnection: close\r\n"
BODY = EXAMPLE.encode()


class Answer(NamedTuple):
    """What came back on a connection."""

    status: int
    headers: dict[str, str]
    content: bytes

    @property
    def type(self) -> str:
        """The code of a problem; it is seen to be one, whoever wrote it."""
        assert self.headers["content-type"] == "application/problem+json", self
        document = json.loads(self.content)
        assert document["status"] == self.status
        assert document["request_id"] == self.headers["x-request-id"]
        assert self.headers["x-content-type-options"] == "nosniff"
        code: str = document["type"].removeprefix("/problems/")
        return code


class Wire(NamedTuple):
    """A running service, spoken to byte by byte."""

    port: int
    secret: str

    def send(self, raw: bytes, *, end: bool = False) -> Answer:
        """Send these bytes, and perhaps say that there are no more, and read the answer."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=20) as line:
            line.sendall(raw)
            if end:
                line.shutdown(socket.SHUT_WR)
            received = b"".join(iter(lambda: line.recv(65_536), b""))
        head, _, content = received.partition(b"\r\n\r\n")
        first, *rest = head.decode("latin-1").split("\r\n")
        headers = {name.lower(): value.strip() for name, _, value in (line.partition(":") for line in rest)}
        return Answer(int(first.split(" ")[1]), headers, content)

    def get(self, path: str, extra: bytes = b"") -> Answer:
        """Read an address with a working key."""
        key = f"Authorization: Bearer {self.secret}\r\n".encode()
        return self.send(f"GET {path} HTTP/1.1\r\n".encode() + HOST + key + extra + b"\r\n")

    def post(self, headers: bytes, body: bytes, *, end: bool = False) -> Answer:
        """Send a body with a working key and these headers."""
        key = f"Authorization: Bearer {self.secret}\r\nContent-Type: application/json\r\n".encode()
        return self.send(b"POST /v1/verdicts HTTP/1.1\r\n" + HOST + key + headers + b"\r\n" + body, end=end)


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Wire]:
    """One process of the service over the demo's limits."""
    place: Path = tmp_path_factory.mktemp("wire")
    with demo_service(place, load_pack()) as service:
        secret = service.secret(("verdicts",))
    with serving(place / "demo.sqlite") as port:
        yield Wire(port, secret)


@pytest.fixture
def wire(running: Wire) -> Iterator[Wire]:
    """The service, which judges a part as before once a test is through with it."""
    yield running
    assert running.post(f"Content-Length: {len(BODY)}\r\n".encode(), BODY).status == 201


def test_a_request_line_longer_than_4094_bytes_is_refused(wire: Wire) -> None:
    answer = wire.get(f"/v1/limits?make={'a' * 5000}")
    assert (answer.status, answer.type) == (414, "address_too_long")


def test_an_address_longer_than_4000_characters_is_refused(wire: Wire) -> None:
    answer = wire.get(f"/v1/limits?make={'a' * 4000}")
    assert (answer.status, answer.type) == (414, "address_too_long")


def test_more_than_100_headers_are_refused(wire: Wire) -> None:
    answer = wire.get("/healthz", b"".join(b"X-%d: 1\r\n" % index for index in range(101)))
    assert (answer.status, answer.type) == (431, "headers_too_large")


def test_a_header_longer_than_8190_bytes_is_refused(wire: Wire) -> None:
    answer = wire.get("/healthz", b"X-Long: " + b"a" * 8200 + b"\r\n")
    assert (answer.status, answer.type) == (431, "headers_too_large")


@pytest.mark.parametrize(
    "raw",
    [
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n",
        b"GET /\r\n\r\n",
        b"get /healthz HTTP/1.1\r\n\r\n",
        b"GET /healthz HTTP/3.0\r\n\r\n",
        b"GET /healthz HTTP/1.1\r\nX-A : 1\r\n\r\n",
        b"GET /healthz HTTP/1.1\r\nX-A: a\x00b\r\n\r\n",
        b"GET /healthz HTTP/1.1\r\n folded: 1\r\n\r\n",
        b"\r\n\r\n\r\n\r\n",
    ],
    ids=["tls", "http-0.9", "small-letters", "http-3", "blank-in-name", "nul", "folded", "empty"],
)
def test_what_is_no_well_formed_request_is_refused(wire: Wire, raw: bytes) -> None:
    answer = wire.send(raw, end=True)
    assert (answer.status, answer.type) == (400, "bad_request")


@pytest.mark.parametrize(
    "headers",
    [
        b"Content-Length: -5\r\n",
        b"Content-Length: five\r\n",
        b"Content-Length: 5\r\nContent-Length: 6\r\n",
        b"Content-Length: 5\r\nTransfer-Encoding: chunked\r\n",
        b"Transfer-Encoding: identity\r\n",
    ],
)
def test_lengths_that_contradict_or_say_nothing_are_refused(wire: Wire, headers: bytes) -> None:
    answer = wire.post(headers, b"0\r\n\r\n")
    assert (answer.status, answer.type) == (400, "bad_request")


def test_a_body_that_was_packed_for_the_way_is_not_unpacked(wire: Wire) -> None:
    answer = wire.post(b"Transfer-Encoding: gzip, chunked\r\n", b"5\r\n\x1f\x8b\x08\x00\x00\r\n0\r\n\r\n")
    assert (answer.status, answer.type) == (400, "malformed_body")


def test_a_body_of_10_mb_is_refused_before_it_was_sent(wire: Wire) -> None:
    answer = wire.post(b"Content-Length: 10000000\r\n", b"{", end=False)
    assert (answer.status, answer.type) == (413, "body_too_large")


def test_a_body_that_breaks_off_is_not_judged_by_what_came_of_it(wire: Wire) -> None:
    answer = wire.post(b"Content-Length: 4000\r\n", BODY, end=True)
    assert (answer.status, answer.type) == (400, "bad_request")


@pytest.mark.parametrize(
    "chunks", [b"zz\r\nabc\r\n", b"5\r\nabcdefgh\r\n0\r\n\r\n", b"ffffffffffffffffff\r\na", b"5\r\nab"]
)
def test_chunks_that_are_none_are_refused(wire: Wire, chunks: bytes) -> None:
    answer = wire.post(b"Transfer-Encoding: chunked\r\n", chunks, end=True)
    assert (answer.status, answer.type) == (400, "bad_request")


def test_what_follows_256_kib_of_chunks_is_not_left_out_in_silence(wire: Wire) -> None:
    whole = BODY + b" " * (256 * 1024 - len(BODY))
    chunk = f"{len(whole):x}\r\n".encode() + whole + b"\r\n"
    assert wire.post(b"Transfer-Encoding: chunked\r\n", chunk + b"0\r\n\r\n").status == 201
    answer = wire.post(b"Transfer-Encoding: chunked\r\n", chunk + b"1\r\n}\r\n0\r\n\r\n")
    assert (answer.status, answer.type) == (413, "body_too_large")


@pytest.mark.parametrize(
    "header", [b"SCRIPT_NAME: /v1", b"PATH_INFO: /metrics", b"Script-Name: /x", b"X_Request_ID: a"]
)
def test_no_header_stands_in_for_the_address(wire: Wire, header: bytes) -> None:
    answer = wire.get("/healthz", header + b"\r\n")
    assert (answer.status, answer.content) == (200, b'{"status":"alive"}')


@pytest.mark.parametrize(
    "path",
    [
        "/../../etc/passwd",
        "/v1/verdicts/../limits",
        "/v1/verdicts/%2e%2e%2flimits",
        "/v1/verdicts/%00",
        "/v1/verdicts/%ff%fe",
        "/v1/verdicts/%F0%9F%94%A7",
        "/v1/limits/",
        "/v1//limits",
        "/v1/verdicts/' OR 1=1 --".replace(" ", "%20"),
        "/v1/limits/%3Cscript%3E",
        "/v1/releases/0",
        "/v1/releases/-1",
        "/v1/releases/1e3",
        "/v1/releases/99999999999999999999999999",
        "/v1/policies/%2a",
        "/problems/%0d%0aX-Injected:%201",
    ],
)
def test_an_address_that_leads_nowhere_is_not_found(wire: Wire, path: str) -> None:
    answer = wire.get(path)
    assert (answer.status, answer.type) == (404, "not_found")
    assert "x-injected" not in answer.headers


@pytest.mark.parametrize(
    ("query", "code"),
    [
        ("make=%ff", "not_utf8"),
        ("make=a%00b", "invalid_text"),
        ("make=a%E2%80%AEb", "invalid_text"),
        ("make=a&make=b", "doubled_parameter"),
        ("limit=1_0", "invalid_number"),
        ("limit=%D9%A1", "invalid_number"),
        ("limit=0", "out_of_range"),
        ("limit=201", "out_of_range"),
        ("limit=9" + "9" * 400, "invalid_number"),
        ("on=2026-02-30", "invalid_date"),
        ("after=WzFd", "invalid_cursor"),
        ("after=!", "invalid_text"),
        ("after=" + "W" * 1001, "too_long"),
        ("nothing=1", "unknown_field"),
        ("", None),
    ],
)
def test_a_parameter_that_cannot_be_meant_is_refused_by_name(wire: Wire, query: str, code: str | None) -> None:
    answer = wire.get(f"/v1/limits?{query}")
    if code is None:
        assert answer.status == 200
        return
    assert (answer.status, answer.type) == (400, "invalid_parameters")
    [fault] = json.loads(answer.content)["errors"]
    assert fault["code"] == code
    assert fault["parameter"] == query.partition("=")[0]


@pytest.mark.parametrize(
    "key", [b"", b"a b", b"\xc3\xa9", b"x" * 256, b"\x7f"], ids=["empty", "blank", "accent", "long", "control"]
)
def test_an_idempotency_key_that_is_none_is_refused(wire: Wire, key: bytes) -> None:
    answer = wire.post(b"Content-Length: %d\r\nIdempotency-Key: %s\r\n" % (len(BODY), key), BODY)
    assert answer.status == 400
    assert answer.type in {"invalid_header", "bad_request"}


@pytest.mark.parametrize(
    "header",
    [
        b"",
        b"Authorization: \r\n",
        b"Authorization: Bearer\r\n",
        b"Authorization: Bearer tr_%s\r\n" % (b"A" * 43),
        b"Authorization: Bearer %s\r\n" % (b"A" * 8000),
        b"Authorization: Basic dXNlcjpwYXNz\r\n",
        b"Authorization: Bearer \xff\xfe\r\n",
        b"Authorization: Bearer tr_' OR '1'='1\r\n",
    ],
)
def test_what_is_no_key_opens_nothing(wire: Wire, header: bytes) -> None:
    answer = wire.send(b"GET /v1/limits HTTP/1.1\r\n" + HOST + header + b"\r\n")
    assert (answer.status, answer.type) == (401, "unauthorized")
    assert answer.headers["www-authenticate"].startswith("Bearer ")


@pytest.mark.parametrize("given", [b"a\tb", b"<script>", b"x" * 65, b"\xff", b"a b", b""])
def test_a_request_id_that_could_not_be_logged_is_replaced(wire: Wire, given: bytes) -> None:
    answer = wire.get("/healthz", b"X-Request-ID: " + given + b"\r\n")
    assert answer.status == 200
    assert len(answer.headers["x-request-id"]) == 32
    assert answer.headers["x-request-id"].encode() != given


@pytest.mark.parametrize("method", ["BREW", "TRACE", "CONNECT", "OPTIONS", "PATCH", "DELETE", "PUT"])
def test_a_method_that_is_not_for_the_address_is_refused_with_those_that_are(wire: Wire, method: str) -> None:
    answer = wire.send(f"{method} /v1/limits HTTP/1.1\r\n".encode() + HOST + b"\r\n")
    assert (answer.status, answer.type) == (405, "method_not_allowed")
    assert answer.headers["allow"] == "GET, HEAD, POST"


def test_a_caller_who_hangs_up_harms_nobody(wire: Wire) -> None:
    for _ in range(20):
        with socket.create_connection(("127.0.0.1", wire.port), timeout=20) as line:
            line.sendall(b"POST /v1/verdicts HTTP/1.1\r\n" + HOST + b"Content-Length: 100000\r\n\r\n{")


def test_two_requests_on_one_connection_do_not_run_into_each_other(wire: Wire) -> None:
    key = f"Authorization: Bearer {wire.secret}\r\n".encode()
    refused = (
        b"POST /v1/verdicts HTTP/1.1\r\nHost: x\r\n" + key + b"Content-Type: text/plain\r\nContent-Length: 40\r\n\r\n"
    )
    smuggled = b"GET /v1/limits HTTP/1.1\r\nHost: x\r\n\r\n".ljust(40)
    following = b"GET /healthz HTTP/1.1\r\n" + HOST + b"\r\n"
    answer = wire.send(refused + smuggled + following)
    assert answer.status == 415
    second = answer.content.split(b"HTTP/1.1 ")
    assert len(second) <= 2
    assert all(part.startswith(b"200") and b'{"status":"alive"}' in part for part in second[1:])
