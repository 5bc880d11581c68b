"""The schemas of requests, made from the very shapes that read them: names, bounds, lengths, patterns, words."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from apispec import APISpec
from apispec.ext.marshmallow import MarshmallowPlugin
from marshmallow import Schema, fields

from turnrule.api.axle_shapes import DRUM_AXLE, ROTOR_AXLE
from turnrule.api.bounds import Readable, Within
from turnrule.api.contract_parts import Schema as JsonSchema
from turnrule.api.contract_parts import either_kind
from turnrule.api.exact_numbers import FINEST
from turnrule.api.fields import ExactDecimal, WholeNumber
from turnrule.api.lathe_shapes import LATHE, Stepped
from turnrule.api.limits_schemas import DRUM_LIMITS, DRUM_SECOND, ROTOR_LIMITS, ROTOR_SECOND
from turnrule.api.policy_shapes import POLICY, EffectMap
from turnrule.api.quote_shapes import QUOTE, EmbeddedRequest
from turnrule.api.release_shapes import RELEASE, WITHDRAWAL
from turnrule.api.replays import REPLAY
from turnrule.api.setup_reading import DRUM_SETUP, ROTOR_SETUP
from turnrule.api.shapes import Short
from turnrule.api.site_shapes import SITE
from turnrule.api.trial_shapes import CANDIDATES, TRIAL
from turnrule.api.verdict_schemas import DRUM_REQUEST, ROTOR_REQUEST

_NAMES = {
    "RotorFigures": "RotorCallerLimits",
    "DrumFigures": "DrumCallerLimits",
    "PolicyShape": "PolicyBody",
    "LatheProfileShape": "LatheBody",
    "SurfaceSpeedShape": "SurfaceSpeedRange",
    "RotorLimits": "RotorLimitsBody",
    "DrumLimits": "DrumLimitsBody",
    "Fits": "FitsBody",
    "SourceShape": "SourceBody",
    "SecondSourceShape": "SecondSourceBody",
    "WithdrawalShape": "WithdrawalBody",
    "ReleaseShape": "ReleaseBody",
    "QuoteShape": "QuoteBody",
    "QuotePartShape": "QuotePartBody",
    "QuoteLineShape": "QuoteLineBody",
    "SiteShape": "SiteBody",
    "TrialShape": "TrialBody",
    "SettingShape": "TrialSetting",
    "TrialFilterShape": "TrialFilter",
    "TrialPricesShape": "TrialPrices",
}
_SURROGATES = "\\ud800-\\udfff"
"""No text that came as UTF-8 holds one alone; in a pattern they only puzzle engines that read by code point."""

_SOMETHING_TO_JUDGE_BY = [{"required": ["application"]}, {"required": ["limits"]}, {"required": ["marking"]}]
_BY_EACH_SIDE = {"properties": {side: {"anyOf": _SOMETHING_TO_JUDGE_BY[1:]} for side in ("left", "right")}}
_AN_AXLE_TO_JUDGE = [
    {"required": [side], **basis}
    for side in ("left", "right")
    for basis in ({"required": [side, "application"]}, {"required": [side, "limits"]}, _BY_EACH_SIDE)
]


def _one_of(one: str, other: str) -> JsonSchema:
    """Either of two fields, and not both."""
    return {"anyOf": [{"required": [one]}, {"required": [other]}], "not": {"required": [one, other]}}


_CORRECTION: JsonSchema = {"dependentRequired": {"corrects": ["reason"], "reason": ["corrects"]}}
_TOGETHER: dict[str, JsonSchema] = {
    "RotorRequest": {"anyOf": _SOMETHING_TO_JUDGE_BY, "dependentRequired": {"thickness_inner": ["thickness"]}},
    "DrumRequest": {"anyOf": _SOMETHING_TO_JUDGE_BY, "dependentRequired": {"diameter_inner": ["diameter"]}},
    "RotorAxleRequest": {"anyOf": _AN_AXLE_TO_JUDGE},
    "DrumAxleRequest": {"anyOf": _AN_AXLE_TO_JUDGE},
    "RotorSide": {"dependentRequired": {"thickness_inner": ["thickness"]}},
    "DrumSide": {"dependentRequired": {"diameter_inner": ["diameter"]}},
    "RotorSetupRequest": {"anyOf": [{"required": [block]} for block in ("readings", "hub", "faces")]},
    "DrumSetupRequest": {"anyOf": [{"required": [block]} for block in ("readings", "hub", "tracks")]},
    "LatheChoice": {**_one_of("kind", "profile"), "dependentRequired": {"revision": ["profile"]}},
    "MountReading": _one_of("scratch", "trace"),
    "Scratch": _one_of("covered", "arcs"),
    "Hub": _one_of("studs", "turns"),
    "Faces": {"anyOf": [{"required": [face]} for face in ("outboard", "inboard")]},
    "DrumTrack": {
        "anyOf": [{"required": [where, what]} for where in ("distance", "place") for what in ("diameters", "trace")],
        "not": {"required": ["distance", "place"]},
    },
    "IndexReading": {
        "anyOf": [{"required": ["trace"]}, {"required": ["runout", "high_spot"]}],
        "not": {"required": ["trace"], "anyOf": [{"required": ["runout"]}, {"required": ["high_spot"]}]},
    },
    "QuoteLineBody": {
        "anyOf": [
            {"required": ["part"]},
            {"required": ["axle", "side", "kind"]},
            {
                "properties": {"operation": {"const": "other"}},
                "not": {"anyOf": [{"required": [where]} for where in ("axle", "side", "kind")]},
            },
        ],
        "dependentSchemas": {"cut": {"properties": {"operation": {"const": "machine"}}}},
    },
    "QuoteCut": {
        "anyOf": [{"required": ["depth"]}, {"required": ["inboard", "outboard"]}],
        "not": {"required": ["depth"], "anyOf": [{"required": ["inboard"]}, {"required": ["outboard"]}]},
    },
    "QuotePartBody": {"not": {"required": ["verdict_id", "request"]}},
    "RotorLimitsBody": _CORRECTION,
    "DrumLimitsBody": _CORRECTION,
    "TrialBody": {"oneOf": [{"required": [candidate]} for candidate in CANDIDATES]},
    "RotorOtherUnit": {"minProperties": 2},
    "DrumOtherUnit": {"minProperties": 2},
}
"""What the fields of a request owe each other, as far as a schema can say it; the engine itself refuses the rest."""


def request_plugin() -> MarshmallowPlugin:
    """The plugin that turns shapes into schemas among the components."""
    return MarshmallowPlugin(schema_name_resolver=shape_name)


def shape_name(schema: Schema | type[Schema] | str) -> str:
    """The name of a shape among the components."""
    kind = schema if isinstance(schema, type) else type(schema)
    return _NAMES.get(kind.__name__, kind.__name__.removesuffix("Shape"))


def add_requests(spec: APISpec, plugin: MarshmallowPlugin) -> None:
    """Put the schemas of every body among the components; no field beside those that they name is read."""
    add_attribute_functions(plugin)
    for shape in _BODIES:
        spec.components.schema(shape_name(shape), schema=shape)
    for name, schema in spec.components.schemas.items():
        schema["description"] = _described(name, plugin)
        for part in schema["properties"].values():
            _tidy(part)
    for name, rules in _TOGETHER.items():
        spec.components.schemas[name].update(rules)
    for name, (rotor, drum, said) in _EITHER.items():
        spec.components.schema(name, component=either_kind(rotor, drum, said))


_BODIES = (
    ROTOR_REQUEST,
    DRUM_REQUEST,
    ROTOR_AXLE,
    DRUM_AXLE,
    ROTOR_SETUP,
    DRUM_SETUP,
    POLICY,
    LATHE,
    ROTOR_LIMITS,
    DRUM_LIMITS,
    ROTOR_SECOND,
    DRUM_SECOND,
    WITHDRAWAL,
    RELEASE,
    QUOTE,
    SITE,
    TRIAL,
    REPLAY,
)
_EITHER = {
    "VerdictRequest": ("RotorRequest", "DrumRequest", "One part to be judged: a rotor, or a drum or parking drum."),
    "AxleVerdictRequest": (
        "RotorAxleRequest",
        "DrumAxleRequest",
        "The two parts of an axle to be judged: rotors, or drums or parking drums.",
    ),
    "SetupRequest": (
        "RotorSetupRequest",
        "DrumSetupRequest",
        "What was read of a part on the lathe or on its hub: of a rotor, or of a drum or parking drum.",
    ),
    "LimitsBody": ("RotorLimitsBody", "DrumLimitsBody", "Limits as a document gives them, entered for the first time."),
    "SecondEntryBody": (
        "RotorSecondEntry",
        "DrumSecondEntry",
        "The same limits, entered again from the same document by somebody who has not seen the first entry.",
    ),
}
"""Bodies that are about a rotor, or about a drum or parking drum."""

READ_BODIES = frozenset(_EITHER)


def _tidy(part: JsonSchema) -> None:
    """Take out what the converter says twice or says without meaning it."""
    if "anyOf" in part:
        part.pop("$ref", None)
    if "exclusiveMinimum" in part:
        part.pop("minimum", None)
    if part.get("minItems") == 0:
        del part["minItems"]
    inner = part.get("items")
    if isinstance(inner, dict):
        _tidy(inner)


def add_attribute_functions(plugin: MarshmallowPlugin) -> None:
    """Teach the converter what our own fields say of themselves."""
    converter = _converter(plugin)
    for function in (_bounded, _readable, _shortened, _stepped, _mapped, _embedded):
        converter.add_attribute_function(function)


def query_schema(plugin: MarshmallowPlugin, field: fields.Field[Any]) -> JsonSchema:
    """The schema of one parameter."""
    schema: JsonSchema = _converter(plugin).field2property(field)
    return schema


def _converter(plugin: MarshmallowPlugin) -> Any:  # noqa: ANN401 - it ships no types
    converter = plugin.converter
    if converter is None:  # pragma: no cover - a specification gives its plugins one
        raise RuntimeError("the plugin belongs to no specification yet")
    return converter


def _described(name: str, plugin: MarshmallowPlugin) -> str:
    """The sentence of the shape's own docstring."""
    shapes = {shape_name(key[0]): key[0] for key in _converter(plugin).refs}
    return str(shapes[name].__doc__).strip().splitlines()[0]


