"""Clients generated from the contract compile without a warning and do their work against the live service."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import venv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.api.serving import serving
from turnrule.actions.desk import Desk, new_id, utc_now
from turnrule.actions.keys import create_key
from turnrule.api.demo import load_demo_limits
from turnrule.pack import load_pack
from turnrule.store.port import EventKind, VerdictQuery
from turnrule.store.sqlite import open_sqlite

ROOT = Path(__file__).resolve().parent.parent.parent
CONTRACT = ROOT / "openapi" / "openapi.yaml"
PYTHON, TYPESCRIPT = ROOT / "openapi" / "examples" / "python", ROOT / "openapi" / "examples" / "typescript"
MINUTES = 5


@dataclass(frozen=True, slots=True)
class Live:
    """The service as a client sees it, and the store behind it."""

    database: Path
    environment: dict[str, str]


@pytest.fixture(scope="module")
def live(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Live]:
    """The service over the demo's limits, and a key for a shop."""
    database = tmp_path_factory.mktemp("live") / "store.sqlite"
    store = open_sqlite(database)
    store.migrate()
    desk = Desk(store, load_pack(), utc_now, new_id)
    load_demo_limits(desk)
    secret = create_key(desk, "shop", ["verdicts", "reports"]).secret
    store.close()
    with serving(database) as port:
        yield Live(database, {"TURNRULE_URL": f"http://127.0.0.1:{port}", "TURNRULE_KEY": secret})


def run(command: Sequence[object], folder: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    """Run a step; it must end well and say nothing on standard error."""
    done = subprocess.run(
        [str(part) for part in command],
        cwd=folder,
        env={**{name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}, **environment},
        capture_output=True,
        text=True,
        timeout=60 * MINUTES,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done


@pytest.fixture(scope="module")
def python_client(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """An environment of its own with the client that was generated: its interpreter, and where the client is."""
    folder = tmp_path_factory.mktemp("python-client")
    venv.create(folder / "venv", with_pip=True)
    binaries = folder / "venv" / "bin"
    lock = PYTHON / "requirements.txt"
    run([binaries / "python", "-m", "pip", "install", "--quiet", "--require-hashes", "-r", lock], folder)
    generate = [binaries / "openapi-python-client", "generate", "--path", CONTRACT, "--output-path", folder / "client"]
    made = run([*generate, "--config", PYTHON / "generator.yaml"], folder, PATH=f"{binaries}:{os.environ['PATH']}")
    assert "arning" not in made.stdout + made.stderr
    return binaries / "python", folder / "client"


def test_the_python_client_compiles_without_a_warning(python_client: tuple[Path, Path]) -> None:
    python, client = python_client
    run([python, "-W", "error", "-m", "compileall", "-q", "-f", client], client)
    checked = run(
        [python, "-m", "mypy", "--strict", "--follow-imports=silent", PYTHON / "evening_round.py"],
        client,
        MYPYPATH=str(client),
    )
    assert "Success" in checked.stdout


def test_the_python_round_judges_the_day_and_follows_the_feed(
    python_client: tuple[Path, Path], live: Live, tmp_path: Path
) -> None:
    python, client = python_client
    document = json.loads((ROOT / "reference" / "demo" / "inspections.json").read_text("utf-8"))
    sound = [one["request"] for one in document["items"] if not one["expect_problem"]][:40]
    inspections, cursor = tmp_path / "inspections.json", tmp_path / "cursor.txt"
    inspections.write_text(json.dumps(sound), "utf-8")
    command = [python, "-W", "error", PYTHON / "evening_round.py", inspections, cursor]
    first = run(command, tmp_path, PYTHONPATH=str(client), **live.environment)
    lines = [line for line in first.stdout.splitlines() if not line.startswith("    ! ")]
    assert len(lines) == len(sound) + 1
    assert lines[-1].startswith("since the last round: 1 release, ")
    assert first.stderr == ""
    second = run(command, tmp_path, PYTHONPATH=str(client), **live.environment)
    assert second.stdout.splitlines()[-1] == "since the last round: nothing"
    store = open_sqlite(live.database)
    told = [event for event in store.events(limit=1000) if event.kind is EventKind.VERDICT]
    distinct = {json.dumps(request, sort_keys=True) for request in sound}
    assert len(told) == store.count_verdicts(VerdictQuery()) == len(distinct)
    store.close()


def test_the_python_round_says_what_could_not_be_judged(
    python_client: tuple[Path, Path], live: Live, tmp_path: Path
) -> None:
    python, client = python_client
    inspections = tmp_path / "inspections.json"
    inspections.write_text('[{"kind": "rotor", "thickness": [25.0], "vehicle": {"label": "unit 9"}}]', "utf-8")
    done = subprocess.run(
        [str(python), str(PYTHON / "evening_round.py"), str(inspections), str(tmp_path / "cursor.txt")],
        env={**os.environ, "PYTHONPATH": str(client), **live.environment},
        capture_output=True,
        text=True,
        timeout=60 * MINUTES,
        check=False,
    )
    assert done.returncode == 1
    assert "unit 9: NOT JUDGED. /unit:" in done.stdout


def test_the_typescript_client_compiles_without_a_warning_and_serves_the_counter(live: Live, tmp_path: Path) -> None:
    folder = tmp_path / "openapi" / "examples" / "typescript"
    shutil.copytree(TYPESCRIPT, folder)
    shutil.copy(CONTRACT, tmp_path / "openapi" / "openapi.yaml")
    run(["npm", "ci", "--silent", "--no-audit", "--no-fund"], folder)
    generated = run(["npm", "run", "--silent", "generate"], folder)
    assert "arning" not in generated.stdout + generated.stderr
    assert run(["npm", "run", "--silent", "build"], folder).stdout == ""
    done = run(["npm", "start", "--silent"], folder, **live.environment)
    lines = done.stdout.splitlines()
    assert lines[0].split(":")[0] in {"MACHINE", "REPLACE", "INCONCLUSIVE"}
    assert sum("the same to the byte" in line for line in lines) == 2
    assert any(line.startswith(("danger:", "warning:")) for line in lines)


def test_nothing_that_is_generated_is_kept() -> None:
    kept = subprocess.run(
        ["git", "ls-files", "openapi/examples/python", "openapi/examples/typescript"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split()
    assert not [name for name in kept if "turnrule_client" in name or name.endswith(("contract.ts", ".js"))]
