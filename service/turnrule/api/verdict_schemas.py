"""A request for a verdict, as a document, into the part and the limits that the engine judges.

Raises every fault of the document at once; what could be read all the same goes along, so that the faults that
only the catalogue and the policy can find are told in the same answer.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from marshmallow import ValidationError

from turnrule.actions.requests import ReadRequest
from turnrule.api.faults import FaultsError, faults_in
from turnrule.api.limits_schemas import figure_faults, limit_set, named_kind, unit_faults
from turnrule.api.part_reading import dimensions_of, lathe_of, part_of, roughness_of
from turnrule.api.request_shapes import DrumRequest, RotorRequest
from turnrule.api.shapes import Shape
from turnrule.judging.faults import Fault, not_finished
from turnrule.judging.words import Kind, Stage

ROTOR_REQUEST, DRUM_REQUEST = RotorRequest(), DrumRequest()


def read_request(document: object) -> ReadRequest:
    """The request that a document in the contract's names makes. Raises `FaultsError` with every fault."""
    schema, other = request_schemas(document)
    try:
        values: dict[str, Any] = schema.load(document)
    except ValidationError as error:
        raise FaultsError(_told(error, document, schema, other), _partial(error.valid_data)) from None
    faults = list(_together(values))
    if faults:
        raise FaultsError(faults, _request(values))
    return _request(values)


def request_schemas(document: object) -> tuple[Shape, Shape]:
    """The schema for the kind that the document names (or seems to be about), and the other kind's."""
    kind = named_kind(document)
    drum = kind is not None and not kind.is_rotor
    if kind is None and isinstance(document, Mapping):
        drum = "diameter" in document and "thickness" not in document
    return (DRUM_REQUEST, ROTOR_REQUEST) if drum else (ROTOR_REQUEST, DRUM_REQUEST)


def _told(error: ValidationError, document: object, schema: Shape, other: Shape) -> Iterator[Fault]:
    """The faults of the shape; where no kind is named, a field of either kind is well placed."""
    named = named_kind(document) is not None
    for fault in faults_in(error.messages, schema, other):
        if named or fault.code != "field_of_another_kind":
            yield fault


def _partial(values: object) -> ReadRequest | None:
    """What was read of a faulty request, if it was enough to look further."""
    if not isinstance(values, dict):
        return None
    with contextlib.suppress(KeyError, TypeError, AttributeError):
        return _request(values)
    return None


def _request(values: Mapping[str, Any]) -> ReadRequest:
    kind, unit = values["kind"], values["unit"]
    given = values.get("limits")
    return ReadRequest(
        part=part_of(values),
        caller=limit_set(kind, unit, given) if given is not None else None,
        policy=values.get("policy"),
        release=values.get("release"),
        reference=values.get("reference"),
        vehicle=values.get("vehicle", {}).get("label"),
        lathe=lathe_of(values),
        dimensions=dimensions_of(values),
        wanted_roughness=roughness_of(values),
        stored_history=values.get("stored_history", False),
        before=values.get("before"),
    )


def _together(values: Mapping[str, Any]) -> Iterator[Fault]:
    """What the fields of a well-shaped request show together: slips of the unit, limits that contradict."""
    kind, unit = values["kind"], values["unit"]
    yield from unit_slips(kind, values)
    if "before" in values and values.get("stage") is not Stage.AFTER_MACHINING:
        yield not_finished("before")
    if values.get("stored_history", False):
        yield from _whose_history(values)
    if "limits" in values:
        yield from figure_faults(kind, unit, values["limits"], "/limits")


def _whose_history(values: Mapping[str, Any]) -> Iterator[Fault]:
    """What is missing to tell which stored verdicts are about the same part."""
    vehicle = values.get("vehicle", {})
    for pointer, there in (
        ("/vehicle/label", "label" in vehicle),
        ("/vehicle/odometer", "odometer" in vehicle),
        ("/application", "application" in values),
        ("/side", "side" in values),
    ):
        if not there:
            yield Fault(pointer, "missing", "stored_history needs it to know the part again; give it too")


def unit_slips(kind: Kind, values: Mapping[str, Any]) -> Iterator[Fault]:
    """The sizes of a request that would only be sizes in the other unit."""
    name = "thickness" if kind.is_rotor else "diameter"
    sizes: list[tuple[str, Decimal]] = []
    for track in (name, f"{name}_inner"):
        sizes += [(f"/{track}/{index}", size) for index, size in enumerate(values.get(track, ()))]
    sizes += [("/marking", values["marking"])] if "marking" in values else []
    sizes += [(f"/history/{index}/{name}", earlier[name]) for index, earlier in enumerate(values.get("history", ()))]
    sizes += [(f"/when_new/{name}", values["when_new"][name])] if "when_new" in values else []
    yield from unit_faults(kind, values["unit"], sizes)