def _bounded(_self: object, field: fields.Field[Any], **_so_far: object) -> JsonSchema:
    """Bounds as the field itself holds them; what is more than 0 begins at the least number that is read."""
    if not isinstance(field, ExactDecimal | WholeNumber):
        return {}
    bounds = next(check for check in field.validators if isinstance(check, Within))
    if bounds.above == 0:
        lower = {"minimum": _plain(FINEST)}
    elif bounds.above is not None:
        lower = {"exclusiveMinimum": _plain(bounds.above)}
    else:
        lower = {"minimum": _plain(bounds.least)} if bounds.least is not None else {}
    return {**lower, "maximum": _plain(bounds.most)}


def _plain(bound: Decimal | int) -> int | float:
    return int(bound) if bound == int(bound) else float(bound)


def _readable(_self: object, field: fields.Field[Any], **_so_far: object) -> JsonSchema:
    """The pattern of a text, in the dialect that JSON Schema shares with Python."""
    patterns = [check.pattern.pattern for check in field.validators if isinstance(check, Readable)]
    if not patterns:
        return {}
    whole = patterns[0] if patterns[0].startswith("^") else f"^{patterns[0]}$"
    return {"pattern": whole.replace(_SURROGATES, "")}


def _shortened(self: Any, field: fields.Field[Any], **_so_far: object) -> JsonSchema:  # noqa: ANN401 - the converter
    """An object, or in its place the value of its main field alone."""
    if not isinstance(field, Short):
        return {}
    whole = self.resolve_nested_schema(field.schema)
    return {"anyOf": [self.field2property(field.shape.fields[field.main]), whole]}


def _stepped(self: Any, field: fields.Field[Any], **_so_far: object) -> JsonSchema:  # noqa: ANN401 - the converter
    """A list of steps, or an object with both ends."""
    if not isinstance(field, Stepped):
        return {}
    return {"anyOf": [self.field2property(field.steps), self.resolve_nested_schema(field.schema)]}


def _mapped(_self: object, field: fields.Field[Any], **_so_far: object) -> JsonSchema:
    """What may stand as a name in an object of codes and effects."""
    if not isinstance(field, EffectMap):
        return {}
    return {name: field.metadata[name] for name in ("additionalProperties", "propertyNames", "maxProperties")}


def _embedded(_self: object, field: fields.Field[Any], **_so_far: object) -> JsonSchema:
    """A request for a verdict within another document."""
    return {"$ref": "#/components/schemas/VerdictRequest"} if isinstance(field, EmbeddedRequest) else {}
