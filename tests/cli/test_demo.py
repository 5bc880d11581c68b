"""The demo: from one command to a verdict that the printed request gets again."""

from __future__ import annotations

import json
import re
import shlex
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from tests.cli.running import turnrule


def test_the_demo_prints_a_request_and_its_answer_and_stops(tmp_path: Path) -> None:
    ran = turnrule("demo", "--once", "--port", "0", folder=tmp_path)
    assert ran.code == 0, ran.err
    curl, answer = ran.out.split("\n\n", 1)
    assert curl.startswith("curl -s http://127.0.0.1:")
    assert json.loads(answer)["verdict"] in {"serviceable", "machine", "inconclusive", "replace"}
    assert re.search(r"First verdict \d+\.\d s after the command", ran.err)
    assert "/docs" in ran.err
    assert "invented" in ran.err
    assert "Traceback" not in ran.err
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_the_printed_request_is_answered_again_and_nothing_stays_behind(tmp_path: Path, how: signal.Signals) -> None:
    with subprocess.Popen(
        [sys.executable, "-m", "turnrule", "demo", "--port", "0", "--folder", str(tmp_path / "kept")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        cwd=tmp_path,
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        lines = [process.stdout.readline() for _ in range(5)]
        curl = "".join(lines)
        first = json.loads(process.stdout.readline())
        words = shlex.split(curl.replace("\\\n", " "))
        again = subprocess.run(words, capture_output=True, text=True, check=True, timeout=30)
        second = json.loads(again.stdout)
        assert second["digest"] == first["digest"]
        assert second["id"] != first["id"]
        base = words[2].removesuffix("/v1/verdicts")
        with urllib.request.urlopen(f"{base}/docs", timeout=10) as page:  # noqa: S310 - this machine
            assert b"turnrule" in page.read()
        began = time.monotonic()
        process.send_signal(how)
        try:
            process.wait(timeout=60)
        except subprocess.TimeoutExpired:
            process.kill()
            raise
        assert time.monotonic() - began < 25
        with pytest.raises(urllib.error.URLError):
            urllib.request.urlopen(f"{base}/healthz", timeout=5)  # noqa: S310 - this machine
    assert (tmp_path / "kept" / "demo.sqlite").exists()


def test_a_taken_port_is_named_with_a_remedy(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        ran = turnrule("demo", "--once", "--port", port, folder=tmp_path)
    assert ran.code == 1
    assert "--port 0" in ran.err
    assert "Traceback" not in ran.err
