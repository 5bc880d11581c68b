"""The shape of a lathe's figures, and how a request names the lathe that a part is cut on."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from marshmallow import ValidationError

from turnrule.actions.lathes import FT_PER_MIN, M_PER_MIN, lathe_faults
from turnrule.api.bounds import Sized, Within
from turnrule.api.faults import FaultsError, faults_in
from turnrule.api.fields import Choice, ExactDecimal, NumberList, Text, Truth
from turnrule.api.json_reading import read_json
from turnrule.api.limit_shapes import LARGEST_FORM, unit_field
from turnrule.api.shapes import Inner, Shape
from turnrule.judging.words import LatheKind

MOST_STEPS = 100
FASTEST, GREATEST_FEED = 10_000, 10
SURFACE_SPEED_UNITS = (M_PER_MIN, FT_PER_MIN)


def _figure(description: str, most: int = LARGEST_FORM) -> ExactDecimal:
    """A figure of the lathe: more than 0."""
    return ExactDecimal(Within(above=0, most=most), required=True, metadata={"description": description})


class FeedSpan(Shape):
    """Feeds without steps, each a length a turn."""

    least = _figure("The slowest feed.", GREATEST_FEED)
    greatest = _figure("The fastest feed.", GREATEST_FEED)


class SpeedSpan(Shape):
    """Speeds without steps, in turns a minute."""

    least = _figure("The slowest speed.", FASTEST)
    greatest = _figure("The fastest speed.", FASTEST)


class SurfaceSpeedShape(Shape):
    """How fast the face may move past the tool."""

    least = _figure("The slowest that the tool cuts well at.", FASTEST)
    greatest = _figure("The fastest that the tool bears.", FASTEST)
    unit = Choice(SURFACE_SPEED_UNITS, required=True, metadata={"description": "Metres or feet a minute."})


class Stepped(Inner):
    """A setting of the lathe: a list of the steps that it has, or an object with both ends where it has none."""

    def __init__(self, span: type[Shape], step: ExactDecimal, **options: Any) -> None:  # noqa: ANN401 - marshmallow's
        self.steps = NumberList(step, Sized(least=1, most=MOST_STEPS))
        super().__init__(span, **options)

    def read(self, value: object) -> Any:  # noqa: ANN401 - either of the two
        """The steps, or both ends."""
        return self.steps.take(value) if isinstance(value, list) else super().read(value)


class LatheProfileShape(Shape):
    """The figures of one lathe, as the shop that has it knows them."""

    unit = unit_field()
    kind = Choice(LatheKind, required=True, metadata={"description": "Off the vehicle, or on its own hub."})
    least_depth = _figure("The least depth of a pass that still cuts, off one face; in a drum on the radius.")
    greatest_depth = _figure("The greatest depth of a pass.")
    finishing_depth = _figure("The greatest depth of the last pass.")
    roughing_feed = _figure("The feed of every pass but the last, a length a turn.", GREATEST_FEED)
    finishing_feeds = Stepped(
        FeedSpan,
        _figure("A feed.", GREATEST_FEED),
        required=True,
        metadata={"description": "The feeds of the last pass: the steps that there are, or the least and greatest."},
    )
    speeds = Stepped(
        SpeedSpan,
        _figure("A speed.", FASTEST),
        required=True,
        metadata={"description": "Turns a minute: the steps that there are, or the least and greatest."},
    )
    nose_radius = _figure("The radius of the tool's nose.")
    surface_speed = Inner(
        SurfaceSpeedShape, required=True, metadata={"description": "How fast the face may move past the tool."}
    )
    both_faces_at_once = Truth(
        required=True, metadata={"description": "Whether both faces of a rotor are cut in the same sweep."}
    )
    note = Text(500, metadata={"description": "What else a reader should know of it."})


LATHE = LatheProfileShape()

_STAND_INS: Mapping[str, Any] = {
    "unit": "mm",
    "kind": LatheKind.BENCH.value,
    "least_depth": Decimal("1E-7"),
    "greatest_depth": Decimal(100_000),
    "roughing_feed": Decimal(1),
    "finishing_feeds": (Decimal("1E-7"),),
    "speeds": (Decimal(1),),
    "nose_radius": Decimal(100_000),
    "surface_speed": {"least": Decimal(1), "greatest": Decimal(1), "unit": M_PER_MIN},
    "both_faces_at_once": True,
}
"""Figures that no other figure contradicts, for those that could not be read."""


def read_lathe_body(body: bytes) -> Mapping[str, object]:
    """The body as it stands, once all of it was checked. Raises `FaultsError` with every fault."""
    document = read_json(body)
    try:
        values = LATHE.load(document)
    except ValidationError as error:
        raise FaultsError([*faults_in(error.messages, LATHE), *_further(error.valid_data)]) from None
    if faults := lathe_faults(values):
        raise FaultsError(faults)
    if not isinstance(document, dict):  # pragma: no cover - the shape has seen to it
        raise TypeError(document)
    return document


def _further(values: object) -> list[Any]:
    """What the figures that could be read say together."""
    if not isinstance(values, dict):
        return []
    between = {"finishing_depth": values.get("greatest_depth", values.get("least_depth", Decimal(1)))}
    unread = {*_STAND_INS, *between} - values.keys()
    return [
        fault
        for fault in lathe_faults({**_STAND_INS, **between, **values})
        if fault.pointer.split("/")[1] not in unread
    ]
