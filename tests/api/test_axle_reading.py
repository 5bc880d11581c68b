"""Bodies about axles: what may stand where, what takes the place of what, and every fault at its place, all at once."""

from __future__ import annotations

import json
from decimal import Decimal
from typing import Any

import pytest

from tests.api.axles import AXLE, DRUM_AXLE, GOOD, SHARED, axle_of, faults, judged
from tests.api.bodies import changed, exact
from tests.api.callers import Caller
from turnrule.actions.desk import Desk
from turnrule.actions.numbers import canonical_request
from turnrule.api.axle_reading import read_axle
from turnrule.api.axle_shapes import BESIDE, EITHER, ONCE, axle_shapes, side_shape
from turnrule.api.faults import FaultsError, TooLargeError
from turnrule.api.json_reading import LARGEST_BODY, LONGEST_NUMBER, read_json
from turnrule.api.request_shapes import DrumRequest, RotorRequest
from turnrule.api.verdict_schemas import read_request
from turnrule.judging.words import LatheKind, Side, Stage

D = Decimal
POINTER = "/left/thickness/1"
EARLIER = {"thickness": D(26), "odometer": {"value": D(1), "unit": "km"}}
LATER = {"thickness": D(26), "odometer": {"value": D(90_000), "unit": "km"}}


def whole(**changes: object) -> dict[str, Any]:
    """The sample axle with some fields changed."""
    return changed(AXLE, **changes)


def test_a_side_makes_the_request_that_a_part_alone_would(desk: Desk) -> None:
    read = read_axle(desk, whole())
    shared = {name: value for name, value in whole().items() if name not in {"left", "right"}}
    for side, one in read.sides.items():
        merged = {**shared, **whole()[side], "side": side.value}
        assert one.request == read_request(merged) == read_request(read_json(one.body))
    assert read.shared.vehicle == "unit 114"


def test_what_a_side_gives_takes_the_place_of_what_is_shared_whole(desk: Desk) -> None:
    document = whole(
        stage="before_machining",
        lathe="bench",
        left={**GOOD, "instrument": {"resolution": D("0.001")}, "stage": "after_machining", "lathe": "on_vehicle"},
    )
    left, right = (read_axle(desk, document).sides[side].request.part for side in Side)
    assert (left.stage, right.stage) == (Stage.AFTER_MACHINING, Stage.BEFORE_MACHINING)
    assert (left.lathe, right.lathe) == (LatheKind.ON_VEHICLE, LatheKind.BENCH)
    assert (left.instrument.resolution, left.instrument.expanded_uncertainty) == (D("0.001"), None)
    assert right.instrument.expanded_uncertainty == D("0.004")


def test_limits_of_one_side_are_of_that_side_only(desk: Desk) -> None:
    """Left and right may be parts of two makes."""
    document = whole(limits={"discard_thickness": D(24)}, left={**GOOD, "limits": {"discard_thickness": D(23)}})
    left, right = (read_axle(desk, document).sides[side].request.caller for side in Side)
    assert left is not None
    assert right is not None
    assert (left.discard, right.discard) == (D(23), D(24))


def test_every_field_of_one_part_has_its_place_about_an_axle() -> None:
    """A field that is added to the request about one part is one of a side, unless it is said to be shared."""
    rotor, drum = axle_shapes({"kind": "rotor"})
    for request, axle in ((RotorRequest(), rotor), (DrumRequest(), drum)):
        of_a_side, beside = side_shape(axle).fields.keys(), axle.fields.keys()
        assert request.fields.keys() - {"side"} == (of_a_side | beside) - {"left", "right", "new_part"}
        assert of_a_side & beside == EITHER & request.fields.keys()
        assert beside - {"left", "right"} == BESIDE & request.fields.keys()
        assert not of_a_side & (ONCE | {"side"})


def test_what_the_sample_shares_is_shared(desk: Desk) -> None:
    assert {*SHARED} <= BESIDE
    assert read_axle(desk, whole()).sides[Side.LEFT].beside >= {"unit", "kind", "policy", "services"}


@pytest.mark.parametrize("document", [[], "axle", None, D(1)])
def test_a_body_is_an_object(desk: Desk, document: object) -> None:
    with pytest.raises(FaultsError) as refused:
        read_axle(desk, document)
    assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [("", "wrong_type")]


