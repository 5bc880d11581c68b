"""What comes in from a pack, what is there already, and what must not come in; all of it, or nothing."""

from __future__ import annotations

import datetime
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.actions.release_packs.stores import ANYTHING, Shop, publish, record, withdrawal
from tests.store.raw import raw
from tests.store.samples import FITS, NOON
from turnrule.actions.desk import Desk
from turnrule.actions.refusals import RefusedError
from turnrule.actions.release_packs import bring_in, open_release_pack, plan_import, write_release_pack
from turnrule.judging.faults import Fault
from turnrule.store.errors import StoreError
from turnrule.store.limit_records import LimitQuery, LimitRevision, Rejection, StoreRules, Verified
from turnrule.store.sqlite_limit_tables import RELEASES, release_values

HOUR = datetime.timedelta(hours=1)


def _refusal(shop: Shop, desk: Desk, path: Path) -> tuple[Fault, ...]:
    """Why a pack is refused; and that it left no trace."""
    before = desk.store.releases(), desk.store.last_withdrawal(), desk.store.waiting()
    with pytest.raises(RefusedError) as refusal:
        shop.bring(desk, path)
    assert (desk.store.releases(), desk.store.last_withdrawal(), desk.store.waiting()) == before
    return refusal.value.faults


def _pack_of(shop: Shop, *revisions: LimitRevision) -> Path:
    here = shop.desk()
    publish(here, revisions)
    return shop.export(here)


def _draft(desk: Desk, revision: LimitRevision, corrects: int | None = None) -> LimitRevision:
    return desk.store.enter(revision, corrects=corrects)


def test_the_notes_name_the_release_that_it_came_from(shop: Shop) -> None:
    here, there = shop.desk(), shop.desk()
    release = publish(here, [record("corvane-1")], notes="Table 3 read again.\nAll of it.")
    brought = shop.bring(there, shop.export(here))
    assert brought.published_by == "importer"
    assert brought.published_at == there.clock()
    assert brought.notes == (
        f"From a pack: release 1 of 2026-03-02T12:00:00.000250Z, {release.digest}. "
        "Its notes: Table 3 read again. All of it."
    )
    long = publish(here, [record("corvane-2")], notes="word " * 1000)
    assert len(shop.bring(there, shop.export(here, long.number)).notes) < 600
    shop.close()


def test_what_the_store_holds_with_the_same_limits_is_passed_over(shop: Shop) -> None:
    there = shop.desk()
    # The same limits, entered here by others on another day: the same record.
    publish(there, [record("corvane-1", entered_by="someone", verified_by="somebody", reason="seen again")])
    path = _pack_of(shop, record("corvane-1"), record("corvane-2"))
    with open_release_pack(path, ANYTHING) as pack:
        plan = plan_import(there.store, pack)
        assert (plan.brings, plan.holds, plan.withdrawals) == (1, 1, [])
        brought = bring_in(there, pack, plan, "importer")
    assert (brought.release.number, brought.release.records) == (2, 2)
    assert there.store.limit_revision("corvane-1") == record(
        "corvane-1", entered_by="someone", verified_by="somebody", reason="seen again"
    )
    assert all("digest" not in message for message in brought.messages)
    shop.close()


@pytest.mark.parametrize(("here", "there"), [(1, 2), (2, 1)])
def test_the_same_limits_under_another_number_are_passed_over(shop: Shop, here: int, there: int) -> None:
    store = shop.desk()
    before = publish(store, [record("corvane-1", here)])
    assert shop.bring(store, _pack_of(shop, record("corvane-1", there))) == before
    assert [row.revision.revision for row in store.store.history("corvane-1")] == [here]
    shop.close()


def test_another_digest_is_reported_where_the_store_holds_more(shop: Shop) -> None:
    there = shop.desk()
    publish(there, [record("tarn-1")])
    path = _pack_of(shop, record("corvane-1"))
    with open_release_pack(path, ANYTHING) as pack:
        brought = bring_in(there, pack, plan_import(there.store, pack), "importer")
        assert brought.release.digest != pack.manifest.release.digest
        assert pack.manifest.release.digest in brought.messages[-1]
        assert brought.release.digest in brought.messages[-1]
        assert "holds 2 records" in brought.messages[-1]
    shop.close()


