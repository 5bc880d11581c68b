"""`turnrule demo`: an example store, the service, one key, one request and its answer, and a page to open."""

from __future__ import annotations

import os
import shlex
import signal
import socket
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from dataclasses import dataclass, replace
from pathlib import Path
from types import FrameType
from typing import NoReturn

import click

from turnrule.actions.keys import create_key
from turnrule.api.demo import first_request, load_demo
from turnrule.cli.exits import Exit, guarded, say, stop
from turnrule.settings import Settings, read_settings
from turnrule.wiring import open_desk

_PATIENCE = 30.0
_SCOPES = ("verdicts", "reports")


@dataclass(frozen=True, slots=True)
class Call:
    """One request to the running service."""

    url: str
    key: str
    body: bytes

    def as_curl(self) -> str:
        """The same request for a shell."""
        return " \\\n  ".join(
            [
                f"curl -s {self.url}",
                f"-H {shlex.quote('Authorization: Bearer ' + self.key)}",
                "-H 'Content-Type: application/json'",
                f"-d {shlex.quote(self.body.decode())}",
            ]
        )

    def answer(self) -> str:
        """What the service answers."""
        request = urllib.request.Request(  # noqa: S310 - the address is this machine's own
            self.url,
            data=self.body,
            headers={"Authorization": f"Bearer {self.key}", "Content-Type": "application/json"},
        )
        with urllib.request.urlopen(request, timeout=_PATIENCE) as response:  # noqa: S310
            text: str = response.read().decode()
        return text


@click.command()
@click.option("--port", type=click.IntRange(0, 65_535), default=8080, show_default=True, help="0 takes a free one.")
@click.option("--folder", type=click.Path(path_type=Path, file_okay=False), help="Keep the example store here.")
@click.option("--once", is_flag=True, help="Stop after the first answer instead of serving on.")
@guarded
def demo(port: int, folder: Path | None, *, once: bool) -> None:
    """Serve the invented demo scenario on this machine, and show one request with its answer.

    Everything in it is made up: makers, vehicles, places and limits. Never judge a real part by it.
    """
    began = time.monotonic()
    for told in (signal.SIGINT, signal.SIGTERM):
        signal.signal(told, _end)
    with tempfile.TemporaryDirectory(prefix="turnrule-demo-") as passing:
        place = folder or Path(passing)
        place.mkdir(parents=True, exist_ok=True)
        settings = replace(
            read_settings(os.environ), database=str(place / "demo.sqlite"), port=port or _free_port(), host="127.0.0.1"
        )
        _show(settings, began, once=once)


def _end(_signal: int, _frame: FrameType | None) -> NoReturn:
    """Being told to end is being told to stop: the service must not stay behind."""
    raise KeyboardInterrupt


def _show(settings: Settings, began: float, *, once: bool) -> None:
    """Build the store, start the service, make the call, and serve on until told to stop."""
    say("Building the example store (an invented fleet) ...")
    desk = open_desk(settings)
    fresh = bool(desk.store.migrate())
    if fresh:
        load_demo(desk)
    name = f"demo-{desk.make_id(desk.clock())}"
    key = create_key(desk, name, _SCOPES).secret
    body = first_request(desk)
    desk.store.close()
    base = f"http://{settings.host}:{settings.port}"
    server = _start(settings)
    try:
        _wait_until_ready(server, base)
        call = Call(f"{base}/v1/verdicts", key, body)
        click.echo(call.as_curl() + "\n")
        click.echo(call.answer())
        say(f"\nFirst verdict {time.monotonic() - began:.1f} s after the command. Key: {key}")
        say(f"The contract, to open in a browser: {base}/docs")
        if not once:
            say("Serving; stop with Ctrl-C.")
            sys.stdout.flush()
            server.wait()
    except KeyboardInterrupt:
        pass
    finally:
        _stop(server)


def _start(settings: Settings) -> subprocess.Popen[bytes]:
    environment = dict(os.environ)
    environment.update(
        TURNRULE_DATABASE=settings.database,
        TURNRULE_HOST=settings.host,
        TURNRULE_PORT=str(settings.port),
        TURNRULE_LOG_LEVEL="warning",
    )
    return subprocess.Popen([sys.executable, "-m", "turnrule", "serve"], env=environment)


def _free_port() -> int:
    """A port of this machine that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        number: int = probe.getsockname()[1]
        return number


def _wait_until_ready(server: subprocess.Popen[bytes], base: str) -> None:
    """Return when the service answers. Ends the command where it stops or takes too long."""
    until = time.monotonic() + _PATIENCE
    while time.monotonic() < until:
        if server.poll() is not None:
            stop(Exit.FAILED, f"the service stopped with code {server.returncode}; is the port in use? try --port 0")
        try:
            with urllib.request.urlopen(f"{base}/readyz", timeout=2):  # noqa: S310 - this machine's own address
                return
        except (urllib.error.URLError, ConnectionError, TimeoutError):
            time.sleep(0.05)
    stop(Exit.FAILED, f"the service did not answer within {_PATIENCE:.0f} s")


def _stop(server: subprocess.Popen[bytes]) -> None:
    if server.poll() is None:
        server.send_signal(signal.SIGTERM)
        server.wait(timeout=_PATIENCE)
