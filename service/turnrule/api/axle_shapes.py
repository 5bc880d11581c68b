"""The shapes of a request about an axle: what is given once, what each side has of its own, what may stand in either.

They are made of the shapes of a request about one part, field by field: a field reads the same in both.
"""

from __future__ import annotations

from collections.abc import Mapping

from turnrule.api.limit_shapes import size
from turnrule.api.limits_schemas import named_kind
from turnrule.api.request_shapes import DrumRequest, RotorRequest
from turnrule.api.shapes import Inner, Shape
from turnrule.judging.words import Side

ONCE = frozenset({"unit", "kind", "application", "policy", "release", "reference", "vehicle", "services"})
"""What the two sides of an axle cannot differ in: it is given beside them, and is refused within one."""

EITHER = frozenset({"stage", "instrument", "lathe", "limits", "runout_read_on", "dimensions", "wanted_roughness"})
EITHER |= {"when_new", "stored_history"}
"""What both sides mostly share: given beside them it holds for both, and within a side it takes the place of that."""

BESIDE = ONCE | EITHER
NEW_PART = "new_part"


def _but(request: type[Shape], names: frozenset[str]) -> tuple[str, ...]:
    """Of the fields of a request about one part, those of these names."""
    return tuple(name for name in request().fields if name in names)


def _of_a_side(request: type[Shape]) -> frozenset[str]:
    """The fields that only a side has."""
    return frozenset(request().fields) - BESIDE


class NewRotor(Shape):
    """The rotor that would take the place of one that is replaced."""

    thickness = size("Its thickness.", required=True)


class NewDrum(Shape):
    """The drum that would take the place of one that is replaced."""

    diameter = size("Its diameter.", required=True)


_NEW_PART = "The part that would take its place, where it is not as thick or as wide as the record says of a new one."
_SIDE = "The {side} one; left out where it was not measured, and then the axle cannot be passed."


class RotorSide(RotorRequest):
    """One rotor of an axle; what it shares with the other one is given beside them."""

    new_part = Inner(NewRotor, metadata={"description": _NEW_PART})

    class Meta:
        """What stands beside the sides, and which side it is, is not read here."""

        exclude = _but(RotorRequest, ONCE | {"side"})


class DrumSide(DrumRequest):
    """One drum of an axle; what it shares with the other one is given beside them."""

    new_part = Inner(NewDrum, metadata={"description": _NEW_PART})

    class Meta:
        """What stands beside the sides, and which side it is, is not read here."""

        exclude = _but(DrumRequest, ONCE | {"side"})


class RotorAxleRequest(RotorRequest):
    """The two rotors of an axle to be judged each and together."""

    left = Inner(RotorSide, metadata={"description": _SIDE.format(side="left")})
    right = Inner(RotorSide, metadata={"description": _SIDE.format(side="right")})

    class Meta:
        """What was read of one part belongs to its side."""

        exclude = _but(RotorRequest, _of_a_side(RotorRequest))


class DrumAxleRequest(DrumRequest):
    """The two drums of an axle to be judged each and together."""

    left = Inner(DrumSide, metadata={"description": _SIDE.format(side="left")})
    right = Inner(DrumSide, metadata={"description": _SIDE.format(side="right")})

    class Meta:
        """What was read of one part belongs to its side."""

        exclude = _but(DrumRequest, _of_a_side(DrumRequest))


ROTOR_AXLE, DRUM_AXLE = RotorAxleRequest(), DrumAxleRequest()


def side_shape(axle: Shape) -> Shape:
    """The shape of either side."""
    return _inner(axle, Side.LEFT)


def new_part_shape(axle: Shape) -> Shape:
    """The shape of the new part that would take a side's place."""
    return _inner(side_shape(axle), NEW_PART)


def _inner(shape: Shape, name: str) -> Shape:
    field = shape.fields[name]
    if not isinstance(field, Inner):  # pragma: no cover - they are declared above
        raise TypeError(field)
    return field.shape


def axle_shapes(document: Mapping[str, object]) -> tuple[Shape, Shape]:
    """The shape for the kind that the document names (or its sides seem to be of), and the other kind's."""
    kind = named_kind(document)
    drum = kind is not None and not kind.is_rotor
    if kind is None:
        sides = [given for side in Side if isinstance(given := document.get(side), Mapping)]
        drum = any("diameter" in side for side in sides) and not any("thickness" in side for side in sides)
    return (DRUM_AXLE, ROTOR_AXLE) if drum else (ROTOR_AXLE, DRUM_AXLE)
