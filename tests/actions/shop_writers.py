"""What one of several processes does that keep limits in one store; each is started afresh and shares only the file.

All of them enter records of their own, make the second entries for the others', correct, withdraw and publish, and
tell what they were told. Some second entries are wrong on purpose the first time.
"""

from __future__ import annotations

import datetime
from collections import Counter
from dataclasses import dataclass, field, replace
from decimal import Decimal
from multiprocessing.synchronize import Barrier
from pathlib import Path
from threading import BrokenBarrierError

from tests.bench import fleet
from tests.bench.filling import DAY
from turnrule.actions.desk import Desk, new_id
from turnrule.actions.entering import enter_limits
from turnrule.actions.publishing import publish_release
from turnrule.actions.refusals import RefusedError
from turnrule.actions.requests import Corrects, SecondEntry
from turnrule.actions.verifying import verify_limits
from turnrule.actions.withdrawing import withdraw_limits
from turnrule.api.limits_schemas import read_limits, read_second_entry
from turnrule.pack import load_pack
from turnrule.store.errors import StoreError
from turnrule.store.limit_records import FitsTo, OpenDraft
from turnrule.store.port import Key
from turnrule.store.sqlite import open_sqlite

ENTERED_EACH_ROUND = 3
APART = 400
"""The records of two writers are so many numbers apart."""


@dataclass(slots=True)
class Told:
    """What one writer was told, by the name of what it did; `wrong` is what nobody may be told."""

    entered: list[str] = field(default_factory=list)
    verified: list[tuple[str, int]] = field(default_factory=list)
    differed: list[str] = field(default_factory=list)
    corrected: list[tuple[str, int]] = field(default_factory=list)
    withdrawn: list[str] = field(default_factory=list)
    released: list[int] = field(default_factory=list)
    races: list[str] = field(default_factory=list)
    refused: Counter[str] = field(default_factory=Counter)
    wrong: list[str] = field(default_factory=list)


class Writer:
    """One process's hand in the store."""

    def __init__(self, place: str, number: int) -> None:
        self.desk = Desk(open_sqlite(Path(place)), load_pack(), lambda: DAY + datetime.timedelta(days=1), new_id)
        self.key = Key(f"writer {number}", "", frozenset(), None, DAY)
        self.number = number
        self.told = Told()
        self.tried: set[str] = set()

    def enter(self, number: int) -> None:
        """Enter a record of one's own."""
        self.told.entered.append(enter_limits(self.desk, read_limits(fleet.limits_body(number)), self.key).limits_id)

    def verify_the_others(self) -> None:
        """Make the second entry of every open draft that somebody else has entered; wrong at the first try of some."""
        for draft in self.desk.store.drafts(limit=500):
            if draft.revision.entered_by == self.key.name:
                continue
            limits_id = draft.revision.limits_id
            wrong = number_of(draft.revision.fits) % 4 == self.number and limits_id not in self.tried
            self.tried.add(limits_id)
            try:
                settled = verify_limits(self.desk, limits_id, self._second(draft, wrong=wrong), self.key)
            except RefusedError as refusal:
                self.told.refused[refusal.code] += 1
                continue
            if settled.verified is None:
                self.told.differed.append(limits_id)
            else:
                self.told.verified.append((limits_id, settled.verified.revision))

    def _second(self, draft: OpenDraft, *, wrong: bool) -> SecondEntry:
        body = fleet.limits_body(number_of(draft.revision.fits))
        name = "discard_thickness" if body["kind"] == "rotor" else "discard_diameter"
        body[name] += Decimal("0.1") * (draft.revision.revision - 1) + Decimal("0.01") * wrong
        return read_second_entry(body)

    def correct(self, limits_id: str) -> None:
        """Enter a correction of a record of one's own, where it is verified by now."""
        found = self.desk.store.limit_revision(limits_id)
        if found is None:
            return
        body = fleet.limits_body(number_of(found.fits))
        name = "discard_thickness" if body["kind"] == "rotor" else "discard_diameter"
        body[name] += Decimal("0.1") * found.revision
        entry = replace(
            read_limits(body), corrects=Corrects(limits_id, found.revision), reason="The next edition has another size."
        )
        try:
            draft = enter_limits(self.desk, entry, self.key)
        except RefusedError as refusal:
            self.told.refused[refusal.code] += 1
        else:
            self.told.corrected.append((limits_id, draft.revision))

    def withdraw(self, limits_id: str) -> None:
        """Withdraw a record that everybody withdraws."""
        try:
            withdraw_limits(self.desk, limits_id, None, "The document was recalled by its publisher.", self.key)
        except RefusedError as refusal:
            self.told.refused[refusal.code] += 1
        else:
            self.told.withdrawn.append(limits_id)

    def publish_after(self, newest: int | None) -> None:
        """Publish the release that follows one (None: whichever is the newest), as everybody does at once."""
        try:
            release = publish_release(self.desk, self.key, f"by {self.key.name}", follows=newest)
        except RefusedError as refusal:
            self.told.races.append(refusal.code)
        else:
            self.told.released.append(release.number)
            self.told.races.append("won")


def number_of(fits: FitsTo) -> int:
    """The number of the fleet's record for these vehicles."""
    make, model = int(fits.make.split()[1]), int(fits.model.split()[1])
    place = ("front", "rear").index(fits.axle) + 2 * fleet.FIRST_YEARS.index(fits.year_from)
    return (make * fleet.MODELS_PER_MAKE + model) * fleet.RECORDS_PER_VEHICLE + place


def write_as(place: str, number: int, rounds: int, barrier: Barrier) -> Told:
    """Live through the rounds; each ends with everybody publishing at once."""
    writer = Writer(place, number)
    try:
        for turn in range(rounds):
            _round(writer, turn, barrier)
    except (StoreError, RefusedError, BrokenBarrierError) as error:
        writer.told.wrong.append(f"{type(error).__name__}: {error}")
        barrier.abort()
    writer.desk.store.close()
    return writer.told


def _round(writer: Writer, turn: int, barrier: Barrier) -> None:
    first = (writer.number + 1) * APART + turn * ENTERED_EACH_ROUND
    for number in range(first, first + ENTERED_EACH_ROUND):
        writer.enter(number)
        writer.verify_the_others()
    writer.withdraw(fleet.limits_id(turn))
    writer.correct(writer.told.entered[turn])
    barrier.wait(timeout=300)
    newest = writer.desk.store.release()
    barrier.wait(timeout=300)
    number = newest.number if newest is not None else 0
    writer.publish_after(number if turn % 2 == 0 else None)
    barrier.wait(timeout=300)
