"""The contract passes the OpenAPI linter: every rule of its ruleset, no error, no warning, no hint."""

from __future__ import annotations

import json
import os
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
LOCAL = ROOT / ".venv" / "spectral" / "node_modules" / ".bin" / "spectral"
RULES = ROOT / "tests" / "api" / "spectral.yaml"
CONTRACT = ROOT / "openapi" / "openapi.yaml"


def linter() -> str:
    """The linter that SPECTRAL names, or the one beside the checkout's environment."""
    named = os.environ.get("SPECTRAL") or str(LOCAL)
    if not Path(named).exists():
        pytest.fail(
            f"there is no contract linter at {named}; install it by "
            "'npm install --prefix .venv/spectral @stoplight/spectral-cli@6', or name it in SPECTRAL"
        )
    return named


def lint(document: Path) -> list[dict[str, object]]:
    """Everything that the linter has to say."""
    run = subprocess.run(
        [linter(), "lint", "--ruleset", str(RULES), "--format", "json", "--quiet", str(document)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert run.stdout, run.stderr
    found: list[dict[str, object]] = json.loads(run.stdout)
    return found


def test_the_ruleset_is_the_linters_own_with_no_rule_off() -> None:
    assert RULES.read_text(encoding="utf-8") == 'extends: ["spectral:oas"]\n'


def test_the_linter_finds_nothing_in_the_contract() -> None:
    assert lint(CONTRACT) == []


def test_the_linter_finds_what_was_spoiled(tmp_path: Path) -> None:
    text = CONTRACT.read_text(encoding="utf-8")
    spoiled = text.replace("operationId: isAlive", "operationId: isReady")
    assert spoiled != text
    place = tmp_path / "openapi.yaml"
    place.write_text(spoiled, encoding="utf-8")
    assert [finding["code"] for finding in lint(place)].count("operation-operationId-unique") >= 1
