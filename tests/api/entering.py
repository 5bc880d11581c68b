"""People who enter limits, enter them again, release and withdraw them; what they enter is invented."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from werkzeug.test import TestResponse

from tests.api.bodies import EXAMPLE_LIMITS, changed
from tests.api.callers import Caller
from turnrule.actions.numbers import write_exact

BREN = changed(
    EXAMPLE_LIMITS,
    application={"make": "Brennor", "model": "Tavik", "year_from": 2016, "year_to": 2019, "axle": "front"},
    source={
        "document": "Tavik brake data",
        "publisher": "Brennor",
        "section": "4.2",
        "edition": "2016-02",
        "issued": "2016-02-01",
    },
    effective_from="2016-02-01",
)
"""Limits of a vehicle that the store does not hold yet."""


def bren(**changes: object) -> dict[str, Any]:
    """The same with some fields changed; None takes one out."""
    document = {**BREN, **changes}
    return {name: value for name, value in document.items() if value is not None}


def second(**changes: object) -> dict[str, Any]:
    """A second entry of the same, as short as it may be."""
    return {name: value for name, value in bren(**changes).items() if name not in {"source", "effective_from"}}


@dataclass(frozen=True, slots=True)
class Person:
    """Someone with a key, at the desk where limits are entered."""

    caller: Caller

    def get(self, path: str) -> TestResponse:
        """Read something."""
        return self.caller.get(path)

    def enter(self, body: object = BREN, **headers: str) -> TestResponse:
        """Enter limits."""
        return self.caller.post("/v1/limits", write_exact(body), **headers)

    def verify(self, limits_id: str, body: object = None, **headers: str) -> TestResponse:
        """Enter limits a second time."""
        sent = write_exact(second() if body is None else body)
        return self.caller.post(f"/v1/limits/{limits_id}/verifications", sent, **headers)

    def withdraw(
        self, limits_id: str, reason: str = "the table is another rotor's", revision: int | None = None, **headers: str
    ) -> TestResponse:
        """Withdraw a record, or give up a draft."""
        body: dict[str, object] = {"reason": reason} | ({} if revision is None else {"revision": revision})
        return self.caller.post(f"/v1/limits/{limits_id}/withdrawals", write_exact(body), **headers)

    def publish(self, notes: str = "more limits", follows: int | None = None, **headers: str) -> TestResponse:
        """Publish what is verified."""
        body: dict[str, object] = {"notes": notes} | ({} if follows is None else {"follows": follows})
        return self.caller.post("/v1/releases", write_exact(body), **headers)


def code_of(response: TestResponse) -> tuple[int, str]:
    """Status and problem of a refusal."""
    problem = response.get_json()
    assert response.headers["Content-Type"] == "application/problem+json", problem
    return response.status_code, problem["type"].removeprefix("/problems/")


def faults_of(response: TestResponse) -> list[tuple[str, str]]:
    """Pointer and code of every fault that an answer tells."""
    return [(fault["pointer"], fault["code"]) for fault in response.get_json()["errors"]]


def entered(person: Person, body: object = BREN) -> str:
    """The id of limits that were entered without trouble."""
    response = person.enter(body)
    assert response.status_code == 201, response.get_json()
    limits_id: str = response.get_json()["limits_id"]
    return limits_id


def verified(first: Person, other: Person, body: dict[str, Any] | None = None) -> str:
    """The id of limits that two people have entered alike."""
    limits_id = entered(first, BREN if body is None else body)
    response = other.verify(limits_id, None if body is None else again(body))
    assert response.status_code == 201, response.get_json()
    return limits_id


def again(body: dict[str, Any]) -> dict[str, Any]:
    """A body as it is entered a second time."""
    left_out = {"corrects", "reason", "answered_warnings"}
    return {name: value for name, value in body.items() if name not in left_out}


def corrected(limits_id: str, revision: int = 1, **changes: object) -> dict[str, Any]:
    """A correction of the limits."""
    reason = "the first entry was read from the row below"
    return bren(corrects={"limits_id": limits_id, "revision": revision}, reason=reason, **changes)
