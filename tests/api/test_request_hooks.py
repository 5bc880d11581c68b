"""Around every request: its id, its log line, its headers, its count."""

from __future__ import annotations

import logging
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from flask import Flask

from tests.api.bodies import EXAMPLE
from tests.api.conftest import Caller
from turnrule.api.request_hooks import HEADERS, LONGEST_ADDRESS


def test_a_request_id_is_taken_where_it_is_plain_and_made_where_it_is_not(shop: Caller) -> None:
    assert shop.get("/healthz", X_Request_ID="job-4.a_B").headers["X-Request-ID"] == "job-4.a_B"
    for given in ("", "a b", "x" * 65, "<script>", "a\u00e9"):
        made = shop.get("/healthz", X_Request_ID=given).headers["X-Request-ID"]
        assert re.fullmatch("[0-9a-f]{32}", made)
    problem = shop.get("/nowhere", X_Request_ID="job-5")
    assert problem.get_json()["request_id"] == problem.headers["X-Request-ID"] == "job-5"


@pytest.mark.parametrize("path", ["/healthz", "/v1/limits", "/nowhere", "/metrics", "/v1/verdicts"])
def test_every_answer_says_that_it_is_not_to_be_guessed_at_or_framed(app: Flask, path: str) -> None:
    response = app.test_client().get(path)
    for name in HEADERS:
        assert response.headers[name]
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert "frame-ancestors 'none'" in response.headers["Content-Security-Policy"]
    assert "no-" in response.headers["Cache-Control"]


def test_a_request_is_logged_with_its_route_and_never_its_secret_or_body(
    shop: Caller, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.INFO, "turnrule.api"):
        location = shop.post("/v1/verdicts", EXAMPLE, X_Request_ID="job-6").headers["Location"]
        shop.get(location)
    first, second = (record.__dict__ for record in caplog.records)
    assert (first["msg"], first["request_id"], first["route"], first["status"]) == (
        "request",
        "job-6",
        "/v1/verdicts",
        201,
    )
    assert (first["key"], first["location"], second["route"]) == ("caller-1", location, "/v1/verdicts/<verdict_id>")
    assert shop.secret not in str(first)
    assert "Corvane" not in str(first)


def test_an_address_that_is_too_long_is_refused(shop: Caller) -> None:
    start = "/v1/limits?make="
    response = shop.get(start + "x" * (LONGEST_ADDRESS + 2 - len(start)))
    assert (response.status_code, response.get_json()["type"]) == (414, "/problems/address_too_long")
    assert shop.get(start + "x" * (LONGEST_ADDRESS + 1 - len(start))).status_code == 400


def test_requests_and_verdicts_are_counted_under_bounded_labels(shop: Caller) -> None:
    body = shop.post("/v1/verdicts", EXAMPLE, Idempotency_Key="k")
    shop.post("/v1/verdicts", EXAMPLE, Idempotency_Key="k")
    shop.get(body.headers["Location"])
    for number in range(50):
        shop.send(f"X{number}", f"/somewhere/{number}")
        shop.get(f"/v1/verdicts/{number}")
    text = shop.get("/metrics").get_data(as_text=True)
    assert 'turnrule_verdicts_total{verdict="machine"} 1.0' in text
    assert 'turnrule_http_requests_total{method="POST",route="/v1/verdicts",status="201"} 2.0' in text
    assert 'turnrule_http_requests_total{method="GET",route="/v1/verdicts/<verdict_id>",status="404"} 50.0' in text
    assert 'turnrule_http_requests_total{method="other",route="unmatched",status="404"} 50.0' in text
    assert len(text.splitlines()) < 200


def test_counts_of_several_processes_are_added_up(tmp_path: Path) -> None:
    program = """
import sys
from flask import Flask
from turnrule.api.metrics import Metrics
from turnrule.judging.words import Ruling
metrics = Metrics()
metrics.count_verdict(Ruling.REPLACE)
print(metrics.as_response().get_data(as_text=True))
"""
    environment = {**os.environ, "PROMETHEUS_MULTIPROC_DIR": str(tmp_path), "PYTHONPATH": os.pathsep.join(sys.path)}
    for count in (1, 2, 3):
        done = subprocess.run(
            [sys.executable, "-c", program], env=environment, capture_output=True, text=True, check=True
        )
        assert f'turnrule_verdicts_total{{verdict="replace"}} {count}.0' in done.stdout
