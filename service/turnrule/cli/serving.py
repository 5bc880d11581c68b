"""`turnrule serve`: the service under gunicorn, on the store that the settings name."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import click
from flask import Flask
from gunicorn.app.base import BaseApplication

from turnrule.cli.exits import Exit, guarded, say, stop
from turnrule.cli.refusing import ProblemWorker
from turnrule.logs import set_up_logs
from turnrule.settings import Settings, read_settings
from turnrule.wiring import build_app, open_store, read_pack


class Server(BaseApplication):
    """Gunicorn over this service: the application is built in each worker, after the fork."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        super().__init__()

    def load_config(self) -> None:
        """Gunicorn's own settings."""
        settings = self.settings
        for name, value in {
            "bind": f"{settings.host}:{settings.port}",
            "workers": settings.workers,
            "threads": settings.threads,
            "worker_class": ProblemWorker,
            "timeout": 30,
            "graceful_timeout": 20,
            "keepalive": 5,
            "limit_request_line": 4094,
            "limit_request_fields": 100,
            "limit_request_field_size": 8190,
            "forwarder_headers": "",  # no header of a request may stand in for its path
            "loglevel": settings.log_level,
            "accesslog": None,
            "proc_name": "turnrule",
            "control_socket_disable": True,
        }.items():
            self.cfg.set(name, value)

    def load(self) -> Flask:  # type: ignore[override]  # Flask is a WSGI callable; the stub's type is narrower
        """The application of one worker."""
        set_up_logs(self.settings.log_level)
        return build_app(self.settings)


@click.command()
@click.option("--host", help="The address to listen on; the default is this machine only.")
@click.option("--port", type=click.IntRange(0, 65_535), help="The port to listen on.")
@click.option("--workers", type=click.IntRange(1, 64), help="How many processes.")
@guarded
def serve(host: str | None, port: int | None, workers: int | None) -> None:
    """Serve until told to stop. The store must have been migrated."""
    given = {"HOST": host, "PORT": port, "WORKERS": workers}
    environment = dict(os.environ)
    environment.update({f"TURNRULE_{name}": str(value) for name, value in given.items() if value is not None})
    settings = read_settings(environment)
    check_ready(settings)
    with _counting_folder():
        say(f"turnrule: http://{settings.host}:{settings.port}/docs over {settings.database}")
        Server(settings).run()


@contextlib.contextmanager
def _counting_folder() -> Iterator[None]:
    """A folder in which all workers count; a worker that ends must leave it to the others."""
    folder = tempfile.mkdtemp(prefix="turnrule-metrics-")
    owner = os.getpid()
    os.environ["PROMETHEUS_MULTIPROC_DIR"] = folder
    try:
        yield
    finally:
        if os.getpid() == owner:
            shutil.rmtree(folder, ignore_errors=True)


def check_ready(settings: Settings) -> None:
    """Stop with a remedy, before any worker starts, where the store or the pack cannot be served from."""
    if settings.is_embedded and not Path(settings.database).exists():
        stop(Exit.STORE, f"store: there is none at {settings.database}; run 'turnrule store migrate' first")
    store = open_store(settings)
    try:
        pending = store.pending()
        if pending:
            stop(Exit.STORE, f"store: {len(pending)} migrations are pending; run 'turnrule store migrate' first")
        store.ping()
    finally:
        store.close()
    read_pack(settings)
