"""An invented shop over some months: limits released, corrected and withdrawn while parts are judged, all by chance.

The same seed gives the same months.
"""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from decimal import Decimal
from random import Random
from typing import Any

from tests.api.conftest import Clock
from turnrule.actions.desk import Desk
from turnrule.actions.judging_parts import Sent, judge_part
from turnrule.actions.numbers import write_exact
from turnrule.actions.policies import read_policy, write_policy
from turnrule.actions.refusals import RefusedError
from turnrule.api.impact import read_stored
from turnrule.judging.faults import PartError
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Construction, Kind, Machining, Unit
from turnrule.store.errors import StoreError
from turnrule.store.limit_records import FitsTo, LimitRevision, Release, Source, Withdrawal
from turnrule.store.port import Key, LimitQuery

D = Decimal
SHOP = "shop_rules"
OFFICE = Key("office", "", frozenset({"policies:write"}), None, datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC))
MODELS = (("Corvane", "Ostrel"), ("Corvane", "Tarn"), ("Harrow", "Tander"))
OPTIONS = (None, "B16", "B18")
SITES = (None, "north", "south")
SOURCE = Source("Workshop manual", "Corvane", "6.2", "2023-04")
ROTOR = LimitSet(
    Kind.ROTOR,
    nominal=D(26),
    machining=D("24.6"),
    discard=D(24),
    maximum_lateral_runout=D("0.05"),
    maximum_thickness_variation=D("0.013"),
    permission=Machining.PERMITTED,
    construction=Construction.VENTED,
)
DRUM = LimitSet(
    Kind.DRUM,
    nominal=D("228.6"),
    machining=D("230.1"),
    discard=D("230.6"),
    maximum_out_of_round=D("0.1"),
    permission=Machining.PERMITTED,
)


