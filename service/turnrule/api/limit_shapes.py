"""The shapes of a limits body, and of the limits that a request may bring: which fields, within which bounds."""

from __future__ import annotations

import re
from decimal import Decimal

from turnrule.api.bounds import Sized, Within
from turnrule.api.fields import Choice, ExactDecimal, IsoDate, Text, WholeNumber
from turnrule.api.shapes import Inner, ListOf, Shape
from turnrule.judging.words import Axle, Construction, Kind, Machining, Unit

LARGEST_SIZE = 2000
LARGEST_FORM = 100
MOST_ANSWERS = 50
ALSO = "The same values in the other unit, where the document prints both; they must agree as far as they are printed."


def size(description: str, *, required: bool = False) -> ExactDecimal:
    """A thickness or diameter: more than 0."""
    bounds = Within(above=0, most=LARGEST_SIZE)
    return ExactDecimal(bounds, required=required, metadata={"description": description})


def form(description: str, *, required: bool = False) -> ExactDecimal:
    """A runout, variation, depth or cut: 0 or more."""
    return ExactDecimal(Within(least=0, most=LARGEST_FORM), required=required, metadata={"description": description})


def unit_field() -> Choice:
    """The unit that every body states."""
    return Choice(
        Unit, required=True, metadata={"description": "The unit of every length in this body and in the answer."}
    )


def kind_field(*kinds: Kind) -> Choice:
    """The kind of part, as far as this body can be of it."""
    words = [kind.value for kind in kinds]
    return Choice(Kind, required=True, metadata={"description": "The kind of part.", "enum": words})


def make_field() -> Text:
    """The vehicle's maker."""
    return Text(80, required=True, metadata={"description": "The vehicle's maker; case and spacing do not matter."})


def model_field() -> Text:
    """The vehicle's model."""
    return Text(80, required=True, metadata={"description": "The vehicle's model; case and spacing do not matter."})


def axle_field() -> Choice:
    """The axle that the part sits on."""
    return Choice(Axle, required=True, metadata={"description": "The axle; rear is the last of two."})


def brake_option_field() -> Text:
    """The brake option, where a vehicle was built with more than one."""
    return Text(40, metadata={"description": "The brake option, where the vehicle was built with more than one."})


def year_field(description: str, *, required: bool = False) -> WholeNumber:
    """A model year."""
    return WholeNumber(Within(least=1900, most=2100), required=required, metadata={"description": description})


def reason_field(description: str, *, required: bool = False) -> Text:
    """A reason in words that somebody else can follow later: 10 to 500 characters."""
    return Text(500, least=10, required=required, metadata={"description": description})


class _Lengths(Shape):
    """The lengths that rotor and drum limits have in common."""

    maximum_taper = form("Greatest difference between the means of the outer and the inner track.")


class RotorLengths(_Lengths):
    """The lengths of a rotor's limits."""

    nominal_thickness = size("Thickness of the new part.")
    minimum_machining_thickness = size("Least thickness that may be left after machining.")
    discard_thickness = size("Least thickness at which the part may stay in service.")
    maximum_lateral_runout = form("Greatest lateral runout of the friction face, total indicator reading.")
    maximum_thickness_variation = form("Greatest thickness variation on one track.")


class DrumLengths(_Lengths):
    """The lengths of a drum's limits."""

    nominal_diameter = size("Diameter of the new part.")
    maximum_machining_diameter = size("Greatest diameter that may be left after machining.")
    discard_diameter = size("Greatest diameter at which the part may stay in service.")
    maximum_out_of_round = form("Greatest difference of diameters on one track.")


class _Build(Shape):
    """What limits say besides lengths."""

    machining = Choice(Machining, metadata={"description": "What the document says of machining the part at all."})
    construction = Choice(Construction, metadata={"description": "How the part is built."})
    expansion_per_k = ExactDecimal(
        Within(above=0, most=Decimal("0.0001")),
        metadata={"description": "Linear expansion per kelvin, where the part is not of grey iron."},
    )


class RotorFigures(RotorLengths, _Build):
    """The limits of a rotor."""


class DrumFigures(DrumLengths, _Build):
    """The limits of a drum."""


class Fits(Shape):
    """The vehicles that a record is for."""

    make = make_field()
    model = model_field()
    year_from = year_field("First model year, included.", required=True)
    year_to = year_field("Last model year, included; left out while the vehicle is still built.")
    axle = axle_field()
    brake_option = brake_option_field()