def test_a_row_that_says_something_else_under_the_same_number_is_refused_by_name(shop: Shop) -> None:
    there = shop.desk()
    publish(there, [record("corvane-2", note="as we read it")])
    path = _pack_of(shop, record("corvane-1"), record("corvane-2"), record("corvane-3"))
    (fault,) = _refusal(shop, there, path)
    assert (fault.pointer, fault.code) == ("limits.jsonl, row 2", "pack_contradicts")
    assert "revision 1 of corvane-2" in fault.detail
    shop.close()


def test_a_row_that_is_older_than_what_the_store_holds_is_refused_by_name(shop: Shop) -> None:
    there = shop.desk()
    publish(there, [record("corvane-2", 2, note="corrected here")])
    (fault,) = _refusal(shop, there, _pack_of(shop, record("corvane-2")))
    assert (fault.pointer, fault.code) == ("limits.jsonl, row 1", "pack_contradicts")
    assert "revision 2 is other limits here" in fault.detail
    shop.close()


def test_an_older_release_of_what_the_store_holds_changes_nothing(shop: Shop) -> None:
    here, there = shop.desk(), shop.desk()
    publish(here, [record("corvane-1"), record("corvane-2")])
    publish(here, [record("corvane-1", 2, note="corrected")])
    for number in (1, 2):
        shop.bring(there, shop.export(here, number))
    newest = there.store.release()
    assert shop.bring(there, shop.export(here, 1)) == newest
    shop.close()


def test_every_row_that_must_not_come_in_is_named_at_once_up_to_a_hundred(shop: Shop) -> None:
    there = shop.desk()
    publish(there, [record(f"corvane-{number:03}", note="other") for number in range(150)])
    path = _pack_of(shop, *(record(f"corvane-{number:03}") for number in range(150)))
    faults = _refusal(shop, there, path)
    assert [fault.pointer for fault in faults] == [f"limits.jsonl, row {row}" for row in range(1, 101)]
    shop.close()


def test_an_open_draft_of_the_same_record_is_settled_first(shop: Shop) -> None:
    there = shop.desk()
    publish(there, [record("corvane-1")])
    _draft(there, record("corvane-1", reason="a digit was wrong"), corrects=1)
    _draft(there, record("corvane-2"))
    path = _pack_of(shop, record("corvane-1", 3, note="x"), record("corvane-2"))
    faults = _refusal(shop, there, path)
    assert [(fault.pointer, fault.code) for fault in faults] == [
        ("limits.jsonl, row 1", "draft_open"),
        ("limits.jsonl, row 2", "draft_open"),
    ]
    for limits_id in ("corvane-1", "corvane-2"):
        there.store.reject(limits_id, Rejection("foreman", NOON, "The pack has it."))
    (fault,) = _refusal(shop, there, path)
    assert (fault.pointer, fault.code) == ("limits.jsonl, row 2", "pack_contradicts")
    assert "revision 1 is rejected here" in fault.detail
    later = _pack_of(shop, record("corvane-1", 3, note="x"), record("corvane-2", 2))
    assert shop.bring(there, later).records == 2
    shop.close()


def test_what_is_verified_here_and_waits_comes_out_with_it_and_that_is_said(shop: Shop) -> None:
    there = shop.desk()
    _draft(there, record("tarn-1"))
    there.store.settle("tarn-1", lambda _: Verified("second reader", NOON))
    path = _pack_of(shop, record("corvane-1"))
    with open_release_pack(path, ANYTHING) as pack:
        plan = plan_import(there.store, pack)
        assert any("1 revisions come out that were verified here" in message for message in plan.messages)
        assert bring_in(there, pack, plan, "importer").release.records == 2
    shop.close()


