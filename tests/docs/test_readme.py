"""The README: its request gets its answer, its commands and settings are the real ones, its promises have tests."""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path

import click
import pytest

from turnrule.cli import main
from turnrule.settings import Settings

ROOT = Path(__file__).resolve().parent.parent.parent
README = (ROOT / "README.md").read_text("utf-8")
BLOCKS = re.findall(r"```(\w+)\n(.*?)```", README, re.DOTALL)


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, str]]:
    """Address and key of a running demo."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = str(probe.getsockname()[1])
    place = tmp_path_factory.mktemp("readme")
    clean = {name: value for name, value in os.environ.items() if not name.startswith("TURNRULE_")}
    command = [sys.executable, "-m", "turnrule", "demo", "--port", port, "--folder", str(place)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env=clean) as demo:
        try:
            assert demo.stdout is not None
            curl = "".join(demo.stdout.readline() for _ in range(6))
            found = re.search(r"Bearer (tr_[\w-]+)", curl)
            assert found is not None
            yield f"127.0.0.1:{port}", found[1]
        finally:
            demo.terminate()
            demo.wait(30)


def _request_and_answer() -> tuple[str, str]:
    for index, (kind, text) in enumerate(BLOCKS):
        if kind == "console" and text.startswith("curl"):
            assert BLOCKS[index + 1][0] == "text"
            return text, BLOCKS[index + 1][1]
    pytest.fail("there is no curl with an answer")


def test_the_request_of_the_readme_gets_the_answer_of_the_readme(served: tuple[str, str]) -> None:
    address, key = served
    command, answer = _request_and_answer()
    done = subprocess.run(
        ["bash", "-c", command.replace("127.0.0.1:8080", address)],
        env={**os.environ, "KEY": key},
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    assert done.stdout == answer


def test_the_page_that_the_readme_names_opens(served: tuple[str, str]) -> None:
    with urllib.request.urlopen(f"http://{served[0]}/docs", timeout=10) as page:
        assert page.headers["Content-Type"].startswith("text/html")


def _commands(group: click.Command, name: str) -> Iterator[str]:
    if isinstance(group, click.Group):
        for word, command in group.commands.items():
            yield from _commands(command, f"{name} {word}".strip())
    else:
        yield name


def test_every_command_is_in_the_readme_or_the_guide_and_none_other() -> None:
    known = set(_commands(main, ""))
    written = (
        README + (ROOT / "DEVELOPERS.md").read_text("utf-8") + (ROOT / "reference" / "README.md").read_text("utf-8")
    )
    for name in known:
        assert f"turnrule {name}" in written, name
    for first, second in re.findall(r"`turnrule ([a-z]+(?:-[a-z]+)*)(?: ([a-z]+(?:-[a-z]+)*))?", written):
        assert first in known or f"{first} {second}" in known, (first, second)


def test_every_setting_is_in_the_readme_with_its_default() -> None:
    defaults = Settings()
    for field in fields(Settings):
        assert f"TURNRULE_{field.name.upper()}" in README
        value = str(getattr(defaults, field.name))
        assert not value or f"`{value}`" in README, field.name


def test_every_test_that_a_promise_names_is_there() -> None:
    named = re.findall(r"`(tests/[\w/]+\.py)::(\w+)`", README)
    assert len(named) >= 3
    for path, test in named:
        assert f"def {test}(" in (ROOT / path).read_text("utf-8"), test


def test_the_readme_links_lead_somewhere() -> None:
    for target in re.findall(r"\]\(([^)#:]+)\)", README):
        assert (ROOT / target).exists(), target


def test_the_two_commands_are_the_ones_that_are_run() -> None:
    assert "bash .ci/check" in README
    assert "bash .ci/check" in (ROOT / ".ci" / "run").read_text("utf-8")
