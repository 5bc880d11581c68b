"""Entries become revisions under ids that tell what they are for."""

from __future__ import annotations

from tests.api.bodies import DRUM_LIMITS, EXAMPLE_LIMITS, changed, exact
from turnrule.actions.publishing import as_revisions, limits_id_of
from turnrule.api.limits_schemas import read_limits


def test_an_id_tells_what_the_record_is_for() -> None:
    assert limits_id_of(read_limits(exact(EXAMPLE_LIMITS))) == "corvane-ostrel-2021-front-rotor-b16"
    application = changed(DRUM_LIMITS)["application"] | {"make": "\u041f\u0430\u0440", "model": "\u0416"}
    assert limits_id_of(read_limits(changed(DRUM_LIMITS, application=application))) == "2018-rear-drum"


def test_entries_of_the_same_name_get_ids_of_their_own() -> None:
    entry = read_limits(exact(EXAMPLE_LIMITS))
    rows = as_revisions([entry] * 3, entered_by="one", verified_by="two")
    stem = "corvane-ostrel-2021-front-rotor-b16"
    assert [row.limits_id for row in rows] == [stem, f"{stem}-2", f"{stem}-3"]
    assert {(row.revision, row.entered_by, row.verified_by) for row in rows} == {(1, "one", "two")}
    assert rows[0].printed["discard_thickness"] == "24.0"
