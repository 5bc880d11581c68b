"""`turnrule store rules` and a store for one person, from the command line."""

from __future__ import annotations

import json
from pathlib import Path

from tests.cli.running import turnrule

KEY = "0f" * 32


def test_a_store_for_one_person_is_made_so_and_says_so(tmp_path: Path) -> None:
    assert turnrule("store", "migrate", "--one-person", "--pause-hours", "36", folder=tmp_path).code == 0
    shown = turnrule("store", "rules", folder=tmp_path)
    assert "or by one after 36 hours" in shown.out
    as_json = json.loads(turnrule("store", "rules", "--json", folder=tmp_path).out)
    assert as_json == {"one_person_pause_hours": 36.0, "signed_packs_only": False, "trusted_keys": []}


def test_rules_are_tightened_and_refused_in_words(tmp_path: Path) -> None:
    assert turnrule("store", "migrate", folder=tmp_path).code == 0
    refused = turnrule("store", "rules", "--signed-packs-only", folder=tmp_path)
    assert (refused.code, "trust a key first" in refused.err) == (3, True)
    tightened = turnrule("store", "rules", "--trust", KEY, "--signed-packs-only", folder=tmp_path)
    assert tightened.code == 0
    assert f"Trusted key: {KEY}" in tightened.out
    assert "signed ones only" in tightened.out
    assert "by two people." in tightened.out
    assert turnrule("store", "rules", "--distrust", KEY, folder=tmp_path).code == 0
    assert json.loads(turnrule("store", "rules", "--json", folder=tmp_path).out)["trusted_keys"] == []


def test_a_pause_of_less_than_an_hour_is_a_usage_error(tmp_path: Path) -> None:
    assert turnrule("store", "migrate", "--one-person", "--pause-hours", "0", folder=tmp_path).code == 2
