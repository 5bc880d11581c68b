"""`turnrule policy` and `turnrule site`, from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.running import turnrule


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a store in it."""
    assert turnrule("store", "migrate", folder=tmp_path).code == 0
    return tmp_path


@pytest.fixture
def key(folder: Path) -> str:
    """A key that may write policies."""
    made = turnrule("keys", "create", "office", "--scope", "policies:write", "--json", folder=folder)
    return str(json.loads(made.out)["key"])


def written(folder: Path, body: dict[str, object]) -> str:
    """A file with a policy body."""
    (folder / "north.json").write_text(json.dumps({"unit": "mm", **body}), encoding="utf-8")
    return "north.json"


def test_a_policy_is_written_shown_listed_and_compared(folder: Path, key: str) -> None:
    file = written(folder, {"groove_limit": 0.3, "why": "Steep roads."})
    first = turnrule("policy", "write", "north", file, "--over", "0", folder=folder, TURNRULE_KEY=key)
    assert (first.code, first.out) == (0, "1\n")
    assert "north, revision 1 is written, over default, revision 1." in first.err
    file = written(folder, {"groove_limit": 0.35, "wear_allowance": 0.5})
    second = turnrule("policy", "write", "north", file, "--json", folder=folder, TURNRULE_KEY=key)
    assert json.loads(second.out)["effective"]["wear_allowance"] == 0.5
    stale = turnrule("policy", "write", "north", file, "--over", "1", folder=folder, TURNRULE_KEY=key)
    assert (stale.code, "the newest revision of north is 2" in stale.err) == (3, True)
    told = turnrule("policy", "changes", "north", folder=folder)
    assert "Greatest groove depth: 0.35 mm; before, 0.3 mm. This is looser." in told.out
    assert "1 stricter, 1 looser, 1 other" in told.err
    as_json = json.loads(
        turnrule("policy", "changes", "north", "--against", "careful_bench", "--json", folder=folder).out
    )
    assert as_json["old"] == {"name": "careful_bench", "revision": 1}
    shown = turnrule("policy", "show", "north", "--revision", "1", folder=folder)
    assert json.loads(shown.out)["document"]["why"] == "Steep roads."
    listed = turnrule("policy", "list", folder=folder)
    assert "north, revision 2  by office  tightens default, revision 1" in listed.out
    lines = turnrule("policy", "list", "--json", folder=folder).out.splitlines()
    assert {json.loads(line)["name"] for line in lines} >= {"default", "north", "careful_bench"}


def test_what_loosens_or_is_not_there_is_refused_in_words(folder: Path, key: str) -> None:
    file = written(folder, {"groove_limit": 0.5})
    refused = turnrule("policy", "write", "north", file, folder=folder, TURNRULE_KEY=key)
    assert refused.code == 3
    assert "/groove_limit: 0.5 mm is looser than the 0.38 mm that it inherits" in refused.err
    assert turnrule("policy", "write", "north", file, folder=folder).code == 2
    assert turnrule("policy", "show", "nobody", folder=folder).code == 3
    assert turnrule("policy", "changes", "default", folder=folder).code == 2


def test_a_site_is_given_a_policy_and_listed(folder: Path, key: str) -> None:
    given = turnrule("site", "set", "North", "careful_bench", folder=folder, TURNRULE_KEY=key)
    assert (given.code, given.out) == (0, "1\n")
    assert "North is judged under careful_bench from now on." in given.err
    stale = turnrule("site", "set", "North", "default", "--over", "0", folder=folder, TURNRULE_KEY=key)
    assert (stale.code, "the newest revision of North is 1" in stale.err) == (3, True)
    unknown = turnrule("site", "set", "North", "carefull_bench", folder=folder, TURNRULE_KEY=key)
    assert (unknown.code, "there is careful_bench" in unknown.err) == (3, True)
    assert turnrule("site", "list", folder=folder).out.startswith("North\tcareful_bench\t")
    [line] = turnrule("site", "list", "--json", folder=folder).out.splitlines()
    assert json.loads(line)["written_by"] == "office"
