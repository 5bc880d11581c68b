"""Imports: all rows or none, by the rules that hold for every entry, and told whole."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from tests.actions.filing import bring_in, drafts, hold_against, person
from tests.api.bodies import exact
from tests.api.callers import Clock
from tests.api.limit_files.reading import HEADER, LINE, csv_file, line
from turnrule.actions.desk import Desk
from turnrule.actions.entering import enter_limits
from turnrule.actions.file_rows import Row, RowFault
from turnrule.actions.importing import import_entries
from turnrule.actions.refusals import RefusedError
from turnrule.actions.requests import LimitsEntry
from turnrule.api.faults import FaultsError
from turnrule.api.limit_files.opening import opened
from turnrule.api.limit_files.reading import FIRST_ENTRIES
from turnrule.api.limits_schemas import read_unchecked_limits
from turnrule.store.errors import OverlapError
from turnrule.store.limit_records import EntryState

REAR = line(axle="rear", brake_option="", nominal="10.0", machining_limit="8.6", discard_limit="8.0")
MORE = HEADER + ",limits_id,corrects_revision,reason,answered_warnings"
UNUSUAL = line(machining_limit="25.7")
"""Three tenths of a millimetre from new to the machining limit."""


def _code(desk: Desk, tmp_path: Path) -> tuple[str, str]:
    """The code and column of the one warning that the unusual row is answered with."""
    [fault] = bring_in(desk, csv_file(tmp_path, UNUSUAL), dry_run=True).faults
    assert fault.is_warning
    return fault.code, fault.column


def test_rows_become_drafts_like_any_other(desk: Desk, clock: Clock, tmp_path: Path) -> None:
    filed = bring_in(desk, csv_file(tmp_path, LINE, REAR))
    assert (filed.done.rows, filed.done.drafts, filed.done.passed) == (2, 2, True)
    found = drafts(desk)
    assert len(found) == 2
    for draft in found:
        assert draft.state is EntryState.DRAFT
        assert (draft.revision.entered_by, draft.revision.entered_at) == ("anna", clock.now)
        assert draft.revision.verified_by == ""
        assert draft.revision.limits_id.startswith("corvane-ostrel-")
    assert desk.store.waiting() == 0


def test_one_bad_row_keeps_all_out_and_every_fault_is_told(desk: Desk, tmp_path: Path) -> None:
    path = csv_file(tmp_path, LINE, line(axle="frnt"), REAR, line(discard_limit="26,0".join('""')))
    filed = bring_in(desk, path)
    assert filed.told == [(3, "axle", "invalid_choice"), (5, "discard_limit", "invalid_number")]
    assert (filed.done.rows, filed.done.drafts, filed.done.faults) == (4, 0, 2)
    assert not drafts(desk)


def test_rows_that_are_named_go_in_whatever_the_others_are(desk: Desk, tmp_path: Path) -> None:
    filed = bring_in(desk, csv_file(tmp_path, LINE, line(axle="frnt"), REAR), rows="2,4")
    assert (filed.done.rows, filed.done.drafts, filed.faults) == (2, 2, [])
    assert len(drafts(desk)) == 2


def test_a_dry_run_tells_the_same_and_stores_nothing(desk: Desk, tmp_path: Path) -> None:
    good = bring_in(desk, csv_file(tmp_path, LINE), dry_run=True)
    assert (good.done.rows, good.done.drafts, good.done.passed) == (1, 0, True)
    bad = csv_file(tmp_path, line(axle="frnt"), LINE, LINE)
    assert bring_in(desk, bad, dry_run=True).faults == bring_in(desk, bad).faults
    assert not drafts(desk)


def test_a_row_for_vehicles_that_a_live_record_is_for_is_refused(desk: Desk, tmp_path: Path) -> None:
    assert bring_in(desk, csv_file(tmp_path, LINE)).done.drafts == 1
    filed = bring_in(desk, csv_file(tmp_path, REAR, line(year_from="2019", year_to="2021")))
    assert filed.told == [(3, "", "overlap")]
    assert "make its second entry" in filed.faults[0].remedy
    assert len(drafts(desk)) == 1


def test_rows_of_one_file_for_the_same_vehicles_are_refused(desk: Desk, tmp_path: Path) -> None:
    filed = bring_in(desk, csv_file(tmp_path, LINE, REAR, line(make="CORVANE"), line(year_from="2020")))
    assert {(row, code) for row, _, code in filed.told} == {(2, "overlap"), (4, "overlap")}
    assert "row 5 is for some of the same vehicles" in filed.faults[0].remedy
    assert not drafts(desk)


def test_records_may_come_with_their_ids_and_an_id_stands_once(desk: Desk, tmp_path: Path) -> None:
    assert bring_in(desk, csv_file(tmp_path, f"{LINE},front-1,,,", header=MORE)).done.drafts == 1
    assert drafts(desk)[0].revision.limits_id == "front-1"
    taken = bring_in(desk, csv_file(tmp_path, f"{REAR},front-1,,,", header=MORE))
    assert taken.told == [(2, "limits_id", "name_taken")]
    twice = csv_file(tmp_path, f"{REAR},rear-1,,,", f"{line(axle='third')},rear-1,,,", header=MORE)
    told = bring_in(desk, twice, accepted={"unusual_axle": "the vehicle has three axles"}).told
    assert told == [(3, "limits_id", "doubled_id")]


def _released(desk: Desk, tmp_path: Path) -> None:
    """Record front-1 accepted in its first revision."""
    path = csv_file(tmp_path, f"{LINE},front-1,,,", header=MORE)
    assert bring_in(desk, path).done.drafts == 1
    assert hold_against(desk, path).done.all_verified


def test_a_correction_names_the_newest_accepted_revision(desk: Desk, tmp_path: Path) -> None:
    _released(desk, tmp_path)
    thicker = line(discard_limit="24.1")
    stale = csv_file(tmp_path, f"{thicker},front-1,2,The maker has changed it.,", header=MORE)
    filed = bring_in(desk, stale)
    assert filed.told == [(2, "corrects_revision", "stale_revision")]
    assert "is 1" in filed.faults[0].remedy
    unknown = csv_file(tmp_path, f"{thicker},front-9,1,The maker has changed it.,", header=MORE)
    assert (2, "corrects_revision", "stale_revision") in bring_in(desk, unknown).told
    right = csv_file(tmp_path, f"{thicker},front-1,1,The maker has changed it.,", header=MORE)
    assert bring_in(desk, right).done.drafts == 1
    [draft] = drafts(desk)
    assert (draft.revision.revision, draft.revision.reason) == (2, "The maker has changed it.")
    assert bring_in(desk, right).told == [(2, "corrects_revision", "draft_open")]


def test_a_warning_holds_the_file_up_until_it_is_answered(desk: Desk, tmp_path: Path) -> None:
    code, column = _code(desk, tmp_path)
    for rows, number in (((UNUSUAL, REAR), 2), ((REAR, UNUSUAL), 3)):
        filed = bring_in(desk, csv_file(tmp_path, *rows))
        assert filed.told == [(number, column, code)]
        assert (filed.done.faults, filed.done.warnings, filed.done.passed) == (0, 1, False)
        assert not drafts(desk)


@pytest.mark.parametrize("about", ["", " @{column}"])
def test_a_row_answers_its_own_warning_and_the_reason_is_kept(desk: Desk, about: str, tmp_path: Path) -> None:
    code, column = _code(desk, tmp_path)
    cell = f"{code}{about.format(column=column)}: read twice in the table"
    filed = bring_in(desk, csv_file(tmp_path, f"{UNUSUAL},,,,{cell}", header=MORE))
    assert (filed.done.drafts, filed.done.answered, filed.done.idle) == (1, 1, 0)
    [draft] = drafts(desk)
    assert [(one.code, one.reason) for one in draft.revision.warnings] == [(code, "read twice in the table")]
    assert draft.revision.warnings[0].detail


def test_one_reason_answers_all_warnings_of_its_code_and_is_counted(desk: Desk, tmp_path: Path) -> None:
    code, _ = _code(desk, tmp_path)
    own = f"{UNUSUAL.replace('front', 'rear')},,,,{code}: read twice in the table"
    path = csv_file(tmp_path, f"{UNUSUAL},,,,", own, header=MORE)
    filed = bring_in(desk, path, accepted={code: "a series of thin rotors", "unusual_value": "all of them are"})
    assert (filed.done.drafts, dict(filed.done.accepted), filed.done.answered) == (2, {code: 1}, 1)
    reasons = {draft.revision.fits.axle.value: draft.revision.warnings[0].reason for draft in drafts(desk)}
    assert reasons == {"front": "a series of thin rotors", "rear": "read twice in the table"}


def test_an_answer_to_another_warning_does_not_help(desk: Desk, tmp_path: Path) -> None:
    code, column = _code(desk, tmp_path)
    filed = bring_in(
        desk,
        csv_file(tmp_path, f"{UNUSUAL},,,,{code}x: read twice in the table", header=MORE),
        accepted={"unusual_value": "all of them are"},
    )
    assert filed.told == [(2, column, code)]
    elsewhere = csv_file(tmp_path, f"{UNUSUAL},,,,{code} @nominal: read twice in the table", header=MORE)
    assert bring_in(desk, elsewhere).told == [(2, column, code)]


def test_answers_to_what_was_not_raised_here_are_counted_and_left_out(desk: Desk, tmp_path: Path) -> None:
    filed = bring_in(desk, csv_file(tmp_path, f"{LINE},,,,unusual_value: read twice in the table", header=MORE))
    assert (filed.done.drafts, filed.done.idle, filed.done.answered) == (1, 1, 0)
    assert drafts(desk)[0].revision.warnings == ()


def test_what_a_row_shows_by_itself_is_told_with_what_the_store_says_of_it(desk: Desk, tmp_path: Path) -> None:
    assert bring_in(desk, csv_file(tmp_path, LINE)).done.drafts == 1
    path = csv_file(tmp_path, line(machining_limit="23.6", nominal="x"), line(machining_limit="23.6"))
    assert set(bring_in(desk, path).told) == {
        (2, "nominal", "invalid_number"),
        (2, "machining_limit", "machining_past_discard"),
        (3, "", "overlap"),
        (3, "machining_limit", "machining_past_discard"),
    }


def test_a_row_that_is_refused_tells_its_warnings_as_warnings(desk: Desk, tmp_path: Path) -> None:
    code, column = _code(desk, tmp_path)
    assert bring_in(desk, csv_file(tmp_path, LINE)).done.drafts == 1
    both = csv_file(tmp_path, UNUSUAL)
    told = [(fault.column, fault.code, fault.is_warning) for fault in bring_in(desk, both).faults]
    assert told == [("", "overlap", False), (column, code, True)]
    accepted = bring_in(desk, both, accepted={code: "a series of thin rotors"})
    assert [fault.code for fault in accepted.faults] == ["overlap"]


def test_json_bodies_bring_their_answers_themselves(desk: Desk, tmp_path: Path) -> None:
    code, column = _code(desk, tmp_path)
    names = {"machining_limit": "minimum_machining_thickness", "discard_limit": "discard_thickness"}
    document = {
        "unit": "mm",
        "kind": "rotor",
        "application": {"make": "Corvane", "model": "Ostrel", "year_from": 2021, "axle": "front"},
        "nominal_thickness": 26.0,
        "minimum_machining_thickness": 25.7,
        "discard_thickness": 24.0,
        "source": {"document": "Manual", "publisher": "Corvane", "section": "6.2", "edition": "2023-04"},
        "effective_from": "2021-01-01",
    }
    path = tmp_path / "a.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    told = {(fault.column, fault.code) for fault in bring_in(desk, path).faults}
    assert (f"/{names[column]}", code) in told
    answers = [{"code": one, "pointer": pointer, "reason": "read twice in the table"} for pointer, one in told]
    path.write_text(json.dumps(document | {"answered_warnings": answers}), encoding="utf-8")
    assert bring_in(desk, path).done.answered == len(told)


@pytest.mark.parametrize(
    "changes",
    [
        {"machining_limit": "23.6"},
        {"unit": "in"},
        {"year_to": "2020"},
        {"section": "n/a"},
        {"nominal": "260"},
        {"effective_from": "2031-01-01"},
        {"machining_limit": "25.7"},
        {"axle": "third"},
    ],
)
def test_a_file_is_refused_and_warned_of_as_a_request_is(desk: Desk, changes: dict[str, str], tmp_path: Path) -> None:
    row = line(**changes)
    cells = dict(zip(HEADER.split(","), row.split(","), strict=True))
    body: dict[str, object] = {
        "unit": cells["unit"],
        "kind": cells["kind"],
        "application": {
            "make": cells["make"],
            "model": cells["model"],
            "year_from": int(cells["year_from"]),
            "year_to": int(cells["year_to"]),
            "axle": cells["axle"],
            "brake_option": cells["brake_option"],
        },
        "source": {name: cells[name] for name in ("publisher", "document", "section", "edition", "issued")},
        "effective_from": cells["effective_from"],
    }
    figures = {
        "nominal_thickness": cells["nominal"],
        "minimum_machining_thickness": cells["machining_limit"],
        "discard_thickness": cells["discard_limit"],
    }
    text = json.dumps(body)[:-1] + "".join(f', "{name}": {digits}' for name, digits in figures.items()) + "}"
    with pytest.raises((RefusedError, FaultsError)) as refused:
        enter_limits(desk, read_unchecked_limits(exact(text)), person(desk, "anna"))
    error = refused.value
    assert isinstance(error, RefusedError | FaultsError)
    asked = {fault.code for fault in error.faults}
    assert asked
    assert {fault.code for fault in bring_in(desk, csv_file(tmp_path, row)).faults} == asked


def test_ids_that_chance_made_twice_are_made_again(desk: Desk, tmp_path: Path) -> None:
    made = iter(["aaaaaa", "aaaaaa", "bbbbbb", "bbbbbb", "aaaaaa", *(f"c{number:05}" for number in range(99))])
    luckless = replace(desk, make_id=lambda _at: f"01k{next(made)}")
    assert bring_in(luckless, csv_file(tmp_path, LINE)).done.drafts == 1
    filed = bring_in(
        luckless, csv_file(tmp_path, REAR, REAR.replace("rear,,", "rear,B2,"), REAR.replace("rear,,", "rear,B3,"))
    )
    assert filed.faults == []
    assert len({draft.revision.limits_id for draft in drafts(desk)}) == 4


def test_where_somebody_else_gets_in_between_nothing_is_kept(desk: Desk, tmp_path: Path) -> None:
    path = csv_file(tmp_path, REAR, LINE)

    def meanwhile() -> Iterator[Row[LimitsEntry]]:
        with opened(path, FIRST_ENTRIES) as found:
            entry = None
            for row in found.rows:
                entry = row.entry
                yield row
        assert entry is not None
        enter_limits(desk, entry, person(desk, "otto"))

    faults: list[RowFault] = []
    told: list[tuple[int, int]] = []
    with pytest.raises(OverlapError):
        import_entries(
            desk,
            meanwhile(),
            person(desk, "anna"),
            accepted={},
            tell=faults.append,
            storing=lambda done, of: told.append((done, of)),
        )
    assert [draft.revision.entered_by for draft in drafts(desk)] == ["otto"]
    assert not faults
    assert told[-1] == (2, 2)


def test_a_file_with_nothing_in_it_is_told(desk: Desk, tmp_path: Path) -> None:
    filed = bring_in(desk, csv_file(tmp_path))
    assert filed.told == [(0, "", "no_rows")]
    assert (filed.done.rows, filed.done.passed) == (0, False)
