"""The application for a server of one's own choosing: `gunicorn 'turnrule.app:create_app()'`."""

from __future__ import annotations

import os

from flask import Flask

from turnrule.logs import set_up_logs
from turnrule.settings import read_settings
from turnrule.wiring import build_app


def create_app() -> Flask:
    """The application as the environment sets it up. Raises `SettingsError`, `StoreError`."""
    settings = read_settings(os.environ)
    set_up_logs(settings.log_level)
    return build_app(settings)
