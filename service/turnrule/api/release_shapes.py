"""The bodies by which limits are released and withdrawn."""

from __future__ import annotations

from typing import Any

from marshmallow import ValidationError

from turnrule.api.bounds import Within
from turnrule.api.faults import FaultsError, faults_in
from turnrule.api.fields import Text, WholeNumber
from turnrule.api.json_reading import read_json
from turnrule.api.limit_shapes import reason_field
from turnrule.api.shapes import Shape

GREATEST_NUMBER = 2**31 - 1
LONGEST_NOTES = 1000


class WithdrawalShape(Shape):
    """A record that must not be used any more, or a draft that is given up."""

    reason = reason_field(
        "Why. Everybody can read it, those too who enter the limits again: write no figure into it.", required=True
    )
    revision = WholeNumber(
        Within(least=1, most=GREATEST_NUMBER),
        metadata={
            "description": "The newest accepted revision, which goes with all before it, or that of the open draft. "
            "Left out: the newest accepted one, or the draft where none was ever accepted."
        },
    )


class ReleaseShape(Shape):
    """The next release, of all that is verified."""

    notes = Text(LONGEST_NOTES, required=True, metadata={"description": "What it brings, for those who read the list."})
    follows = WholeNumber(
        Within(least=0, most=GREATEST_NUMBER),
        metadata={
            "description": "The release that it is to come after, 0 for the first; where another one came first, "
            "it is refused."
        },
    )


WITHDRAWAL, RELEASE = WithdrawalShape(), ReleaseShape()


def read_shape(shape: Shape, body: bytes) -> dict[str, Any]:
    """The values of a body of this shape. Raises `FaultsError` with every fault."""
    document = read_json(body)
    try:
        return shape.load(document)
    except ValidationError as error:
        raise FaultsError(faults_in(error.messages, shape)) from None
