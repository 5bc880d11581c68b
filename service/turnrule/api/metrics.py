"""What this service counts of itself, for Prometheus; right over several worker processes, with bounded labels.

Several processes share their counts through the folder that `PROMETHEUS_MULTIPROC_DIR` names.
"""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from flask import Response, request

from turnrule.judging.words import Ruling

if TYPE_CHECKING:
    from prometheus_client import Counter, Histogram

METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "DELETE", "PATCH", "OPTIONS"})
SECONDS = (0.0005, 0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 5, 10)


class Metrics:
    """The counters of one application."""

    def __init__(self) -> None:
        # The library looks for the folder of several processes when it is imported: not before a worker is there.
        from prometheus_client import CollectorRegistry, Counter, Histogram  # noqa: PLC0415

        self.registry = CollectorRegistry()
        self.requests = Counter(
            "turnrule_http_requests_total",
            "Requests answered.",
            ("route", "method", "status"),
            registry=self.registry,
        )
        self.seconds = Histogram(
            "turnrule_http_request_duration_seconds",
            "Time from the request's headers to its answer.",
            ("route", "method"),
            buckets=SECONDS,
            registry=self.registry,
        )
        self.verdicts = Counter(
            "turnrule_verdicts_total",
            "Verdicts recorded; replays are not counted.",
            ("verdict",),
            registry=self.registry,
        )
        self._by_ruling = {ruling: self.verdicts.labels(ruling.value) for ruling in Ruling}
        self._by_route: dict[tuple[str, str, int], tuple[Counter, Histogram]] = {}

    def count_request(self, status: int, seconds: float) -> None:
        """Count an answered request under its route's pattern, never under its address."""
        route = request.url_rule.rule if request.url_rule is not None else "unmatched"
        method = request.method if request.method in METHODS else "other"
        found = self._by_route.get((route, method, status))
        if found is None:
            found = self.requests.labels(route, method, str(status)), self.seconds.labels(route, method)
            self._by_route[route, method, status] = found
        found[0].inc()
        found[1].observe(seconds)

    def count_verdict(self, ruling: Ruling) -> None:
        """Count a verdict that was recorded now."""
        self._by_ruling[ruling].inc()

    def as_response(self) -> Response:
        """Everything that was counted, over all worker processes."""
        from prometheus_client import CONTENT_TYPE_LATEST, CollectorRegistry, generate_latest  # noqa: PLC0415
        from prometheus_client.multiprocess import MultiProcessCollector  # noqa: PLC0415

        registry = self.registry
        if "PROMETHEUS_MULTIPROC_DIR" in os.environ:
            registry = CollectorRegistry()
            MultiProcessCollector(registry)  # type: ignore[no-untyped-call]  # it ships no types
        return Response(generate_latest(registry), content_type=CONTENT_TYPE_LATEST)
