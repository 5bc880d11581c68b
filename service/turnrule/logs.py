"""Logs: one line of JSON for each thing that happened, on standard error.

An event has a constant name; what varies stands in fields, never in the message; no secret is ever a field.
"""

from __future__ import annotations

import logging
import sys
import time

from pythonjsonlogger.json import JsonFormatter

_LINE = "%(asctime)s %(levelname)s %(name)s %(message)s"


def set_up_logs(level: str) -> None:
    """Send every log record of this process to standard error as JSON. Times are UTC."""
    formatter = JsonFormatter(
        _LINE,
        rename_fields={"asctime": "time", "levelname": "level", "name": "logger", "message": "event"},
        datefmt="%Y-%m-%dT%H:%M:%SZ",
    )
    formatter.converter = time.gmtime
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(formatter)
    logging.basicConfig(level=level.upper(), handlers=[handler], force=True)
