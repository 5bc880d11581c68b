"""What the contract says of one operation: its names, who may call it, what it takes, what it can answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from turnrule.api.contract_parts import Schema
from turnrule.api.shapes import Shape

JSON = "application/json"
KEYED = ("Unauthorized", "TooManyRequests", "Unavailable")
"""Problems of every operation that asks for a key."""

ALWAYS = ("AddressTooLong", "HeadersTooLarge", "MethodNotAllowed", "InternalError")
"""Problems of every operation."""

KEPT = ("ETag", "Cache-Control")

VERDICTS, LIMITS, CATALOGUES, POLICIES, SERVICE = "Verdicts", "Limits", "Catalogues", "Policies", "Service"
LATHES = "Lathes"
REPORTS = "Reports"

TAGS = {
    VERDICTS: "The main job: one part measured, judged and recorded; and the records.",
    LIMITS: "What governs: the limits as they were released, each with its document, and what is not there yet.",
    CATALOGUES: "What may be seen on a part, what to mind, and the rules in words.",
    POLICIES: "What a fleet or shop asks for beyond the limits; a policy only ever tightens.",
    REPORTS: "What a fleet looks at: verdicts counted, policies that were not kept, whom to call back, what happens.",
    LATHES: "The shop's own lathes in figures, as passes are planned with them.",
    SERVICE: "Whether the service lives and is ready, what it counts, what its problems mean, and this contract.",
}


@dataclass(frozen=True, slots=True)
class Success:
    """An answer that is no problem: its schema or media type, its headers, and links to what can be asked next.

    `other_types` are further media types in which it can be had, each with its schema or None for text.
    """

    status: int
    description: str
    schema: str | None = None
    headers: tuple[str, ...] = ()
    media_type: str | None = JSON
    links: Mapping[str, Schema] = field(default_factory=dict)
    other_types: Mapping[str, str | None] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Operation:
    """One method of one path. `scopes` is None where no key is asked for, and empty where any key will do.

    `parameters` and `problems` are names among the components; what all operations share is not listed. `forbidden`
    is the response to a key that may not do this. `other_bodies` are media types that are read beside JSON, each with
    its schema or None for text.
    """

    id: str
    method: str
    path: str
    tag: str
    summary: str
    description: str
    answers: tuple[Success, ...]
    scopes: tuple[str, ...] | None = ()
    query: Shape | None = None
    body: str | None = None
    parameters: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    forbidden: str = "Forbidden"
    other_bodies: Mapping[str, str | None] = field(default_factory=dict)

    @property
    def is_kept(self) -> bool:
        """True where a caller may keep the answer and ask whether it still holds."""
        return self.method == "get" and any("ETag" in answer.headers for answer in self.answers)

    @property
    def all_problems(self) -> tuple[str, ...]:
        """Every response that is a problem."""
        if self.scopes is None:
            return (*self.problems, *ALWAYS)
        forbidden = (self.forbidden,) if self.scopes else ()
        return (*self.problems, *KEYED, *forbidden, *ALWAYS)


def link(operation: str, description: str, **parameters: str) -> Schema:
    """A link to another operation, its parameters taken from this answer."""
    return {"operationId": operation, "parameters": parameters, "description": description}


def kept(schema: str, description: str, *headers: str, links: Mapping[str, Schema] | None = None) -> Success:
    """An answer that the caller may keep."""
    return Success(200, description, schema, (*KEPT, *headers), links=links or {})


def for_ever(schema: str, description: str, links: Mapping[str, Schema] | None = None) -> Success:
    """An answer that the caller may keep without asking again: it never changes."""
    return Success(200, f"{description} It never changes.", schema, KEPT, links=links or {})


def listing(schema: str, description: str, operation: str, links: Mapping[str, Schema] | None = None) -> Success:
    """A page of a list, with the link to the next one."""
    following = {"next": link(operation, "The next page.", after="$response.body#/next")}
    return kept(schema, description, "Link", links={**following, **(links or {})})