@pytest.mark.parametrize(
    ("changes", "wanted"),
    [
        ({"left": {"thickness": [D(25), "25,0"]}}, [(POINTER, "invalid_number")]),
        ({"left": {"thickness": [D(25), D("0.98")]}}, [(POINTER, "unit_mismatch")]),
        ({"left": {**GOOD, "thickness": [D("25.3"), D(52)]}}, [(POINTER, "past_nominal_size")]),
        ({"left": {**GOOD, "findings": ["surface_rust"]}}, [("/left/findings/0", "unknown_finding")]),
        ({"left": {"thickness_inner": [D(25)]}}, [("/left/thickness", "missing")]),
        ({"left": {**GOOD, "thikness": [D(25)]}}, [("/left/thikness", "unknown_field")]),
        ({"left": {**GOOD, "a/b": D(1)}}, [("/left/a~1b", "unknown_field")]),
        ({"left": {"diameter": [D(25)]}}, [("/left/diameter", "field_of_another_kind")]),
        ({"left": {"limits": {"discard_thickness": D(-1)}}}, [("/left/limits/discard_thickness", "out_of_range")]),
        ({"limits": {"discard_thickness": D(-1)}}, [("/limits/discard_thickness", "out_of_range")]),
        ({"left": {**GOOD, "instrument": D(1)}}, [("/left/instrument", "wrong_type")]),
        ({"instrument": D(1)}, [("/instrument", "wrong_type")]),
        ({"left": {**GOOD, "side": "left"}}, [("/left/side", "misplaced_field")]),
        ({"left": {**GOOD, "unit": "mm"}}, [("/left/unit", "misplaced_field")]),
        ({"left": {**GOOD, "application": {}}}, [("/left/application", "misplaced_field")]),
        ({"left": {**GOOD, "policy": "x"}}, [("/left/policy", "misplaced_field")]),
        ({"left": {**GOOD, "release": D(1)}}, [("/left/release", "misplaced_field")]),
        ({"thickness": [D(25)]}, [("/thickness", "misplaced_field")]),
        ({"diameter": [D(25)]}, [("/diameter", "misplaced_field")]),
        ({"side": "left"}, [("/side", "misplaced_field")]),
        ({"new_part": {}}, [("/new_part", "misplaced_field")]),
        ({"lefft": GOOD}, [("/lefft", "unknown_field")]),
        ({"left": D(1)}, [("/left", "wrong_type")]),
        ({"left": {**GOOD, "new_part": D(26)}}, [("/left/new_part", "wrong_type")]),
        ({"left": {**GOOD, "new_part": {"thickness": D(1)}}}, [("/left/new_part/thickness", "unit_mismatch")]),
        ({"left": {"new_part": {"thickness": D("23.9")}}}, [("/left/new_part/thickness", "discard_past_nominal")]),
        ({"left": {**GOOD, "new_part": {"thickness": D("27.1")}}}, [("/left/new_part/thickness", "past_nominal_size")]),
        (
            {"left": {**GOOD, "new_part": {"diameter": D(26)}}},
            [("/left/new_part/diameter", "field_of_another_kind"), ("/left/new_part/thickness", "missing")],
        ),
        ({"unit": "cm"}, [("/unit", "invalid_choice")]),
        ({"unit": None}, [("/unit", "missing")]),
        ({"kind": None}, [("/kind", "missing")]),
        ({"policy": "defualt"}, [("/policy", "policy_not_found")]),
        ({"release": D(9)}, [("/release", "release_not_found")]),
        ({"application": None, "left": GOOD}, [("/application", "missing")]),
        ({"vehicle": None, "left": {**GOOD, "history": [EARLIER]}}, [("/vehicle/odometer", "missing")]),
        ({"left": {**GOOD, "history": [LATER]}}, [("/left/history/0/odometer", "out_of_range")]),
        ({"left": None, "right": None}, [("/left", "missing")]),
    ],
)  # fmt: skip
def test_a_fault_has_its_place_in_the_body_as_sent(
    shop: Caller, desk: Desk, changes: dict[str, Any], wanted: list[tuple[str, str]]
) -> None:
    assert faults(shop.post("/v1/axle-verdicts", axle_of(**changes))) == wanted
    assert desk.store.axles() == []


@pytest.mark.parametrize("size", [D(24), D(27)])
def test_a_new_part_may_be_up_to_the_discard_limit_and_a_millimetre_past_the_nominal_size(
    shop: Caller, size: Decimal
) -> None:
    judged(shop, axle_of(left={**GOOD, "new_part": {"thickness": size}}))


def test_a_new_drum_is_held_the_other_way_around(shop: Caller) -> None:
    for size, wanted in (("9.1", "discard_past_nominal"), ("8.96", "past_nominal_size")):
        body = axle_of(DRUM_AXLE, right={"diameter": [D("9.01")], "new_part": {"diameter": D(size)}})
        assert faults(shop.post("/v1/axle-verdicts", body)) == [("/right/new_part/diameter", wanted)]


def test_null_is_no_way_to_leave_a_side_out(shop: Caller) -> None:
    body = json.dumps({**json.loads(AXLE), "right": None})
    assert faults(shop.post("/v1/axle-verdicts", body)) == [("/right", "wrong_type")]


def test_faults_of_both_sides_and_of_what_is_shared_come_in_one_answer(shop: Caller) -> None:
    body = axle_of(
        reference="",
        left={"thickness": [D(25), True], "unit": "mm", "new_part": {"thickness": "26"}},
        right={"thickness": [D(25)], "cut": {"inboard": D(-1), "outboard": D(0)}},
        lefft=D(1),
    )
    assert faults(shop.post("/v1/axle-verdicts", body)) == [
        ("/lefft", "unknown_field"),
        ("/left/new_part/thickness", "invalid_number"),
        ("/left/thickness/1", "invalid_number"),
        ("/left/unit", "misplaced_field"),
        ("/reference", "too_short"),
        ("/right/cut/inboard", "out_of_range"),
    ]