def test_a_record_that_was_withdrawn_here_stays_so_and_that_is_said(shop: Shop) -> None:
    there = shop.desk()
    publish(there, [record("corvane-1")], [withdrawal("corvane-1")])
    path = _pack_of(shop, record("corvane-1"), record("corvane-2"))
    with open_release_pack(path, ANYTHING) as pack:
        plan = plan_import(there.store, pack)
        assert (plan.brings, plan.holds, plan.withdrawn_here) == (1, 1, 1)
        brought = bring_in(there, pack, plan, "importer")
    assert any("1 were withdrawn in this store, and stay so" in message for message in brought.messages)
    assert [row.limits_id for row in there.store.limits(LimitQuery())] == ["corvane-2"]
    shop.close()


def test_withdrawals_of_what_the_store_does_not_hold_or_has_withdrawn_are_left_out(shop: Shop) -> None:
    here, there = shop.desk(), shop.desk()
    publish(here, [record("corvane-1"), record("corvane-2"), record("corvane-3"), record("corvane-4")])
    publish(there, [record("corvane-2"), record("corvane-3")], [withdrawal("corvane-3", reason="Seen here first.")])
    publish(here, [], [withdrawal(f"corvane-{number}") for number in (1, 2, 3)])
    path = shop.export(here, 2)
    with open_release_pack(path, ANYTHING) as pack:
        plan = plan_import(there.store, pack)
        assert [(one.limits_id, one.revision) for one in plan.withdrawals] == [("corvane-2", 1)]
    shop.bring(there, path)
    assert [one.reason for one in there.store.withdrawals()] == ["Seen here first.", "The maker has called it in."]
    shop.close()


def test_a_withdrawal_of_a_later_revision_withdraws_the_earlier_one_that_is_here(shop: Shop) -> None:
    here, there = shop.desk(), shop.desk()
    publish(here, [record("corvane-1"), record("corvane-2")])
    shop.bring(there, shop.export(here, 1))
    publish(here, [record("corvane-1", 2, note="corrected")])
    publish(
        here,
        [],
        [
            withdrawal("corvane-1", 2),
        ],
    )
    shop.bring(there, shop.export(here, 3))
    assert [(one.limits_id, one.revision) for one in there.store.withdrawals()] == [("corvane-1", 1)]
    assert [row.limits_id for row in there.store.limits(LimitQuery())] == ["corvane-2"]
    shop.close()


def test_a_record_for_the_same_vehicles_as_one_of_the_stores_own_is_refused_by_name(shop: Shop) -> None:
    there = shop.desk()
    publish(there, [record("own-1", fits=FITS)])
    path = _pack_of(shop, record("corvane-1"), record("corvane-2", fits=FITS))
    (fault,) = _refusal(shop, there, path)
    assert (fault.pointer, fault.code) == ("limits.jsonl, row 2", "overlap")
    assert "corvane-2 is for some of the same vehicles as own-1" in fault.detail
    there.store.withdraw(withdrawal("own-1"))
    assert shop.bring(there, path).records == 2
    shop.close()


def test_records_that_changed_places_in_the_release_itself_come_in(shop: Shop) -> None:
    here, there = shop.desk(), shop.desk()
    elsewhere = FITS.__class__("Tarn", "Pell", 2020, None, FITS.axle)
    publish(here, [record("corvane-1", fits=FITS), record("corvane-2", fits=elsewhere)])
    shop.bring(there, shop.export(here, 1))
    # The first was read for the wrong vehicle, another took its place; and one that was withdrawn was made anew.
    publish(
        here,
        [
            record("corvane-1", 2, fits=FITS.__class__("Tarn", "Moor", 2020, None, FITS.axle)),
            record("corvane-0", fits=FITS),
        ],
    )
    last = publish(here, [record("corvane-3", fits=elsewhere)], [withdrawal("corvane-2")])
    assert shop.bring(there, shop.export(here, 3)).digest == last.digest
    shop.close()


