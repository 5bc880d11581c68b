"""A release carried from store to store in a pack is the same release, whatever stands in it."""

from __future__ import annotations

import datetime
import io
import zipfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.actions.release_packs.drawing import ids, records, revisions, texts
from tests.actions.release_packs.stores import (
    ANYTHING,
    Shop,
    publish,
    record,
    rows_of,
    taken_apart,
    withdrawal,
)
from tests.store.samples import NOON
from turnrule.actions.desk import Desk
from turnrule.actions.release_packs import bring_in, open_release_pack, plan_import, write_release_pack
from turnrule.store.limit_records import EntryState, LimitQuery, LimitRevision, StoreRules

HOUR = datetime.timedelta(hours=1)
# Each example makes two or three stores in files.
FEWER = settings(max_examples=settings().max_examples // 6)


def _apart(kept: Sequence[LimitRevision]) -> list[LimitRevision]:
    """The same revisions, each for vehicles of its own: a store lets no two records be for the same ones."""
    return [replace(one, fits=replace(one.fits, model=f"{one.fits.model} {place}")) for place, one in enumerate(kept)]


@FEWER
@given(kept=records(), notes=st.sampled_from(("", "one\ntwo\r\n\tthree")) | texts(200))
def test_a_release_brought_into_an_empty_store_is_the_same_release(
    shop: Shop, kept: Sequence[LimitRevision], notes: str
) -> None:
    here, there = shop.desk(), shop.desk()
    release = publish(here, _apart(kept), notes=notes)
    path = shop.export(here)
    brought = shop.bring(there, path)
    assert (brought.digest, brought.records) == (release.digest, release.records)
    back = shop.export(there)
    assert taken_apart(back)["limits.jsonl"] == taken_apart(path)["limits.jsonl"]
    assert there.store.limits(LimitQuery(release=1)) == here.store.limits(LimitQuery(release=1))
    with open_release_pack(path, ANYTHING) as pack:
        assert pack.manifest.release == replace(release, accepted=0, withdrawn=0)
    shop.close()


@FEWER
@given(
    first=records(3),
    corrected=st.lists(revisions(limits_id="x", number=1), min_size=3, max_size=3),
    added=revisions(limits_id="zz-later"),
    gone=st.sets(st.integers(0, 2)),
)
def test_later_releases_bring_in_what_is_new_in_them(
    shop: Shop,
    first: list[LimitRevision],
    corrected: list[LimitRevision],
    added: LimitRevision,
    gone: set[int],
) -> None:
    first = [replace(one, revision=1) for one in _apart(first)]
    second = [
        replace(new, limits_id=old.limits_id, revision=2, fits=old.fits)
        for old, new in zip(first, corrected, strict=False)
    ]
    here, there, late = shop.desk(), shop.desk(), shop.desk()
    publish(here, first)
    publish(here, second[:2])
    withdrawn = [withdrawal(first[place].limits_id) for place in sorted(gone) if 2 <= place < len(first)]
    last = publish(here, [replace(added, revision=1)], withdrawn)
    shop.bring(there, shop.export(here, 1))
    path = shop.export(here, 3)
    brought = shop.bring(there, path)
    assert (brought.number, brought.digest, brought.records) == (2, last.digest, last.records)
    assert taken_apart(shop.export(there, 2))["limits.jsonl"] == taken_apart(path)["limits.jsonl"]
    # Whoever begins with the last release has the same one, too.
    assert shop.bring(late, path).digest == last.digest
    shop.close()


def test_a_pack_is_the_same_bytes_each_time_and_on_a_stream_that_cannot_go_back(shop: Shop) -> None:
    here = shop.desk()
    publish(here, [record(f"corvane-{number}") for number in range(20)], [withdrawal("corvane-3")])
    whole = shop.export(here).read_bytes()
    assert shop.export(here).read_bytes() == whole

    class OneWay(io.RawIOBase):
        def __init__(self) -> None:
            self.got = bytearray()

        def writable(self) -> bool:
            return True

        def write(self, content: object) -> int:
            piece = bytes(content)  # type: ignore[call-overload]  # any buffer
            self.got += piece
            return len(piece)

    stream = OneWay()
    write_release_pack(here.store, 1, stream)  # type: ignore[arg-type]  # it writes, which is all that is asked
    assert bytes(stream.got) == whole
    shop.close()


def test_what_a_pack_says_does_not_depend_on_how_it_was_packed(shop: Shop, tmp_path: Path) -> None:
    here = shop.desk()
    release = publish(here, [record("corvane-1")], notes="plain")
    files = taken_apart(shop.export(here))
    for method in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        path = tmp_path / f"again-{method}.zip"
        with zipfile.ZipFile(path, "w", method, compresslevel=1) as again:
            for name in sorted(files):
                again.writestr(name, files[name])
        assert shop.bring(shop.desk(), path).digest == release.digest
    shop.close()


def test_a_release_that_holds_nothing_is_a_pack_all_the_same(shop: Shop) -> None:
    here, there = shop.desk(), shop.desk()
    publish(here, [record("corvane-1")])
    publish(here, [], [withdrawal("corvane-1")])
    path = shop.export(here, 2)
    assert taken_apart(path)["limits.jsonl"] == b""
    assert len(rows_of(taken_apart(path)["withdrawals.jsonl"])) == 1
    shop.bring(there, shop.export(here, 1))
    brought = shop.bring(there, path)
    assert (brought.records, brought.digest) == (0, _newest(here))
    shop.close()


def _newest(desk: Desk) -> str:
    release = desk.store.release()
    assert release is not None
    return release.digest


def test_a_withdrawal_in_a_pack_takes_effect_at_once(shop: Shop) -> None:
    here, there = shop.desk(), shop.desk()
    publish(here, [record("corvane-1"), record("corvane-2")])
    shop.bring(there, shop.export(here, 1))
    publish(here, [], [withdrawal("corvane-2", reason="The table of the document is wrong.")])
    brought = shop.bring(there, shop.export(here, 2))
    assert (brought.number, brought.records) == (2, 1)
    assert [row.limits_id for row in there.store.limits(LimitQuery())] == ["corvane-1"]
    (kept,) = there.store.withdrawals()
    assert (kept.withdrawn_by, kept.withdrawn_at, kept.reason) == (
        "foreman",
        NOON,
        "The table of the document is wrong.",
    )
    shop.close()


def test_a_record_that_came_back_after_its_withdrawal_comes_back_in_the_other_store(shop: Shop) -> None:
    here, there = shop.desk(), shop.desk()
    publish(here, [record("corvane-1")])
    shop.bring(there, shop.export(here, 1))
    # The same limits as before, read again and found to be right.
    publish(here, [record("corvane-1", 2)], [withdrawal("corvane-1", 1)])
    brought = shop.bring(there, shop.export(here, 2))
    assert (brought.digest, brought.records) == (_newest(here), 1)
    assert [row.revision for row in there.store.limits(LimitQuery())] == [2]
    shop.close()


def test_a_record_that_went_back_to_its_first_limits_goes_back_in_the_other_store(shop: Shop) -> None:
    here, there = shop.desk(), shop.desk()
    for number, note in ((1, "first"), (2, "second"), (3, "first")):
        last = publish(here, [record("corvane-1", number, note=note)])
        assert shop.bring(there, shop.export(here, number)).digest == last.digest
    assert [row.revision for row in there.store.limits(LimitQuery())] == [3]
    shop.close()


def test_a_pack_of_one_persons_records_keeps_what_tells_it(shop: Shop) -> None:
    rules = StoreRules(one_person_pause=HOUR)
    here, there = shop.desk(rules), shop.desk(rules)
    alone = record("corvane-1", entered_by="owner", verified_by="owner", entered_at=NOON, verified_at=NOON + HOUR)
    publish(here, [alone, record("corvane-2")])
    path = shop.export(here)
    assert b"1 of the records were entered and checked by the same person" in taken_apart(path)["README.txt"].replace(
        b"\n", b" "
    )
    with open_release_pack(path, there.store.rules()) as pack:
        brought = bring_in(there, pack, plan_import(there.store, pack), "importer")
    assert (brought.release.records, brought.release.by_one_person) == (2, 1)
    assert "Of the pack's records, 1 were entered twice by the same person; every verdict on them says so." in (
        brought.messages
    )
    assert there.store.limits(LimitQuery())[0].by_one_person
    shop.close()


def test_nothing_new_in_a_pack_makes_no_release(shop: Shop) -> None:
    here, there = shop.desk(), shop.desk()
    publish(here, [record("corvane-1"), record("corvane-2")], [withdrawal("corvane-2")])
    path = shop.export(here)
    first = shop.bring(there, path)
    assert shop.bring(there, path) == first
    assert len(there.store.releases()) == 1
    assert [row.state for row in there.store.history("corvane-2")] == []
    shop.close()


@FEWER
@given(st.lists(ids(), min_size=2, max_size=12, unique=True))
def test_rows_stand_in_the_order_of_the_bytes_of_their_ids(shop: Shop, names: list[str]) -> None:
    here = shop.desk()
    publish(here, [record(name) for name in names])
    rows = rows_of(taken_apart(shop.export(here))["limits.jsonl"])
    assert [row["limits_id"] for row in rows] == sorted(names, key=str.encode)
    shop.close()


def test_the_state_of_what_was_brought_in_is_published(shop: Shop) -> None:
    here, there = shop.desk(), shop.desk()
    publish(here, [record("corvane-1")])
    shop.bring(there, shop.export(here))
    (row,) = there.store.history("corvane-1")
    assert (row.state, row.release, row.revision) == (EntryState.PUBLISHED, 1, record("corvane-1"))
    shop.close()