def test_what_the_catalogue_says_to_one_side_comes_with_the_shape_of_the_other(shop: Caller) -> None:
    body = axle_of(left={"thickness": [True]}, right={**GOOD, "findings": ["no_such_thing"]})
    assert faults(shop.post("/v1/axle-verdicts", body)) == [
        ("/left/thickness/0", "invalid_number"),
        ("/right/findings/0", "unknown_finding"),
    ]


def test_what_the_record_says_to_both_sides_comes_in_one_answer(shop: Caller) -> None:
    body = axle_of(left={"thickness": [D(52)]}, right={"thickness": [D(25), D(53)]})
    assert faults(shop.post("/v1/axle-verdicts", body)) == [
        ("/left/thickness/0", "past_nominal_size"),
        ("/right/thickness/1", "past_nominal_size"),
    ]


def test_without_a_readable_side_what_is_shared_is_still_told(shop: Caller) -> None:
    assert faults(shop.post("/v1/axle-verdicts", "{}")) == [
        ("/kind", "missing"),
        ("/left", "missing"),
        ("/unit", "missing"),
    ]
    body = json.dumps({"unit": "cm", "kind": "rotor", "left": 1, "release": 0})
    assert faults(shop.post("/v1/axle-verdicts", body)) == [
        ("/left", "wrong_type"),
        ("/release", "out_of_range"),
        ("/unit", "invalid_choice"),
    ]


def test_where_no_kind_is_named_the_sides_tell_which_fields_are_meant(shop: Caller) -> None:
    body = json.dumps(
        {"unit": "in", "left": {"diameter": [9.01], "new_part": {"diameter": 9}}, "right": {"marking": 9.09}}
    )
    assert faults(shop.post("/v1/axle-verdicts", body)) == [("/kind", "missing")]


def test_one_brake_option_of_two_must_be_named_once(shop: Caller) -> None:
    application = exact(AXLE)["application"] | {"brake_option": None}
    assert faults(shop.post("/v1/axle-verdicts", axle_of(application=application))) == [
        ("/application/brake_option", "wrong_type")
    ]


NUMBERS = [
    "0.0000001234567890123456789012",
    "1.2345678901234567890123456e-7",
    "2500e-2",
    "25.0000000",
    "1e1",
    "1e-7",
    "0",
    "0e-9",
]


@pytest.mark.parametrize("number", NUMBERS)
def test_a_number_is_kept_as_the_same_number_and_can_be_read_again(number: str) -> None:
    document = {"b": D(number), "a": [True, "é", D(number)]}
    kept = canonical_request(document)
    assert read_json(kept) == document
    assert kept.startswith(b'{"a":[true,"\xc3\xa9",')
    assert len(kept) <= len(f'{{"a":[true,"é",{number}],"b":{number}}}'.encode())


FACE = chr(0x1F600)
"""A character of four bytes."""


def of_bytes(count: int) -> bytes:
    """A body about one rotor of exactly so many bytes, without a blank, its fields as full as that takes."""
    trace, track = (f"{whole}.{'123456789' * 3}{'12'[: LONGEST_NUMBER - 28 - len(whole)]}" for whole in ("0", "25"))
    notes = ",".join(f'{{"finding":"heat_checking","note":"{FACE * 500}"}}' for _ in range(49))
    left = (
        f'{{"lateral_runout_trace":[{",".join([trace] * 3600)}],"thickness":[{",".join([track] * 1000)}],'
        f'"thickness_inner":[{",".join([track] * 999)}],'
        f'"findings":[{notes},{{"finding":"heat_checking","note":"NOTE"}}],"marking":24}}'
    )
    body = f'{{"unit":"mm","kind":"rotor","left":{left}}}'
    while (room := count - len(body.encode()) + len("NOTE")) < 1:
        body = body.replace(f'"thickness":[{track},', '"thickness":[')
    assert room <= 4 * 500
    note = FACE * (room // 4) + "x" * (room % 4)
    return body.replace("NOTE", note).encode()


def test_a_side_that_could_not_be_read_again_is_refused(desk: Desk) -> None:
    """As a request of its own a side has the name of its side in it, and may have five bytes more than the body."""
    most = of_bytes(LARGEST_BODY)
    assert len(most) == LARGEST_BODY
    with pytest.raises(TooLargeError, match="the left side alone"):
        read_axle(desk, read_json(most))
    read = read_axle(desk, read_json(of_bytes(LARGEST_BODY - 5))).sides[Side.LEFT]
    assert len(read.body) == LARGEST_BODY
    assert read_request(read_json(read.body)) == read.request


def test_the_answer_to_numbers_written_anyhow_is_the_same(shop: Caller) -> None:
    plain = judged(shop, axle_of(right={**GOOD, "lateral_runout": D("0.0000012")}))
    other = judged(shop, axle_of(right={**GOOD, "lateral_runout": D("0.0000012")}).replace(b"0.0000012", b"1.2e-6"))
    assert plain["digest"] == other["digest"]
