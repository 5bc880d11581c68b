"""Run the real command in a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

PATIENCE = 120


@dataclass(frozen=True, slots=True)
class Ran:
    """What a command came to."""

    code: int
    out: str
    err: str


def turnrule(*args: str, folder: Path, text: str | None = None, **environment: str) -> Ran:
    """Run `turnrule ...` in `folder`, with these variables of the environment on top."""
    clean = {name: value for name, value in os.environ.items() if not name.startswith("TURNRULE_")}
    done = subprocess.run(
        [sys.executable, "-m", "turnrule", *args],
        cwd=folder,
        env=clean | environment,
        input=text,
        capture_output=True,
        text=True,
        timeout=PATIENCE,
        check=False,
    )
    return Ran(done.returncode, done.stdout, done.stderr)
