"""The shape of a policy body: the fields that a policy may tighten, each within its bounds."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError, fields

from turnrule.api.bounds import Sized, Within, flawed
from turnrule.api.faults import FaultsError, faults_in
from turnrule.api.fields import Choice, Coded, ExactDecimal, Text, Truth, WholeNumber
from turnrule.api.json_reading import read_json
from turnrule.api.life_shapes import Distance
from turnrule.api.limit_shapes import form, unit_field
from turnrule.api.request_shapes import CODE
from turnrule.api.shapes import Inner, Shape
from turnrule.judging.words import DecisionRule, Effect, Overdue, PairRule, Reading

MOST_FINDINGS_RAISED, MOST_REGULATIONS = 200, 100


class WordList(Coded, fields.List[str]):
    """A list of words."""

    def __init__(self, entry: Text | Choice, size: Sized, **options: Any) -> None:  # noqa: ANN401 - marshmallow's
        self.entry = entry
        self.size = size
        super().__init__(entry, validate=size, **options)

    def read(self, value: object) -> list[str]:
        """The words in their order."""
        if not isinstance(value, list):
            raise flawed("wrong_type", "this is a list, in square brackets, even where it has one entry")
        self.size(value)
        return _each(self.entry, dict(enumerate(value)))


class EffectMap(Coded, fields.Dict):
    """Finding codes with the effect that each is raised to."""

    code = Text(63, pattern=CODE)
    effect = Choice(Effect)

    def read(self, value: object) -> dict[str, str]:
        """The effects by code."""
        if not isinstance(value, dict):
            raise flawed("wrong_type", "this is an object of finding codes and effects, in curly brackets")
        Sized(most=MOST_FINDINGS_RAISED)(value)
        _each(self.code, {name: name for name in value})
        return dict(zip(value, _each(self.effect, value), strict=True))


def _each(entry: Text | Choice, values: dict[Any, object]) -> list[str]:
    """Every value read by one field, or all their flaws by place."""
    read: list[str] = []
    errors: dict[Any, Any] = {}
    for place, value in values.items():
        try:
            read.append(entry.take(value))
        except ValidationError as error:
            errors[place] = error.messages
    if errors:
        raise ValidationError(errors)
    return read


class InstrumentDefaultsShape(Shape):
    """What is taken of the gauge where a request is silent; greater is stricter."""

    resolution = ExactDecimal(Within(above=0, most=100), metadata={"description": "One digital step."})
    expanded_uncertainty = form("The certificate's expanded uncertainty, k = 2.")
    repeatability = form("The standard deviation of repeated readings.")


def _choice(words: type[DecisionRule | Overdue | PairRule], description: str) -> Choice:
    return Choice(words, metadata={"description": description})


class PolicyShape(Shape):
    """A policy body: what differs from the policy that it inherits, always to the stricter side."""

    unit = unit_field()
    inherits = Text(63, pattern=CODE, metadata={"description": "The policy that this one tightens; default if none."})
    why = Text(500, metadata={"description": "Why the policy asks for this, in a sentence."})
    decision_rule = _choice(DecisionRule, "How a figure is held against a strength limit; guarded is stricter.")
    instrument = Inner(InstrumentDefaultsShape, metadata={"description": "The gauge, where a request is silent."})
    minimum_points = WholeNumber(
        Within(least=1, most=1000), metadata={"description": "Least readings of a track; more is stricter."}
    )
    require = WordList(
        Choice(Reading),
        Sized(most=len(Reading)),
        metadata={"description": "Readings without which a verdict is inconclusive; they add to the parent's."},
    )
    discard_margin = form("Kept between a part and its discard limit; greater is stricter.")
    machining_margin = form("Kept between a part and its machining limit; greater is stricter.")
    wear_allowance = form("Left to wear above the discard limit after a cut; greater is stricter.")
    derive_machining_limit = Truth(
        metadata={"description": "Whether discard and wear allowance serve where no machining limit is known."}
    )
    accept_caller_limits = Truth(metadata={"description": "Whether limits in a request are judged by."})
    maximum_runout = form("Greatest lateral runout; smaller is stricter.")
    maximum_thickness_variation = form("Greatest thickness variation; smaller is stricter.")
    maximum_out_of_round = form("Greatest out-of-round; smaller is stricter.")
    maximum_taper = form("Greatest taper; smaller is stricter.")
    groove_limit = form("Greatest groove depth; smaller is stricter.")
    minimum_cut = form("Least planned cut per face; greater is stricter.")
    total_cut = form("Greatest cut in total; smaller is stricter.")
    face_balance = form("Greatest difference of the two faces' cuts; smaller is stricter.")
    axle_difference = form("Greatest difference of the two sides of an axle; smaller is stricter.")
    pair_rule = _choice(PairRule, "What is asked of the two parts of an axle; later is stricter.")
    remaining_distance = Inner(Distance, metadata={"description": "Least distance left in the part."})
    findings = EffectMap(
        metadata={
            "description": "Findings with the effect that they are raised to.",
            "additionalProperties": {"type": "string", "enum": list(Effect)},
            "propertyNames": {"pattern": CODE.pattern, "maxLength": 63},
            "maxProperties": MOST_FINDINGS_RAISED,
        }
    )
    regulations = WordList(
        Text(63, pattern=CODE),
        Sized(most=MOST_REGULATIONS),
        metadata={"description": "Laws of the catalogue that hold."},
    )
    jurisdictions = WordList(
        Text(63, pattern=CODE),
        Sized(most=MOST_REGULATIONS),
        metadata={"description": "Places of which all laws of the catalogue hold, those to come included."},
    )
    limits_review_due = _choice(Overdue, "What becomes of a verdict under limits past their review date.")
    calibration_overdue = _choice(Overdue, "What becomes of a verdict with a gauge past its calibration date.")


POLICY = PolicyShape()


def read_policy_body(body: bytes) -> Mapping[str, object]:
    """The body as it stands, once its shape was checked. Raises `FaultsError` with every fault."""
    document = read_json(body)
    try:
        POLICY.load(document)
    except ValidationError as error:
        raise FaultsError(faults_in(error.messages, POLICY)) from None
    if not isinstance(document, dict):  # pragma: no cover - the shape has seen to it
        raise TypeError(document)
    return document
