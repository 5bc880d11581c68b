"""Writes the answers of the examples anew: `python -m tests.api.write_examples`, after an answer changed on purpose.

The requests are written by hand and stay as they are.
"""

from __future__ import annotations

import json
import sys
import tempfile
from decimal import Decimal
from pathlib import Path
from typing import Any

from werkzeug.test import TestResponse

from tests.api.demo_service import DemoService, demo_service
from turnrule.actions.numbers import read_exact, text_of
from turnrule.api.contract_examples import Example, examples, examples_folder
from turnrule.api.lines import NDJSON
from turnrule.pack import load_pack

TOLD = ("Location", "Link", "Idempotency-Replayed", "WWW-Authenticate", "Allow", "Retry-After")
"""Headers that an example shows."""

WIDE = 118
EXCERPT = 3


def as_text(value: object, indent: int = 0) -> str:
    """JSON with exact numbers, short lists and objects on one line."""
    flat = _flat(value)
    if len(flat) + indent <= WIDE or not isinstance(value, dict | list) or not value:
        return flat
    pad = " " * (indent + 2)
    if isinstance(value, dict):
        inner = [f"{pad}{json.dumps(name)}: {as_text(one, indent + 2)}" for name, one in value.items()]
        return "{\n" + ",\n".join(inner) + "\n" + " " * indent + "}"
    return "[\n" + ",\n".join(f"{pad}{as_text(one, indent + 2)}" for one in value) + "\n" + " " * indent + "]"


def _flat(value: object) -> str:
    if isinstance(value, Decimal):
        return text_of(value)
    if isinstance(value, dict):
        return "{" + ", ".join(f"{json.dumps(name)}: {_flat(one)}" for name, one in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_flat, value)) + "]"
    return json.dumps(value, ensure_ascii=False)


def answered(service: DemoService, example: Example) -> dict[str, Any]:
    """What the service answers to an example now."""
    response = service.send(example)
    answer: dict[str, Any] = {"status": response.status_code}
    headers = {name: response.headers[name] for name in TOLD if name in response.headers}
    if headers:
        answer["headers"] = headers
    if response.data:
        answer["body"] = _read(response)
        if example.excerpt:
            answer["body"]["items"] = _excerpt(example, answer["body"]["items"])
    return answer


def _read(response: TestResponse) -> Any:  # noqa: ANN401 - a document of any shape
    """The document of an answer; of a stream of lines the list of their documents."""
    if response.mimetype == NDJSON:
        return [read_exact(line) for line in response.data.splitlines()]
    return read_exact(response.data)


def _excerpt(example: Example, items: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The entries that the example shows already, or the first few."""
    shown = example.answered["items"] if isinstance(example.answered, dict) else []
    codes = [item["code"] for item in shown] or [item["code"] for item in items[:EXCERPT]]
    return [item for item in items if item["code"] in codes]


def main() -> None:
    """Write every example whose answer differs."""
    pack = load_pack()
    for name, example in examples().items():
        path = examples_folder() / f"{name}.json"
        before = path.read_text(encoding="utf-8")
        with tempfile.TemporaryDirectory() as folder, demo_service(Path(folder), pack) as service:
            document = read_exact(before.encode())
            document["answer"] = answered(service, example)
        after = as_text(document) + "\n"
        if after != before:
            path.write_text(after, encoding="utf-8")
            sys.stderr.write(f"{path.name}: written ({document['answer']['status']})\n")


if __name__ == "__main__":
    main()
