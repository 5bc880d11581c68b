"""The wheel: built, installed clean without what developers need, and able to judge one part."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
REQUEST = {
    "unit": "in",
    "kind": "drum",
    "marking": 11.240,
    "diameter": [11.1504, 11.1511, 11.1506, 11.1509],
}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel of this tree."""
    place = tmp_path_factory.mktemp("dist")
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(place), str(ROOT)],
        check=True,
        capture_output=True,
        timeout=300,
    )
    [built] = place.glob("*.whl")
    return built


def test_the_wheel_holds_the_package_its_types_and_the_pack_and_no_tests(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    assert "turnrule/py.typed" in names
    assert "turnrule/_reference/datapackage.json" in names
    assert "turnrule/_reference/catalogue/findings.json" in names
    assert not [name for name in names if name.startswith("tests") or "/tests/" in name]
    assert not [name for name in names if name.endswith((".pyc", ".sqlite"))]


def test_installed_clean_it_judges_one_part_and_checks_its_pack(wheel: Path, tmp_path: Path) -> None:
    place = tmp_path / "clean"
    venv.create(place, with_pip=True)
    python = str(place / "bin" / "python")
    locked = str(ROOT / "deploy" / "requirements.txt")
    install = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    subprocess.run([*install, "--require-hashes", "-r", locked], check=True, capture_output=True, timeout=600)
    subprocess.run([*install, "--no-deps", str(wheel)], check=True, capture_output=True, timeout=600)
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("TURNRULE_", "PYTHON"))}
    command = str(place / "bin" / "turnrule")
    checked = subprocess.run([python, "-m", "pip", "check"], capture_output=True, text=True, timeout=60, check=False)
    assert checked.returncode == 0, checked.stdout
    judged = subprocess.run(
        [command, "judge", "-"],
        input=json.dumps(REQUEST),
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env=clean,
        timeout=60,
        check=False,
    )
    assert judged.returncode == 0, judged.stderr
    answer = json.loads(judged.stdout)
    assert (answer["verdict"], answer["unit"]) == ("serviceable", "in")
    pack = subprocess.run(
        [command, "pack", "check"], capture_output=True, text=True, cwd=tmp_path, env=clean, timeout=60, check=False
    )
    assert pack.returncode == 0, pack.stderr
