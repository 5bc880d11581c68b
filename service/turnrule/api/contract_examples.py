"""The examples of the contract: a request and its answer each, kept as files that docs and tests share."""

from __future__ import annotations

import functools
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

_PACKAGE = Path(__file__).resolve().parent.parent
_INSTALLED = _PACKAGE / "_examples"
_CHECKOUT = _PACKAGE.parent.parent / "openapi" / "examples"


class ExampleError(Exception):
    """The examples that came with this program are not there or not readable."""

    code = "unreadable_example"


@dataclass(frozen=True, slots=True)
class Example:
    """One request of the invented scenario with the answer that it gets.

    `scopes` is what the key behind it may do, None where it came without one; `after` names the examples that
    were sent before it. An `excerpt` shows some entries of a longer list. `sent` is the body as a document, `raw`
    the body as text where it is none.
    """

    name: str
    title: str
    operation: str
    method: str
    path: str
    scopes: tuple[str, ...] | None
    headers: Mapping[str, str]
    sent: object
    raw: str | None
    status: int
    answer_headers: Mapping[str, str]
    answered: object
    after: tuple[str, ...] = ()
    excerpt: bool = False

    @property
    def is_problem(self) -> bool:
        """True where the answer is a problem."""
        return self.status >= 400  # noqa: PLR2004 - the range of errors (RFC 9110)

    @property
    def component(self) -> str:
        """Its name among the components of the contract."""
        return self.name.replace("-", "_")


def examples_folder() -> Path:
    """The folder of the examples: beside the package in an installed copy, in the tree in a checkout."""
    for place in (_INSTALLED, _CHECKOUT):
        if place.is_dir():
            return place
    raise ExampleError(f"no examples in {_INSTALLED} and {_CHECKOUT}; install the program again")


@functools.cache
def examples() -> Mapping[str, Example]:
    """All examples by name, in the order of their names. Raises `ExampleError`."""
    files = sorted(examples_folder().glob("*.json"))
    return MappingProxyType({path.stem: _read(path) for path in files})


def examples_of(operation: str, *, problems: bool = False) -> Sequence[Example]:
    """The examples of one operation: those that succeed, or those that end in a problem."""
    return [one for one in examples().values() if one.operation == operation and one.is_problem is problems]


def _read(path: Path) -> Example:
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
        request, answer = document["request"], document["answer"]
        return Example(
            name=path.stem,
            title=document["title"],
            operation=document["operation"],
            method=request["method"],
            path=request["path"],
            scopes=None if request["scopes"] is None else tuple(request["scopes"]),
            headers=request.get("headers", {}),
            sent=request.get("body"),
            raw=request.get("text"),
            status=answer["status"],
            answer_headers=answer.get("headers", {}),
            answered=answer.get("body"),
            after=tuple(document.get("after", ())),
            excerpt=document.get("excerpt", False),
        )
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise ExampleError(f"{path.name}: {error!r}") from error
