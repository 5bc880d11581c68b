"""Second entries from a file: each against its own draft, told by columns and never by values."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from tests.actions.filing import bring_in, drafts, hold_against
from tests.api.bodies import EXAMPLE_LIMITS
from tests.api.callers import Clock
from tests.api.limit_files.reading import HEADER, LINE, csv_file, line
from turnrule.actions.desk import Desk
from turnrule.store.limit_records import EntryState, StoreRules

REAR = line(axle="rear", brake_option="", nominal="10.0", machining_limit="8.6", discard_limit="8.0")
OTHER = line(brake_option="B17")
WITH_ID = f"{HEADER},limits_id"


@pytest.fixture
def entered(desk: Desk, tmp_path: Path) -> list[str]:
    """Three drafts of one model; their ids in the order of their rows."""
    path = csv_file(tmp_path, f"{LINE},front-16", f"{OTHER},front-17", f"{REAR},rear-1", header=WITH_ID)
    assert bring_in(desk, path).done.drafts == 3
    return ["front-16", "front-17", "rear-1"]


def test_rows_find_their_drafts_by_what_they_are_for(desk: Desk, entered: list[str], tmp_path: Path) -> None:
    held = hold_against(desk, csv_file(tmp_path, REAR, OTHER.replace("Corvane,O", "CORVANE,o"), LINE))
    assert [one.limits_id for one in held.outcomes] == [entered[2], entered[1], entered[0]]
    assert {one.outcome.value for one in held.outcomes} == {"verified"}
    assert held.done.all_verified
    assert not drafts(desk)
    assert desk.store.waiting() == 3


def test_a_row_that_differs_is_told_by_its_columns_and_the_others_are_verified(
    desk: Desk, entered: list[str], tmp_path: Path
) -> None:
    wrong = line(discard_limit="24.2", machining_limit="24.4", edition="2023-05")
    held = hold_against(desk, csv_file(tmp_path, wrong, REAR))
    assert held.told == [
        (2, "differs", ("machining_limit", "discard_limit", "edition")),
        (3, "verified", ()),
    ]
    assert not held.done.all_verified
    told = " ".join(f"{one.remedy} {one.columns} {one.limits_id}" for one in held.outcomes)
    assert not [value for value in ("24.2", "24.0", "24.4", "24.6", "2023") if value in told]
    assert {draft.revision.limits_id: len(draft.mismatches) for draft in drafts(desk)} == {
        entered[0]: 1,
        entered[1]: 0,
    }


def test_a_wrong_axle_or_year_finds_no_draft_where_several_are_open(
    desk: Desk, entered: list[str], tmp_path: Path
) -> None:
    rows = [line(axle="second"), line(year_from="2020"), line(brake_option="B18"), line(make="Isvalt")]
    held = hold_against(desk, csv_file(tmp_path, *rows, LINE))
    assert held.told == [*((number, "no_draft", ()) for number in range(2, 6)), (6, "verified", ())]
    assert [len(draft.mismatches) for draft in drafts(desk)] == [0] * (len(entered) - 1)


def test_the_only_draft_of_a_model_is_found_although_axle_and_year_are_wrong(desk: Desk, tmp_path: Path) -> None:
    assert bring_in(desk, csv_file(tmp_path, LINE)).done.drafts == 1
    held = hold_against(desk, csv_file(tmp_path, line(axle="rear", year_from="2020")))
    assert held.told == [(2, "differs", ("year_from", "axle"))]


def test_an_id_finds_its_draft_whatever_the_row_is_for(desk: Desk, entered: list[str], tmp_path: Path) -> None:
    held = hold_against(desk, csv_file(tmp_path, f"{LINE},{entered[1]}", f"{LINE},nothing-1", header=WITH_ID))
    assert held.told == [(2 + 1, "no_draft", ()), (2, "differs", ("brake_option",))]


def test_drafts_that_differ_only_in_their_days_are_told_apart_by_the_first_day(desk: Desk, tmp_path: Path) -> None:
    header = f"{HEADER},effective_to"
    first, second = f"{LINE},2023-01-01", f"{line(effective_from='2023-01-01', discard_limit='24.2')},"
    assert bring_in(desk, csv_file(tmp_path, first, second, header=header)).done.drafts == 2
    held = hold_against(desk, csv_file(tmp_path, second, header=header))
    assert held.told == [(2, "verified", ())]
    bare = ",".join(HEADER.split(",")[:11])
    assert bring_in(desk, csv_file(tmp_path, f"{line(axle='rear')},2023-01-01", header=header)).done.drafts == 1
    late = f"{line(axle='rear', effective_from='2023-01-01')},"
    assert bring_in(desk, csv_file(tmp_path, late, header=header)).done.drafts == 1
    short = ",".join(line(axle="rear").split(",")[:11])
    assert hold_against(desk, csv_file(tmp_path, short, header=bare)).told == [(2, "several_drafts", ())]


def test_the_person_of_the_first_entry_cannot_make_the_second(desk: Desk, entered: list[str], tmp_path: Path) -> None:
    held = hold_against(desk, csv_file(tmp_path, LINE, REAR), by="anna")
    assert [outcome for _, outcome, _ in held.told] == ["refused", "refused"]
    assert "somebody else" in held.outcomes[0].remedy
    assert len(drafts(desk)) == len(entered)


def test_a_shop_of_one_verifies_after_its_pause(desk: Desk, clock: Clock, tmp_path: Path) -> None:
    desk.store.set_rules(StoreRules(one_person_pause=datetime.timedelta(days=1)), at=clock.now, by="system user anna")
    path = csv_file(tmp_path, LINE)
    assert bring_in(desk, path).done.drafts == 1
    assert hold_against(desk, path, by="anna").told == [(2, "refused", ())]
    clock.move(hours=25)
    assert hold_against(desk, path, by="anna").told == [(2, "verified", ())]


def test_the_same_wrong_file_sent_again_is_not_counted_again(desk: Desk, entered: list[str], tmp_path: Path) -> None:
    path = csv_file(tmp_path, line(discard_limit="24.2"))
    first, again = hold_against(desk, path), hold_against(desk, path)
    assert first.told == again.told == [(2, "differs", ("discard_limit",))]
    assert "not counted again" in again.outcomes[0].remedy
    [draft] = [draft for draft in drafts(desk) if draft.revision.limits_id == entered[0]]
    assert (len(draft.mismatches), draft.state) == (1, EntryState.DRAFT)


def test_after_two_entries_that_differ_a_third_person_settles_it(
    desk: Desk, entered: list[str], tmp_path: Path
) -> None:
    assert hold_against(desk, csv_file(tmp_path, line(discard_limit="24.2"))).told[0][1] == "differs"
    second = hold_against(desk, csv_file(tmp_path, line(discard_limit="24.1")))
    assert "none of the entries" in second.outcomes[0].remedy
    assert hold_against(desk, csv_file(tmp_path, LINE)).told == [(2, "refused", ())]
    assert hold_against(desk, csv_file(tmp_path, line(discard_limit="24.2")), by="cleo").told == [(2, "verified", ())]
    row = desk.store.limit_revision(entered[0], 2)
    assert row is not None
    assert (row.printed["discard_thickness"], row.entered_by, row.verified_by) == ("24.2", "ben", "cleo")


def test_a_file_with_a_fault_compares_nothing(desk: Desk, entered: list[str], tmp_path: Path) -> None:
    held = hold_against(desk, csv_file(tmp_path, line(discard_limit="24.2"), REAR.replace("10.0", "10.0 mm")))
    assert [(fault.row, fault.column, fault.code) for fault in held.faults] == [(3, "nominal", "invalid_number")]
    assert (held.told, held.done.faults, held.done.all_verified) == ([], 1, False)
    assert [len(draft.mismatches) for draft in drafts(desk)] == [0] * len(entered)


def test_two_rows_for_one_draft_are_a_fault_of_the_file(desk: Desk, entered: list[str], tmp_path: Path) -> None:
    held = hold_against(desk, csv_file(tmp_path, LINE, REAR, line(discard_limit="24.2")))
    assert [(fault.row, fault.value, fault.code) for fault in held.faults] == [(4, entered[0], "doubled_entry")]
    assert len(drafts(desk)) == 3


def test_a_dry_run_tells_which_drafts_are_found_and_compares_nothing(
    desk: Desk, entered: list[str], tmp_path: Path
) -> None:
    held = hold_against(desk, csv_file(tmp_path, line(discard_limit="24.2"), line(make="Isvalt")), dry_run=True)
    assert (held.done.rows, held.done.matched) == (2, 1)
    assert held.told == [(3, "no_draft", ())]
    assert [len(draft.mismatches) for draft in drafts(desk)] == [0] * len(entered)


def test_json_bodies_are_told_by_pointers(desk: Desk, tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    path.write_text(EXAMPLE_LIMITS, encoding="utf-8")
    assert bring_in(desk, path).done.drafts == 1
    path.write_text(EXAMPLE_LIMITS.replace("24.6", "24.7"), encoding="utf-8")
    assert hold_against(desk, path).told == [(1, "differs", ("/minimum_machining_thickness",))]
