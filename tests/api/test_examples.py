"""Every example of the contract is sent to the real service and answered as it says."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.api.demo_service import DemoService, demo_service
from tests.api.write_examples import TOLD, answered, as_text
from turnrule.actions.numbers import read_exact
from turnrule.api.contract_examples import Example, ExampleError, examples, examples_folder
from turnrule.api.contract_operations import OPERATIONS
from turnrule.pack import Pack

DIGEST = re.compile(r"sha256:[0-9a-f]{64}")
NEEDED = {
    "verdict-machine",
    "verdict-drum-in-inches",
    "verdict-inconclusive",
    "verdict-replace",
    "verdict-after-machining",
    "problem-unit-missing",
    "problem-unknown-application",
    "problem-unknown-field",
    "limits-look-up",
    "findings-excerpt",
}


@pytest.fixture
def service(tmp_path: Path, pack: Pack) -> Iterator[DemoService]:
    """The service over the demo's limits."""
    with demo_service(tmp_path, pack) as ready:
        yield ready


def without_digests(value: Any) -> Any:  # noqa: ANN401 - a document of any shape
    """The same with every digest, and the version of the pack, replaced: they follow the pack's every letter."""
    if isinstance(value, dict):
        if set(value) == {"version", "digest"}:
            return "a pack"
        return {name: without_digests(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [without_digests(inner) for inner in value]
    return "a digest" if isinstance(value, str) and DIGEST.fullmatch(value) else value


def kept(example: Example) -> dict[str, Any]:
    """The answer that the file keeps, its numbers exact."""
    document = read_exact((examples_folder() / f"{example.name}.json").read_bytes())
    answer: dict[str, Any] = document["answer"]
    return answer


@pytest.mark.parametrize("example", examples().values(), ids=lambda example: example.name)
def test_the_service_answers_the_example_as_it_says(service: DemoService, example: Example) -> None:
    expected, now = without_digests(kept(example)), without_digests(answered(service, example))
    if example.operation == "isReady":
        expected["body"]["pack"] = now["body"]["pack"]
    assert now == expected


@pytest.mark.parametrize("example", examples().values(), ids=lambda example: example.name)
def test_the_example_is_written_as_the_writer_writes_it(example: Example) -> None:
    text = (examples_folder() / f"{example.name}.json").read_text(encoding="utf-8")
    assert text == as_text(read_exact(text.encode())) + "\n"


def test_the_examples_that_callers_look_for_are_there() -> None:
    assert examples().keys() >= NEEDED


def test_every_operation_that_answers_json_has_an_example_that_succeeds() -> None:
    shown = {example.operation for example in examples().values() if not example.is_problem}
    asked = {operation.id for operation in OPERATIONS if operation.id != "readContract" and operation.answers[0].schema}
    assert shown == asked


def test_every_verdict_stands_in_some_example() -> None:
    verdicts = {
        example.answered["verdict"]
        for example in examples().values()
        if example.operation == "judgePart" and not example.is_problem and isinstance(example.answered, dict)
    }
    assert verdicts == {"serviceable", "machine", "inconclusive", "replace"}


def test_headers_that_an_answer_has_are_told_by_its_example() -> None:
    told = {name for example in examples().values() for name in example.answer_headers}
    assert told == set(TOLD) - {"Retry-After"}


def test_an_example_that_cannot_be_read_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "broken.json").write_text('{"title": "no request"}', encoding="utf-8")
    monkeypatch.setattr("turnrule.api.contract_examples._INSTALLED", tmp_path)
    examples.cache_clear()
    try:
        with pytest.raises(ExampleError, match=r"broken\.json"):
            examples()
    finally:
        examples.cache_clear()


def test_where_there_are_no_examples_the_remedy_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("turnrule.api.contract_examples._INSTALLED", tmp_path / "none")
    monkeypatch.setattr("turnrule.api.contract_examples._CHECKOUT", tmp_path / "neither")
    with pytest.raises(ExampleError, match="install the program again"):
        examples_folder()