@dataclass(slots=True)
class World:
    """The shop: its desk, its chance, and how many of what it was asked were refused."""

    desk: Desk
    clock: Clock
    chance: Random
    made: int = 0
    refused: int = 0
    pinned: set[str] = field(default_factory=set)
    """Verdicts whose request names a release."""

    def live(self, months: int = 4, parts: int = 30) -> None:
        """Release limits, judge parts, correct the limits, and so on."""
        self.publish(list(self.first_records()))
        self.write_rules()
        for month in range(months):
            self.judge(parts)
            if month == 1:
                self.write_rules()
            self.clock.move(days=30)
            self.change()
        self.judge(parts)

    def first_records(self) -> Iterator[LimitRevision]:
        """One record for most axles, two where there are options; drums in the rear of all but the first model."""
        for make, model in MODELS:
            rear = ROTOR if (make, model) == MODELS[0] else DRUM
            for axle, limits in ((Axle.FRONT, ROTOR), (Axle.REAR, rear)):
                options = self.chance.choice(((None,), (None,), ("B16", "B18"), ("B16", None)))
                for option in options:
                    yield self.record(FitsTo(make, model, 2016, self.chance.choice((2021, None)), axle, option), limits)

    def record(self, fits: FitsTo, limits: LimitSet) -> LimitRevision:
        """The first revision of a new record."""
        self.made += 1
        whole = LimitRevision(
            limits_id=f"record-{self.made:03d}",
            revision=1,
            fits=fits,
            limits=limits,
            printed_unit=Unit.MM,
            printed={},
            source=SOURCE,
            effective_from=datetime.date(2016, 1, 1),
        )
        return self.entered(self.moved(whole))

    def entered(self, revision: LimitRevision) -> LimitRevision:
        """The same with both its entries."""
        at = self.clock()
        return replace(revision, entered_by="first", entered_at=at, verified_by="second", verified_at=at)

    def moved(self, revision: LimitRevision) -> LimitRevision:
        """The same with sizes a little to either side."""
        by, limits = D(self.chance.randint(-6, 6)) / 10, revision.limits
        assert limits.discard is not None
        machining = None if limits.machining is None else limits.machining + by
        return replace(revision, limits=replace(limits, discard=limits.discard + by, machining=machining))

    def publish(self, revisions: list[LimitRevision]) -> Release | None:
        """Publish what the store takes of these; None where nothing is left to publish."""
        while True:
            try:
                return self.desk.store.publish(
                    revisions, published_at=self.clock(), published_by="office", notes="As the month went."
                )
            except StoreError:
                if not revisions:
                    return None
                revisions = revisions[:-1]

    def change(self) -> None:
        """Correct, add and withdraw by chance, and release it."""
        held = list(self.desk.store.limits(LimitQuery(), limit=1000))
        self.chance.shuffle(held)
        changed = [self.corrected(revision) for revision in held[: self.chance.randint(1, 4)]]
        for revision in held[4 : 4 + self.chance.randint(0, 2)]:
            self.desk.store.withdraw(
                Withdrawal(revision.limits_id, revision.revision, "office", self.clock(), "The document was recalled.")
            )
        for _ in range(self.chance.randint(0, 2)):
            make, model = self.chance.choice(MODELS)
            axle, option = self.chance.choice((Axle.FRONT, Axle.REAR)), self.chance.choice(OPTIONS)
            fits = FitsTo(make, model, self.chance.choice((2010, 2022)), None, axle, option)
            changed.append(self.record(fits, self.chance.choice((ROTOR, DRUM))))
        self.chance.shuffle(changed)
        if self.publish(changed) is None:
            self.publish([self.record(FitsTo("Nobody", f"Type {self.made}", 2000, None, Axle.FRONT), ROTOR)])

    def corrected(self, revision: LimitRevision) -> LimitRevision:
        """The next revision of a record, other in one respect."""
        fits, limits = revision.fits, revision.limits
        year = fits.year_from + self.chance.randint(-3, 3)
        other_axle = Axle.REAR if fits.axle is Axle.FRONT else Axle.FRONT
        changes: list[dict[str, Any]] = [
            {"limits": self.moved(revision).limits},
            {"limits": self.moved(revision).limits},
            {"fits": replace(fits, year_from=year, year_to=fits.year_to and max(year, fits.year_to))},
            {"fits": replace(fits, year_to=self.chance.choice((None, fits.year_from, fits.year_from + 4)))},
            {"fits": replace(fits, axle=other_axle)},
            {"fits": replace(fits, brake_option=self.chance.choice(OPTIONS))},
            {"limits": replace(limits, permission=self.chance.choice(list(Machining)))},
            {"limits": replace(limits, machining=None)},
            {"limits": replace(limits, nominal=None)},
            {"review_due": self.clock().date() - datetime.timedelta(days=40)},
            {"effective_to": self.clock().date() - datetime.timedelta(days=self.chance.randint(0, 60))},
            {"source": replace(SOURCE, edition="2025-01")},
        ]
        chosen = self.chance.choice(changes)
        correction = replace(revision, revision=revision.revision + 1, reason="The next edition says so.", **chosen)
        return self.entered(correction)

    def write_rules(self) -> None:
        """Write the next revision of the shop's own policy."""
        over = read_policy(self.desk, SHOP)
        margin = D(self.chance.randint(1, 4)) / 10
        write_policy(self.desk, SHOP, {"unit": "mm", "machining_margin": margin}, OFFICE, over=over)

    def judge(self, parts: int) -> None:
        """Have parts judged by chance, some of them for a site."""
        for _ in range(parts):
            self.clock.move(minutes=7)
            body = self.request()
            key = Key("counter", "", frozenset({"verdicts"}), self.chance.choice(SITES), self.clock())
            sent = Sent(key, write_exact(body))
            try:
                judged = judge_part(self.desk, read_stored(sent.body), sent)
            except (PartError, RefusedError):
                self.refused += 1
            else:
                if "release" in body:
                    self.pinned.add(judged.record.id)

    def request(self) -> dict[str, Any]:
        """A request about a part, of a vehicle that the store may know."""
        rotor = self.chance.random() < 0.6
        limits = ROTOR if rotor else DRUM
        sizes = limits.nominal or D(0), limits.machining or D(0), limits.discard or D(0)
        body: dict[str, Any] = {"unit": "mm", "kind": "rotor" if rotor else "drum", "side": "left"}
        centre = self.chance.choice(sizes[1:]) + D(self.chance.randint(-60, 60)) / 100
        track = [centre + D(self.chance.choice((0, 0, 0, 1))) / 100 for _ in range(6)]
        body["thickness" if rotor else "diameter"] = track
        if rotor and self.chance.random() < 0.8:
            body["lateral_runout"] = D(self.chance.choice((1, 3, 4, 7, 9))) / 100
        for share, values in self.beside(rotor=rotor, sizes=sizes):
            if self.chance.random() < share:
                body |= values
        if not body.keys() & {"application", "limits", "marking"}:
            body["marking"] = sizes[2]
        return body

    def beside(self, *, rotor: bool, sizes: tuple[Decimal, Decimal, Decimal]) -> Iterator[tuple[float, dict[str, Any]]]:
        """What a request may say beside its readings, and how often it does."""
        make, model = self.chance.choice((*MODELS, *MODELS, ("Nobody", "Nothing")))
        application: dict[str, Any] = {"make": make, "model": model, "year": self.chance.randint(2014, 2024)}
        likely = "front" if rotor else "rear"
        application["axle"] = self.chance.choice((likely, likely, likely, "front", "rear"))
        option = self.chance.choice(OPTIONS)
        if option is not None:
            application["brake_option"] = option
        discard = "discard_thickness" if rotor else "discard_diameter"
        machining = "minimum_machining_thickness" if rotor else "maximum_machining_diameter"
        depth = D(self.chance.randint(1, 30)) / 100
        yield 0.9, {"application": application}
        yield 0.3, {"marking": sizes[2]}
        yield 0.2, {"limits": {machining: sizes[1], discard: sizes[2]}}
        yield 0.3, {"cut": {"inboard": depth, "outboard": depth} if rotor else {"depth": depth}}
        yield 0.2, {"groove_depth": {"inboard": D("0.4"), "outboard": D("0.1")} if rotor else D("0.4")}
        yield 0.2, {"findings": [self.chance.choice(("heat_checking", "hard_spots", "crack_through"))]}
        yield 0.4, {"policy": self.chance.choice((SHOP, SHOP, "fleet_reserve", "simple_rule", "careful_bench"))}
        release = self.desk.store.release()
        with contextlib.suppress(AttributeError):
            yield 0.1, {"release": self.chance.randint(1, release.number)}  # type: ignore[union-attr]  # suppressed
