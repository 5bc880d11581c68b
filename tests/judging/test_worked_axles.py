"""Every worked case of an axle comes out as it was worked out by hand, through the service's own readers."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterator
from decimal import Decimal
from typing import cast

import orjson
import pytest

from tests.judging.test_worked_cases import (
    CASES,
    PACK,
    UNDECIDED,
    Case,
    caution_differences,
    check_differences,
    differences,
    mapping,
    policy_of,
    record_of,
    sentences,
)
from turnrule.actions.axle_answers import axle_document
from turnrule.actions.desk import Desk, new_id, utc_now
from turnrule.actions.judging_parts import Reached
from turnrule.actions.reaching_axles import AxleReached, SideReached, new_part_of
from turnrule.actions.requests import ReadSide
from turnrule.api.axle_reading import read_axle
from turnrule.api.faults import FaultsError
from turnrule.judging.axle import judge_axle
from turnrule.judging.judge import judge
from turnrule.judging.planning_words import PairReason
from turnrule.judging.words import PairRule, Ruling, Side
from turnrule.store.sqlite import open_sqlite

AXLES = {name: case for name, case in CASES.items() if case.get("kind_of_case") == "axle"}


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """A desk over a store with nothing in it: a case brings its own record and policy."""
    store = open_sqlite(tmp_path_factory.mktemp("axles") / "store.sqlite")
    store.migrate()
    yield Desk(store, PACK, utc_now, new_id)
    store.close()


def side_reached(case: Case, read: ReadSide) -> SideReached:
    """One side of a case, judged by itself."""
    record = record_of(case)
    verdict = judge(
        read.request.part,
        record=record,
        caller=read.request.caller,
        policy=policy_of(case),
        catalogue=PACK.catalogue,
        on=datetime.date.fromisoformat(str(case["on"])),
    )
    nominal = record.limits.nominal if record is not None else None
    reached = Reached(verdict, UNDECIDED, None, None, None, missed=False, withdrawn=0, nominal=nominal)
    return SideReached(read, reached, new_part_of(read, reached))


def answer_to(desk: Desk, case: Case) -> Case:
    """The answer as it would be sent, without ids, moment and digests, read back with exact decimals."""
    sides = {side: side_reached(case, read) for side, read in read_axle(desk, case["request"]).sides.items()}
    left, right = (sides[side].as_side() if side in sides else None for side in Side)
    reached = AxleReached(sides, judge_axle(left, right, policy_of(case)))
    sent = orjson.dumps(axle_document(PACK.catalogue, reached, dict.fromkeys(Side, "")))
    return mapping(json.loads(sent, parse_float=Decimal))


@pytest.mark.parametrize("case", sentences(AXLES))
def test_axle_comes_out_as_worked_out(desk: Desk, case: Case) -> None:
    expected = mapping(case["expect"])
    if "problem" in expected:
        with pytest.raises(FaultsError) as refusal:
            answer_to(desk, case)
        assert expected["problem"] in {fault.code for fault in refusal.value.faults}
        return
    answer = answer_to(desk, case)
    raised = {mapping(caution)["code"] for caution in cast("list[object]", answer["cautions"])}
    plain = {name: value for name, value in expected.items() if name not in {"checks", "cautions"}}
    found = [
        *differences(plain, answer, ""),
        *check_differences(mapping(expected.get("checks", {})), answer),
        *caution_differences(cast("list[str]", expected.get("cautions", [])), raised),
    ]
    assert not found, "\n".join(found)


def test_every_pair_rule_verdict_and_reason_is_among_the_cases() -> None:
    expected = [mapping(case["expect"]) for case in AXLES.values()]
    sides = [side for one in expected for side in mapping(one.get("sides", {})).values() if side is not None]
    reasons = {str(reason) for side in sides for reason in cast("list[object]", mapping(side).get("reasons", []))}
    assert {policy_of(case).pair_rule for case in AXLES.values()} == set(PairRule)
    assert {one["verdict"] for one in expected if "verdict" in one} == set(Ruling)
    assert reasons == set(PairReason)


def test_the_published_axles_name_where_they_were_read() -> None:
    addresses = {mapping(case["source"])["address"] for case in AXLES.values()} - {None}
    assert {str(address).partition(",")[0] for address in addresses} == {
        "waterstorage.tpub.com",
        "constructionforklifts.tpub.com",
    }
