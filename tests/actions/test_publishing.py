"""Entries become revisions under ids that tell what they are for; a release's digest is that of its content."""

from __future__ import annotations

import dataclasses
from typing import Any

from tests.api.bodies import DRUM_LIMITS, EXAMPLE_LIMITS, changed, exact
from turnrule.actions.publishing import as_revisions, content_digest, limits_id_of
from turnrule.api.limits_schemas import read_limits


def test_an_id_tells_what_the_record_is_for() -> None:
    assert limits_id_of(read_limits(exact(EXAMPLE_LIMITS))) == "corvane-ostrel-2021-front-rotor-b16"
    application = changed(DRUM_LIMITS)["application"] | {"make": "\u041f\u0430\u0440", "model": "+"}
    assert limits_id_of(read_limits(changed(DRUM_LIMITS, application=application))) == "2018-rear-drum"


def test_entries_of_the_same_name_get_ids_of_their_own() -> None:
    entry = read_limits(exact(EXAMPLE_LIMITS))
    rows = as_revisions([entry] * 3, entered_by="one", verified_by="two")
    stem = "corvane-ostrel-2021-front-rotor-b16"
    assert [row.limits_id for row in rows] == [stem, f"{stem}-2", f"{stem}-3"]
    assert {(row.revision, row.entered_by, row.verified_by) for row in rows} == {(1, "one", "two")}
    assert rows[0].printed["discard_thickness"] == "24.0"


def test_the_digest_is_of_the_content_in_whatever_order_and_of_all_of_it() -> None:
    entries = [read_limits(exact(body)) for body in (EXAMPLE_LIMITS, DRUM_LIMITS)]
    rows = as_revisions(entries, entered_by="one", verified_by="two")
    digest = content_digest(rows)
    assert digest == content_digest(reversed(rows))
    for field in dataclasses.fields(rows[0]):
        changes: dict[str, Any] = {field.name: "another"}
        other = dataclasses.replace(rows[0], **changes)
        assert content_digest([other, rows[1]]) != digest, field.name
    assert content_digest(rows[:1]) != digest
