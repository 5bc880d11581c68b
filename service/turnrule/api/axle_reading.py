"""A request about an axle, as a document, into the two requests that its sides make; every fault at its place.

Each side makes the very request that `POST /v1/verdicts` reads: what stands beside the sides, with what stands within
the side in its place where both are there, and the name of the side.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

from marshmallow import ValidationError

from turnrule.actions.desk import Desk
from turnrule.actions.numbers import canonical_request
from turnrule.actions.requests import ReadAxle, ReadRequest, ReadSide, placed
from turnrule.api.axle_shapes import BESIDE, NEW_PART, ONCE, axle_shapes, new_part_shape, side_shape
from turnrule.api.faults import FaultsError, TooLargeError, faults_in, step
from turnrule.api.fields import Coded
from turnrule.api.json_reading import LARGEST_BODY
from turnrule.api.limits_schemas import unit_faults
from turnrule.api.shapes import Shape
from turnrule.api.whole_reading import faults_beside, read_wholly
from turnrule.judging.faults import Fault
from turnrule.judging.lengths import to_mm
from turnrule.judging.words import Side

Document = Mapping[str, object]


def read_axle(desk: Desk, document: object) -> ReadAxle:
    """The request about an axle that a document makes. Raises `FaultsError` with every fault of both sides."""
    if not isinstance(document, Mapping):
        raise FaultsError([Fault("", *Shape.no_object)])
    shape, other = axle_shapes(document)
    faults = [*_beside_the_sides(document, shape, other), *_without_a_side(document)]
    beside = {name: value for name, value in document.items() if name in shape.fields and name in BESIDE}
    read: dict[Side, ReadSide] = {}
    for side in Side:
        if side in document:
            faults += _side(desk, side, document[side], beside, (new_part_shape(shape), new_part_shape(other)), read)
    if not read:
        faults += _of_what_is_shared(desk, beside)
    if faults:
        faults += _further(desk, read)
        raise FaultsError({(fault.pointer, fault.code): fault for fault in faults}.values())
    return ReadAxle(read)


def _beside_the_sides(document: Document, shape: Shape, other: Shape) -> Iterator[Fault]:
    """What stands beside the sides and is not read there."""
    of_sides = {*side_shape(shape).fields, *side_shape(other).fields} - BESIDE
    for name in document:
        if name in of_sides or name == "side":
            detail = f"{name} belongs to one part; give it within left or right, for the side that it was read on"
            yield Fault(step("", name), "misplaced_field", detail)
        elif name not in shape.fields:
            yield from faults_in({name: [Shape.no_such_field]}, shape, other)


def _without_a_side(document: Document) -> Iterator[Fault]:
    if not any(side in document for side in Side):
        yield Fault("/left", "missing", "give one side of the axle at least: left, right, or both")


def _side(
    desk: Desk,
    side: Side,
    given: object,
    beside: Document,
    new_parts: tuple[Shape, Shape],
    read: dict[Side, ReadSide],
) -> list[Fault]:
    """Read one side into its place, and return its faults; where it has any it may not be there."""
    if not isinstance(given, Mapping):
        flaw = Coded.codes["null"] if given is None else Shape.no_object
        return [Fault(f"/{side}", *flaw)]
    own = {name: value for name, value in given.items() if name not in ONCE and name not in {"side", NEW_PART}}
    faults = list(_within_a_side(given, side))
    merged = {**beside, **own, "side": side.value}
    around = BESIDE - own.keys()
    try:
        request = read_wholly(desk, merged)
    except FaultsError as error:
        return [*faults, *placed(error.faults, side, around), *_new_part(given, side, new_parts, None)[1]]
    new_size, of_new_part = _new_part(given, side, new_parts, request)
    body = canonical_request(merged)
    if len(body) > LARGEST_BODY:
        raise TooLargeError(f"with what is shared, the {side} side alone has more than {LARGEST_BODY} bytes")
    read[side] = ReadSide(request, body, around, new_size)
    return [*faults, *of_new_part]


def _within_a_side(given: Document, side: Side) -> Iterator[Fault]:
    """What stands within a side and belongs beside both."""
    for name in given:
        if name in ONCE:
            detail = f"{name} is the same for both sides of an axle; give it once, beside left and right"
            yield Fault(f"/{side}/{name}", "misplaced_field", detail)
    if "side" in given:
        yield Fault(f"/{side}/side", "misplaced_field", f"this is the {side} side by its name; leave side out")


def _new_part(
    given: Document, side: Side, shapes: tuple[Shape, Shape], request: ReadRequest | None
) -> tuple[Decimal | None, list[Fault]]:
    """The size (mm) of the new part, and what is wrong with it; None where it is not given or the unit not known."""
    if NEW_PART not in given:
        return None, []
    pointer = f"/{side}/{NEW_PART}"
    shape, other = shapes
    try:
        values = shape.load(given[NEW_PART])
    except ValidationError as error:
        return None, list(faults_in(error.messages, shape, other, pointer))
    if request is None:
        return None, []
    part = request.part
    [(name, value)] = values.items()
    return to_mm(value, part.unit), list(unit_faults(part.kind, part.unit, [(f"{pointer}/{name}", value)]))


def _of_what_is_shared(desk: Desk, beside: Document) -> list[Fault]:
    """The faults of what stands beside the sides, where no side could be read with it."""
    try:
        read_wholly(desk, dict(beside))
    except FaultsError as error:
        return [fault for fault in error.faults if placed([fault], Side.LEFT, BESIDE) == [fault]]
    return []


def _further(desk: Desk, read: Mapping[Side, ReadSide]) -> list[Fault]:
    """What catalogue and policy have to say to the sides that could be read, beside the faults of the others."""
    return [
        fault
        for side, one in read.items()
        for fault in placed(faults_beside(desk, one.request, (), {}), side, one.beside)
    ]