@pytest.mark.parametrize(("pause", "taken"), [(None, False), (HOUR, True), (2 * HOUR, False)])
def test_one_persons_records_come_into_a_store_that_was_made_for_one(
    shop: Shop, pause: datetime.timedelta | None, *, taken: bool
) -> None:
    here, there = shop.desk(StoreRules(one_person_pause=HOUR)), shop.desk(StoreRules(one_person_pause=pause))
    alone = record("corvane-1", entered_by="owner", verified_by="owner", entered_at=NOON, verified_at=NOON + HOUR)
    publish(here, [alone, record("corvane-2")])
    path = shop.export(here)
    if taken:
        assert shop.bring(there, path).by_one_person == 1
        return
    (fault,) = _refusal(shop, there, path)
    assert (fault.pointer, fault.code) == ("limits.jsonl, row 1", "entered_by_one_person")
    assert "both entries of corvane-1 were made by owner" in fault.detail
    shop.close()


def test_a_dry_run_stores_nothing(shop: Shop) -> None:
    there = shop.desk()
    with open_release_pack(_pack_of(shop, record("corvane-1")), ANYTHING) as pack:
        assert plan_import(there.store, pack).brings == 1
    assert there.store.release() is None
    assert there.store.history("corvane-1") == []
    shop.close()


def test_an_empty_pack_makes_no_first_release(shop: Shop) -> None:
    here, there = shop.desk(), shop.desk()
    publish(here, [])
    with pytest.raises(RefusedError, match="the pack holds no record"):
        shop.bring(there, shop.export(here))
    assert there.store.release() is None
    shop.close()


def test_a_release_that_is_not_there_cannot_be_written(shop: Shop, tmp_path: Path) -> None:
    with (tmp_path / "none.zip").open("wb") as out, pytest.raises(RefusedError, match="there is no release 4"):
        write_release_pack(shop.desk().store, 4, out)
    shop.close()


def test_a_record_that_no_pack_could_hold_is_named_when_it_is_written(shop: Shop, tmp_path: Path) -> None:
    for odd, words in (
        (record("Corvane-1"), "revision 1 of Corvane-1 cannot go into a pack: limits_id"),
        (record("corvane-1", note="tab\there"), r"corvane-1 cannot go into a pack: note holds U\+0009"),
        (record("corvane-1", printed={"discard_thickness": "23"}), "corvane-1 cannot go into a pack: printed"),
    ):
        here = shop.desk()
        publish(here, [odd])
        with (tmp_path / "none.zip").open("wb") as out, pytest.raises(StoreError, match=words):
            write_release_pack(here.store, 1, out)
    here = shop.desk()
    publish(here, [record("corvane-1")], notes="bell \x07")
    with (tmp_path / "none.zip").open("wb") as out, pytest.raises(StoreError, match=r"release 1 cannot .*U\+0007"):
        write_release_pack(here.store, 1, out)
    shop.close()


@pytest.mark.parametrize("changes", [{"digest": f"sha256:{'0' * 64}"}, {"records": 2}])
def test_a_release_that_the_store_no_longer_holds_as_it_was_published_is_not_handed_out(
    shop: Shop, tmp_path: Path, changes: dict[str, Any]
) -> None:
    here = shop.desk()
    release = publish(here, [record("corvane-1")])
    with raw(shop.stores[-1].path) as conn:
        conn.execute(RELEASES.insert, RELEASES.sealed(release_values(replace(release, number=2, **changes))))
    with (tmp_path / "none.zip").open("wb") as out, pytest.raises(StoreError, match=r"release 2 .*check the store"):
        write_release_pack(here.store, 2, out)
    shop.close()


def test_progress_is_told_to_the_end(shop: Shop) -> None:
    told: list[tuple[int, int]] = []
    path = _pack_of(shop, *(record(f"corvane-{number}") for number in range(7)))
    there = shop.desk()
    tell = lambda done, of: told.append((done, of))  # noqa: E731
    with open_release_pack(path, ANYTHING, progress=tell) as pack:
        plan = plan_import(there.store, pack, progress=tell)
        bring_in(there, pack, plan, "importer", progress=tell)
    assert told == [(done, 7) for done in range(1, 8)] * 3
    shop.close()
