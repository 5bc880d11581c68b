"""The real service in processes of its own, on a port of this machine."""

from __future__ import annotations

import contextlib
import http.client
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

PATIENCE = 30.0


def free_port() -> int:
    """A port of this machine that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


def connected(port: int, timeout: float = PATIENCE) -> contextlib.closing[http.client.HTTPConnection]:
    """A connection to a server of this machine, closed at the end of the block."""
    return contextlib.closing(http.client.HTTPConnection("127.0.0.1", port, timeout=timeout))


@contextlib.contextmanager
def serving(database: Path, *, workers: int = 1, **settings: str) -> Iterator[int]:
    """`turnrule serve` over a migrated store, by its port; stopped at the end of the block."""
    process, port = started(database, workers=workers, **settings)
    try:
        yield port
    finally:
        process.terminate()
        process.wait(timeout=PATIENCE)


def started(database: Path, *, workers: int = 1, **settings: str) -> tuple[subprocess.Popen[bytes], int]:
    """`turnrule serve` over a migrated store, in a process group of its own, and its port; the caller ends it."""
    port = free_port()
    environment = {
        **{name: value for name, value in os.environ.items() if not name.startswith("TURNRULE_")},
        "TURNRULE_DATABASE": str(database),
        "TURNRULE_LOG_LEVEL": "error",
        "PYTHONPATH": os.pathsep.join(sys.path),
        **{f"TURNRULE_{name.upper()}": value for name, value in settings.items()},
    }
    command = [sys.executable, "-m", "turnrule", "serve", "--port", str(port), "--workers", str(workers)]
    process = subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL, start_new_session=True)
    try:
        _until_ready(port, process)
    except BaseException:
        process.terminate()
        process.wait(timeout=PATIENCE)
        raise
    return process, port


def _until_ready(port: int, process: subprocess.Popen[bytes]) -> None:
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end and process.poll() is None:
        with contextlib.suppress(OSError), connected(port) as connection:
            connection.request("GET", "/readyz")
            if connection.getresponse().status == http.HTTPStatus.OK:
                return
        time.sleep(0.05)
    raise AssertionError(f"the service on port {port} did not become ready")
