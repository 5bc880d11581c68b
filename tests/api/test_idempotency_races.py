"""Two processes of the real service, asked at the same moment under the same idempotency key."""

from __future__ import annotations

import contextlib
import http.client
import os
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.api.bodies import EXAMPLE, EXAMPLE_LIMITS
from tests.api.conftest import publish
from turnrule.actions.desk import Desk
from turnrule.actions.keys import create_key
from turnrule.store.port import VerdictQuery

RACES = 200
PATIENCE = 30.0


def free_port() -> int:
    """A port of this machine that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def connected(port: int) -> contextlib.closing[http.client.HTTPConnection]:
    """A connection to a server of this machine, closed at the end of the block."""
    return contextlib.closing(http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE))


def until_ready(port: int, process: subprocess.Popen[bytes]) -> None:
    """Wait until a server answers."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end and process.poll() is None:
        with contextlib.suppress(OSError), connected(port) as connection:
            connection.request("GET", "/readyz")
            if connection.getresponse().status == http.HTTPStatus.OK:
                return
        time.sleep(0.05)
    raise AssertionError(f"the service on port {port} did not become ready")


@pytest.fixture
def servers(desk: Desk, tmp_path: Path) -> Iterator[list[int]]:
    """Two processes that serve the desk's store, by their ports."""
    publish(desk, EXAMPLE_LIMITS)
    ports = [free_port(), free_port()]
    environment = {
        **os.environ,
        "TURNRULE_DATABASE": str(tmp_path / "store.sqlite"),
        "TURNRULE_LOG_LEVEL": "warning",
        "PYTHONPATH": os.pathsep.join(sys.path),
    }
    command = [
        sys.executable,
        "-m",
        "gunicorn",
        "--threads",
        "2",
        "--log-level",
        "warning",
        "turnrule.app:create_app()",
    ]
    processes = [subprocess.Popen([*command, "--bind", f"127.0.0.1:{port}"], env=environment) for port in ports]
    try:
        for port, process in zip(ports, processes, strict=True):
            until_ready(port, process)
        yield ports
    finally:
        for process in processes:
            process.terminate()
        for process in processes:
            process.wait(timeout=PATIENCE)


def test_one_key_in_two_processes_makes_one_record_and_one_answer(servers: list[int], desk: Desk) -> None:
    secret = create_key(desk, "racer", ["verdicts"]).secret
    start = threading.Barrier(len(servers))
    answers: dict[int, list[tuple[int, bytes, bool]]] = {port: [] for port in servers}

    def run(port: int) -> None:
        with connected(port) as connection:
            for race in range(RACES):
                headers = {
                    "Authorization": f"Bearer {secret}",
                    "Content-Type": "application/json",
                    "Idempotency-Key": f"race-{race}",
                }
                start.wait()
                connection.request("POST", "/v1/verdicts", EXAMPLE, headers)
                response = connection.getresponse()
                replayed = response.headers.get("Idempotency-Replayed") == "true"
                answers[port].append((response.status, response.read(), replayed))

    callers = [threading.Thread(target=run, args=(port,)) for port in servers]
    for caller in callers:
        caller.start()
    for caller in callers:
        caller.join()
    one, other = answers.values()
    assert len(one) == len(other) == RACES
    for (status, content, replayed), (other_status, other_content, other_replayed) in zip(one, other, strict=True):
        assert (status, other_status) == (201, 201)
        assert content == other_content
        assert replayed is not other_replayed
    stored = [record.answer for record in desk.store.verdicts(VerdictQuery(), limit=10 * RACES)]
    assert sorted(stored) == sorted(content for _, content, _ in one)