class SourceShape(Shape):
    """The document that the limits were read from."""

    document = Text(200, required=True, metadata={"description": "The title of the document."})
    publisher = Text(120, required=True, metadata={"description": "Who publishes it."})
    section = Text(120, required=True, metadata={"description": "Section, page or table where the values stand."})
    edition = Text(60, required=True, metadata={"description": "The edition, as the document names it."})
    issued = IsoDate(metadata={"description": "The day on which this edition was issued."})


class SecondSourceShape(Shape):
    """The document that the second person read; document and edition are compared with the first entry's."""

    document = Text(200, required=True, metadata={"description": "The title of the document."})
    publisher = Text(120, metadata={"description": "Who publishes it."})
    section = Text(120, metadata={"description": "Section, page or table where the values stand."})
    edition = Text(60, required=True, metadata={"description": "The edition, as the document names it."})
    issued = IsoDate(metadata={"description": "The day on which this edition was issued."})


class _OtherUnit(Shape):
    """Values as the document prints them in its other unit."""

    unit = Choice(Unit, required=True, metadata={"description": "The other unit that the document prints."})


class RotorOtherUnit(RotorLengths, _OtherUnit):
    """A rotor's limits in the other unit that the document prints; each stands in the body as well."""


class DrumOtherUnit(DrumLengths, _OtherUnit):
    """A drum's limits in the other unit that the document prints; each stands in the body as well."""


class CorrectsShape(Shape):
    """The accepted revision that this entry takes the place of."""

    limits_id = Text(
        80, pattern=re.compile(r"[a-z0-9][a-z0-9-]{0,79}"), required=True, metadata={"description": "The record's id."}
    )
    revision = WholeNumber(
        Within(least=1, most=1_000_000),
        required=True,
        metadata={"description": "The newest accepted revision, so that no correction in between is lost."},
    )


class WarningAnswerShape(Shape):
    """Why one warning of the entry checks does not hold the entry up."""

    code = Text(60, pattern=re.compile(r"[a-z0-9_]+"), required=True, metadata={"description": "The warning's code."})
    pointer = Text(200, required=True, metadata={"description": "The warning's pointer."})
    reason = reason_field("Why the value stands all the same.", required=True)


class _Either(Shape):
    """What surrounds the figures whoever enters them, first or second."""

    unit = unit_field()
    application = Inner(Fits, required=True, metadata={"description": "The vehicles that these limits are for."})
    review_due = IsoDate(metadata={"description": "The day until which they are to be looked at again."})
    note = Text(500, metadata={"description": "What else a reader should know."})


class _Entry(_Either):
    """What surrounds the figures in a limits body."""

    source = Inner(SourceShape, required=True, metadata={"description": "The document that the limits were read from."})
    effective_from = IsoDate(required=True, metadata={"description": "The first day on which these limits hold."})
    effective_to = IsoDate(metadata={"description": "The first day on which they hold no longer."})
    corrects = Inner(CorrectsShape, metadata={"description": "What this entry corrects; left out for a new record."})
    reason = reason_field("Why the record is corrected; needed with `corrects`.")
    answered_warnings = ListOf(
        Inner(WarningAnswerShape),
        Sized(most=MOST_ANSWERS),
        metadata={"description": "A reason for each warning that this entry was answered with."},
    )


class _Second(_Either):
    """What surrounds the figures in a second entry."""

    source = Inner(SecondSourceShape, metadata={"description": "The document that the limits were read from."})
    effective_from = IsoDate(metadata={"description": "The first day on which these limits hold."})
    effective_to = IsoDate(metadata={"description": "The first day on which they hold no longer."})


class RotorLimits(RotorFigures, _Entry):
    """A limits body for a rotor."""

    kind = kind_field(Kind.ROTOR)
    also = Inner(RotorOtherUnit, metadata={"description": ALSO})


class DrumLimits(DrumFigures, _Entry):
    """A limits body for a drum or a parking drum."""

    kind = kind_field(Kind.DRUM, Kind.PARKING_DRUM)
    also = Inner(DrumOtherUnit, metadata={"description": ALSO})


class RotorSecondEntry(RotorFigures, _Second):
    """The limits of a rotor, entered again by a second person."""

    kind = kind_field(Kind.ROTOR)
    also = Inner(RotorOtherUnit, metadata={"description": ALSO})


class DrumSecondEntry(DrumFigures, _Second):
    """The limits of a drum or a parking drum, entered again by a second person."""

    kind = kind_field(Kind.DRUM, Kind.PARKING_DRUM)
    also = Inner(DrumOtherUnit, metadata={"description": ALSO})
