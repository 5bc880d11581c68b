"""The HTTP API put together: one blueprint for each resource over one desk."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Flask

from turnrule.actions.desk import Desk
from turnrule.api import (
    axle_verdicts,
    batches,
    certificates,
    coverage,
    docs_page,
    entries,
    events,
    health,
    impact,
    lathes,
    limits,
    policies,
    quote_checks,
    release_pack,
    releases,
    replays,
    reports,
    setup_checks,
    sites,
    trials,
    verdicts,
)
from turnrule.api.catalogues import catalogues_blueprint
from turnrule.api.errors import register_errors
from turnrule.api.json_reading import LARGEST_BODY
from turnrule.api.keeping_out import RateLimiter
from turnrule.api.metrics import Metrics
from turnrule.api.request_hooks import register_hooks


@dataclass(frozen=True, slots=True)
class ApiSettings:
    """What an operator may choose: how many requests a minute each key may send to each process (None or 0: any)."""

    requests_per_minute: int | None = None
    burst: int = 20


def build_api(desk: Desk, settings: ApiSettings | None = None) -> Flask:
    """The application. It holds no state of its own but counters, and may be built as often as one likes."""
    chosen = settings or ApiSettings()
    app = Flask("turnrule", static_folder=None)
    # A body without a stated length is cut at this many bytes and not refused: the one byte more shows it.
    app.config["MAX_CONTENT_LENGTH"] = LARGEST_BODY + 1
    app.config["PROVIDE_AUTOMATIC_OPTIONS"] = False
    app.url_map.merge_slashes = False
    metrics = Metrics()
    app.extensions["turnrule.desk"] = desk
    app.extensions["turnrule.metrics"] = metrics
    app.extensions["turnrule.limiter"] = RateLimiter(chosen.requests_per_minute, chosen.burst)
    register_errors(app)
    register_hooks(app, metrics)
    for blueprint in (
        verdicts.blueprint,
        certificates.blueprint,
        setup_checks.blueprint,
        quote_checks.blueprint,
        axle_verdicts.blueprint,
        batches.blueprint,
        limits.blueprint,
        entries.blueprint,
        catalogues_blueprint(desk.pack),
        coverage.blueprint,
        releases.blueprint,
        replays.blueprint,
        impact.blueprint,
        release_pack.blueprint,
        policies.blueprint,
        reports.blueprint,
        events.blueprint,
        lathes.blueprint,
        sites.blueprint,
        trials.blueprint,
        health.blueprint,
        docs_page.blueprint,
    ):
        app.register_blueprint(blueprint)
    return app
