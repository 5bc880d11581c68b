"""A check at the lathe, as a document, into what the engine works out, with every fault of the document at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from marshmallow import ValidationError

from turnrule.actions.desk import Desk
from turnrule.actions.requests import ReadRequest
from turnrule.actions.setting_up import ReadSetup, further_setup_faults
from turnrule.api.faults import FaultsError, faults_in
from turnrule.api.limits_schemas import figure_faults, limit_set, named_kind, unit_faults
from turnrule.api.part_reading import Lengths, Values, lathe_of, part_of
from turnrule.api.setup_shapes import DrumSetupRequest, RotorSetupRequest
from turnrule.api.shapes import Shape
from turnrule.api.whole_reading import echoes
from turnrule.judging.drum_form import DrumTrack
from turnrule.judging.faults import Fault
from turnrule.judging.index_positions import IndexReading
from turnrule.judging.lathe_words import Given
from turnrule.judging.mount_readings import MountReading
from turnrule.judging.planes import FaceTraces
from turnrule.judging.scratch import Arc, Scratch
from turnrule.judging.setup_request import Hub, PassDepths, SetupRequest
from turnrule.judging.words import Kind

ROTOR_SETUP, DRUM_SETUP = RotorSetupRequest(), DrumSetupRequest()

Sizes = list[tuple[str, Decimal]]


def read_setup(desk: Desk, document: object) -> ReadSetup:
    """The check that a document asks for. Raises `FaultsError` with every fault that can be told of it."""
    try:
        return setup_of(document)
    except FaultsError as error:
        raise FaultsError([*error.faults, *_beside(desk, document, error.faults)]) from None


def setup_of(document: object) -> ReadSetup:
    """The check that a document asks for. Raises `FaultsError` with every fault that the document shows by itself."""
    schema, other = _schemas(document)
    named = named_kind(document) is not None
    try:
        values: dict[str, Any] = schema.load(document)
    except ValidationError as error:
        told = faults_in(error.messages, schema, other)
        raise FaultsError(fault for fault in told if named or fault.code != "field_of_another_kind") from None
    if faults := list(_together(values)):
        raise FaultsError(faults)
    return _setup(values)


def _beside(desk: Desk, document: object, told: Sequence[Fault]) -> list[Fault]:
    """Further faults of what can be read of a faulty document, without those that only echo one that was told."""
    schema, _ = _schemas(document)
    try:
        values: Any = schema.load(document)
    except ValidationError as error:
        values = error.valid_data
    if not isinstance(values, dict) or not {"unit", "kind"} <= values.keys():
        return []
    pointers = [fault.pointer for fault in told]
    further = [*_together(values), *further_setup_faults(desk, _setup(values), desk.clock())]
    return [fault for fault in dict.fromkeys(further) if not echoes(fault, pointers, document)]


def _schemas(document: object) -> tuple[Shape, Shape]:
    """The schema for the kind that the document names (or seems to be about), and the other kind's."""
    kind = named_kind(document)
    drum = kind is not None and not kind.is_rotor
    if kind is None and isinstance(document, Mapping):
        drum = bool({"diameter", "tracks"} & document.keys())
    return (DRUM_SETUP, ROTOR_SETUP) if drum else (ROTOR_SETUP, DRUM_SETUP)


def _together(values: Values) -> Iterator[Fault]:
    """What the fields of a well-shaped request show together: slips of the unit, limits that contradict."""
    kind, unit = values["kind"], values["unit"]
    name = "thickness" if kind.is_rotor else "diameter"
    sizes: Sizes = [(f"/{name}/{index}", size) for index, size in enumerate(values.get(name, ()))]
    sizes += _sizes_beside(values)
    sizes += [("/marking", values["marking"])] if "marking" in values else []
    yield from unit_faults(kind, unit, sizes)
    if "limits" in values:
        yield from figure_faults(kind, unit, values["limits"], "/limits")


def _sizes_beside(values: Values) -> Sizes:
    """The sizes that stand in the blocks, with their pointers."""
    if values["kind"].is_rotor:
        listed = values.get("faces", {}).get("thickness", ())
        return [(f"/faces/thickness/{index}", size) for index, size in enumerate(listed)]
    return [
        (f"/tracks/{place}/diameters/{index}", size)
        for place, track in enumerate(values.get("tracks", ()))
        for index, size in enumerate(track.get("diameters", ()))
    ]


def _setup(values: Values) -> ReadSetup:
    kind: Kind = values["kind"]
    lengths = Lengths(values["unit"])
    name = "thickness" if kind.is_rotor else "diameter"
    # The bore's runout belongs to its tracks: the part's own, mounted right, comes from the readings.
    told = {field: value for field, value in values.items() if field != "setup_runout"}
    beside = [] if name in values else _sizes_beside(values)
    part = part_of({**told, name: tuple(size for _, size in beside)} if beside else told)
    limits = values.get("limits")
    return ReadSetup(
        setup=SetupRequest(
            part=part,
            readings=tuple(_reading(one, lengths) for one in values.get("readings", ())),
            hub=_hub(values["hub"], lengths) if "hub" in values else None,
            faces=_faces(values["faces"], lengths) if "faces" in values else None,
            tracks=tuple(_track(one, lengths) for one in values.get("tracks", ())),
            track_runout=lengths.maybe(values, "setup_runout"),
            angle_uncertainty=values.get("angle_uncertainty"),
            covered_uncertainty=values.get("covered_uncertainty"),
            mount_limit=lengths.maybe(values, "mount_limit"),
            depths=_depths(values["passes"], lengths) if "passes" in values else None,
        ),
        request=ReadRequest(
            part=part,
            caller=limit_set(kind, values["unit"], limits) if limits is not None else None,
            policy=values.get("policy"),
            release=values.get("release"),
            lathe=lathe_of(values),
        ),
        places=tuple(pointer for pointer, _ in beside),
    )


def _reading(values: Values, lengths: Lengths) -> MountReading:
    scratch = values.get("scratch")
    return MountReading(
        turned=values.get("turned", Decimal(0)),
        scratch=None if scratch is None else _scratch(scratch, lengths),
        trace=lengths.several(values, "trace"),
    )


def _scratch(values: Values, lengths: Lengths) -> Scratch:
    arcs = tuple(Arc(arc["start"], arc["end"]) for arc in values.get("arcs", ()))
    return Scratch(lengths.mm(values["depth"]), values.get("covered"), arcs)


def _hub(values: Values, lengths: Lengths) -> Hub:
    readings = tuple(
        IndexReading(
            turned=one["turned"],
            trace=lengths.several(one, "trace"),
            runout=lengths.maybe(one, "runout"),
            high_spot=one.get("high_spot"),
        )
        for one in values["readings"]
    )
    return Hub(readings, values.get("studs"), values.get("turns", ()), values.get("now"))


def _faces(values: Values, lengths: Lengths) -> FaceTraces:
    return FaceTraces(
        lengths.several(values, "outboard"), lengths.several(values, "inboard"), lengths.several(values, "thickness")
    )


def _track(values: Values, lengths: Lengths) -> DrumTrack:
    return DrumTrack(
        lengths.maybe(values, "distance"),
        values.get("place"),
        lengths.several(values, "diameters"),
        lengths.several(values, "trace"),
    )


def _depths(values: Values, lengths: Lengths) -> PassDepths:
    return PassDepths(lengths.mm(values["least_depth"]), lengths.mm(values["greatest_depth"]), Given.REQUEST)
