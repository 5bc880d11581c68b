"""An export holds what its release holds, and proves it; carried to another store it makes the same release."""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings

from tests.actions.filing import bring_in, hold_against, person
from tests.api.limit_files.reading import HEADER, LINE, csv_file, line
from tests.api.limit_files.revisions import PLAIN, sets
from turnrule.actions.desk import Desk, new_id, utc_now
from turnrule.actions.exporting import held_revisions, release_to_export
from turnrule.actions.publishing import publish_release
from turnrule.actions.refusals import RefusedError
from turnrule.actions.withdrawing import withdraw_limits
from turnrule.api.limit_files.export import export
from turnrule.pack import Pack, load_pack
from turnrule.store.errors import StoreError
from turnrule.store.limit_records import LimitRevision, Release
from turnrule.store.sqlite import open_sqlite


def _through(desk: Desk, path: Path) -> Release:
    """A file entered, entered again by somebody else, and released."""
    asked = {fault.code for fault in bring_in(desk, path, dry_run=True).faults if fault.is_warning}
    filed = bring_in(desk, path, accepted=dict.fromkeys(asked, "these invented records are meant so"))
    assert not filed.faults
    held = hold_against(desk, path)
    assert held.done.all_verified, held.outcomes
    return publish_release(desk, person(desk, "cleo"), "From a file.")


def test_an_export_is_the_release_as_it_was_whatever_was_withdrawn_since(desk: Desk, tmp_path: Path) -> None:
    with_id = f"{HEADER},limits_id"
    rows = [f"{LINE},a-1", f"{line(axle='rear')},b-1"]
    release = _through(desk, csv_file(tmp_path, *rows, header=with_id))
    withdraw_limits(desk, "a-1", None, "The maker recalled it.", person(desk, "anna"))
    assert [row.limits_id for row in held_revisions(desk.store, release)] == ["a-1", "b-1"]
    assert release_to_export(desk.store, None) == release_to_export(desk.store, 1) == release


def test_what_is_not_released_cannot_be_exported(desk: Desk) -> None:
    for number in (None, 3):
        with pytest.raises(RefusedError, match=r"nothing is released|no release 3"):
            release_to_export(desk.store, number)


def test_an_export_that_is_not_the_release_says_so_at_its_end(desk: Desk, tmp_path: Path) -> None:
    release = _through(desk, csv_file(tmp_path, LINE, line(axle="rear")))
    for other in (replace(release, digest="sha256:00"), replace(release, records=3)):
        path = tmp_path / "a.csv"
        with pytest.raises(StoreError, match="use nothing of this export"):
            export(held_revisions(desk.store, other), path)
        assert not path.exists()
        assert [place.name for place in tmp_path.glob(".*part")] == []


def _apart(rows: Sequence[LimitRevision]) -> list[LimitRevision]:
    """The records, each for vehicles of its own."""
    return [
        replace(row, fits=replace(row.fits, model=f"{row.fits.model[:60]} {number}"))
        for number, row in enumerate(rows, 1)
    ]


@pytest.mark.parametrize("suffix", [".csv", ".xlsx", ".jsonl"])
@settings(max_examples=6, suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture])
@given(rows=sets(4))
@example(rows=[PLAIN])
def test_a_release_that_travels_by_file_is_the_same_release(suffix: str, rows: Sequence[LimitRevision]) -> None:
    pack: Pack = load_pack()
    digests = []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"0{suffix}"
        export(_apart(rows), path)
        for number in range(3):
            store = open_sqlite(Path(folder) / f"{number}.sqlite")
            store.migrate()
            desk = Desk(store, pack, utc_now, new_id)
            release = _through(desk, path)
            path = Path(folder) / f"{number + 1}{suffix}"
            export(held_revisions(store, release), path)
            digests.append((release.digest, release.records))
            store.close()
    assert len(set(digests)) == 1
    assert digests[0][1] == len(rows)
