"""A shop's evening round: send the day's inspections, print what to do with each part, follow the feed of events.

The vehicles are invented. A verdict is only as good as the limits and readings behind it: the vehicle maker's service
data, the law of the place and a licensed technician go before it.
"""

from __future__ import annotations

import hashlib
import json
import os
import sys
import time
from collections.abc import Iterator
from decimal import Decimal
from http import HTTPStatus
from pathlib import Path
from typing import Any

import httpx
from turnrule_client import AuthenticatedClient
from turnrule_client.api.reports import list_events
from turnrule_client.api.verdicts import judge_part
from turnrule_client.types import Response

TRIES = 5
BUSY = (HTTPStatus.TOO_MANY_REQUESTS, HTTPStatus.SERVICE_UNAVAILABLE)
"""The service says when to come again."""


def judged(client: AuthenticatedClient, request: dict[str, Any]) -> Response[Any]:
    """The answer to one inspection; sent again, under the same key, where the line or the service is down."""
    key = hashlib.sha256(json.dumps(request, sort_keys=True).encode()).hexdigest()
    for again in range(TRIES):
        wait = float(2**again)
        try:
            response: Response[Any] = judge_part.sync_detailed(client=client, body=request, idempotency_key=key)
        except httpx.TransportError as error:
            print(f"no answer ({error}); again in {wait:.0f} s", file=sys.stderr)
        else:
            if response.status_code not in BUSY:
                return response
            wait = float(response.headers.get("Retry-After", wait))
        time.sleep(wait)
    raise SystemExit("the service cannot be reached; nothing is lost: run this again")


def line(request: dict[str, Any], response: Response[Any]) -> str:
    """What to do with one part, in a line."""
    told = json.loads(response.content, parse_float=Decimal)
    vehicle = request.get("vehicle", {}).get("label", "unnamed")
    if response.status_code == HTTPStatus.CREATED:
        loudest = [caution["text"] for caution in told["cautions"] if caution["level"] == "danger"]
        return "\n    ! ".join([f"{vehicle}: {told['verdict'].upper()}. {told['summary']}", *loudest])
    faults = "; ".join(f"{fault['pointer']}: {fault['detail']}" for fault in told["errors"])
    return f"{vehicle}: NOT JUDGED. {faults or told['detail']}"


def events(client: AuthenticatedClient, cursor: Path) -> Iterator[dict[str, Any]]:
    """What happened since the last round; the cursor moves on once a page was dealt with, so that none is missed."""
    while True:
        after = {"after": cursor.read_text("ascii")} if cursor.exists() else {}
        response = list_events.sync_detailed(client=client, limit=200, **after)
        if response.status_code != HTTPStatus.OK:
            raise SystemExit(f"the feed cannot be read: {response.content.decode()}")
        page = json.loads(response.content, parse_float=Decimal)
        yield from page["items"]
        cursor.write_text(page["next"], "ascii")
        if not page["more"]:
            return


def main(inspections: Path, cursor: Path) -> int:
    """Run the round; 1 where a part could not be judged."""
    missed = 0
    told: dict[str, int] = {}
    address, key = os.environ["TURNRULE_URL"], os.environ["TURNRULE_KEY"]
    with AuthenticatedClient(address, token=key, timeout=httpx.Timeout(30)) as client:
        for request in json.loads(inspections.read_text("utf-8")):
            response = judged(client, request)
            missed += response.status_code != HTTPStatus.CREATED
            print(line(request, response))
        for event in events(client, cursor):
            told[event["kind"]] = told.get(event["kind"], 0) + 1
    print("since the last round:", ", ".join(f"{count} {kind}" for kind, count in sorted(told.items())) or "nothing")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), Path(sys.argv[2])))
