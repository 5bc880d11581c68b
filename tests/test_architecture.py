"""The house: which room may import which, what the engine may touch, how large things may be."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "service" / "turnrule"
MODULES = sorted(PACKAGE.rglob("*.py"))

RANK = {
    "judging": 0,
    "pack": 1,
    "store": 1,
    "actions": 2,
    "api": 3,
    "pages": 4,
    "cli": 5,
    "settings": 6,
    "logs": 6,
    "wiring": 7,
    "app": 8,
}
"""A room may import those of a lower rank, and itself."""

MAY_ALSO = {("cli", "settings"), ("cli", "wiring"), ("cli", "logs"), ("cli", "app"), ("api", "logs")}
"""The command line is the outermost door: it starts what the wiring builds."""

ONLY_IN: dict[str, str | tuple[str, ...]] = {
    "sqlite_utils": "store/sqlite",
    "sqlite3": "store/sqlite",
    "flask": ("api/", "pages/", "cli/serving.py", "wiring.py", "app.py"),
    "werkzeug": ("api/", "pages/", "app.py"),
    "marshmallow": "api/",
    "apispec": "api/",
    "click": "cli/",
    "gunicorn": ("cli/", "app.py", "serving.py"),
    "prometheus_client": ("api/", "app.py"),
    "openpyxl": "api/limit_files/",
    "cryptography": "actions/release_packs/",
}
"""Each outside library is seen from its own rooms only."""

IMPURE = {"os", "time", "random", "pathlib", "io", "socket", "logging", "sys", "secrets", "uuid", "threading"}
"""What the engine never imports: clock, file, environment, chance, network."""


def _room(module: Path) -> str:
    parts = module.relative_to(PACKAGE).parts
    return parts[0].removesuffix(".py")


def _imports(module: Path) -> Iterator[tuple[str, int]]:
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield alias.name, node.lineno
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}:{node.lineno}: imports are written in full"
            yield node.module or "", node.lineno


def _wrong_way(module: Path, imported: str) -> bool:
    if not imported.startswith("turnrule."):
        return False
    here, there = _room(module), imported.split(".")[1]
    if here in {"__init__", "__main__"} or here == there or (here, there) in MAY_ALSO:
        return False
    return RANK[there] >= RANK[here]


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_a_room_imports_only_rooms_further_in(module: Path) -> None:
    wrong = [f"line {line}: {name}" for name, line in _imports(module) if _wrong_way(module, name)]
    assert not wrong


def test_the_arrow_test_would_notice_an_import_the_wrong_way() -> None:
    assert _wrong_way(PACKAGE / "judging" / "judge.py", "turnrule.store.port")
    assert _wrong_way(PACKAGE / "store" / "port.py", "turnrule.pack.reader")
    assert not _wrong_way(PACKAGE / "api" / "errors.py", "turnrule.actions.answers")


@pytest.mark.parametrize("module", sorted((PACKAGE / "judging").glob("*.py")), ids=lambda path: path.name)
def test_the_engine_imports_the_standard_library_only_and_nothing_impure(module: Path) -> None:
    for name, line in _imports(module):
        top = name.split(".")[0]
        assert top == "turnrule" or top in sys.stdlib_module_names, f"line {line}: {name}"
        assert top not in IMPURE, f"line {line}: {name}"
    text = module.read_text(encoding="utf-8")
    assert ".today()" not in text
    assert ".now(" not in text
    assert not [node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.Name) and node.id == "open"]


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_an_outside_library_is_seen_from_its_own_rooms_only(module: Path) -> None:
    here = module.relative_to(PACKAGE).as_posix()
    for name, line in _imports(module):
        rooms = ONLY_IN.get(name.split(".")[0])
        if rooms is not None:
            assert here.startswith(rooms), f"line {line}: {name}"


@pytest.mark.parametrize("module", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_modules_and_functions_stay_small(module: Path) -> None:
    text = module.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= 330
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            assert node.end_lineno is not None
            assert node.end_lineno - node.lineno < 50, f"{node.name}, line {node.lineno}"


def test_no_module_is_a_drawer() -> None:
    drawers = {"utils", "util", "helpers", "helper", "common", "manager", "base", "misc"}
    assert not [module for module in MODULES if module.stem in drawers]


def test_packages_only_hand_names_on() -> None:
    for module in PACKAGE.rglob("__init__.py"):
        kinds = {type(node) for node in ast.parse(module.read_text(encoding="utf-8")).body}
        assert kinds <= {ast.Expr, ast.Import, ast.ImportFrom, ast.Assign, ast.AnnAssign}, module


def test_nothing_else_stands_at_the_top() -> None:
    listed = subprocess.run(
        ["git", "ls-files"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.splitlines()
    allowed = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "service",
        "reference",
        "openapi",
        "tests",
        "deploy",
    }
    top = {name.split("/")[0] for name in listed}
    assert {name for name in top if not name.startswith(".")} <= allowed


def test_errors_end_in_error() -> None:
    for module in MODULES:
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef):
                bases = {base.id for base in node.bases if isinstance(base, ast.Name)}
                if any(name.endswith(("Error", "Exception")) for name in bases):
                    assert node.name.endswith("Error"), f"{module}: {node.name}"
