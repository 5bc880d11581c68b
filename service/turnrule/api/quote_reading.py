"""A quote, as a document, into what is checked, with every fault of the document at once."""

from __future__ import annotations

import contextlib
import datetime
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from marshmallow import ValidationError

from turnrule.actions.checking_quotes import ReadPart, ReadQuote, further_quote_faults
from turnrule.actions.desk import Desk
from turnrule.actions.requests import ReadRequest
from turnrule.api.faults import FaultsError, did_you_mean, faults_in, quoted
from turnrule.api.impact import read_stored
from turnrule.api.part_reading import KM_PER_MILE, Lengths
from turnrule.api.quote_shapes import BOTH, QUOTE
from turnrule.api.shapes import ListOf
from turnrule.api.verdict_schemas import read_request
from turnrule.api.whole_reading import echoes, read_wholly
from turnrule.judging.faults import Fault
from turnrule.judging.lengths import EXACT
from turnrule.judging.parts import AskedCut
from turnrule.judging.quote_lines import Charge, Place, QuoteLine
from turnrule.judging.quote_words import Operation
from turnrule.judging.words import Side
from turnrule.store.port import Key

Values = Mapping[str, Any]
Entries = dict[int, dict[str, Any]]
_WHERE = ("axle", "side", "kind")


@dataclass(frozen=True, slots=True)
class _Loaded:
    """What could be read of a document, and what is wrong with the rest."""

    values: Values
    requests: Mapping[int, ReadRequest]
    faults: list[Fault]


def read_quote(desk: Desk, key: Key | None, document: object, at: datetime.datetime) -> ReadQuote:
    """The quote that a document makes. Raises `FaultsError` with every fault that can be told of it."""
    loaded = _load(document, lambda request: read_wholly(desk, request))
    values, faults = loaded.values, loaded.faults
    if not faults:
        return _quote(values, loaded.requests)
    if "unit" in values:
        told = [fault.pointer for fault in faults]
        further = further_quote_faults(desk, key, _quote(values, loaded.requests), read_stored, at)
        faults += [fault for fault in further if not echoes(fault, told, document)]
    raise FaultsError({(fault.pointer, fault.code): fault for fault in faults}.values())


def quote_of(document: object) -> ReadQuote:
    """The quote that a document makes, by its shape alone. Raises `FaultsError`."""
    loaded = _load(document, read_request)
    if loaded.faults:
        raise FaultsError(loaded.faults)
    return _quote(loaded.values, loaded.requests)


def _load(document: object, reader: Callable[[object], ReadRequest]) -> _Loaded:
    """The values of a document; `reader` reads the requests within its parts."""
    faults: list[Fault] = []
    try:
        values: dict[str, Any] = QUOTE.load(document)
    except ValidationError as error:
        faults += faults_in(error.messages, QUOTE)
        values = error.valid_data if isinstance(error.valid_data, dict) else {}
    lines, parts = (_well_shaped(document, name) for name in ("lines", "parts"))
    requests = _requests(reader, parts, faults)
    faults += [*_named(parts), *_asked(document, lines, parts)]
    return _Loaded(values, requests, faults)


def _well_shaped(document: object, name: str) -> Entries:
    """The entries of a list that can be read by themselves, by their place: the others were told already."""
    field = QUOTE.fields[name]
    listed = document.get(name) if isinstance(document, Mapping) else None
    if not isinstance(field, ListOf) or not isinstance(listed, list):
        return {}
    read: Entries = {}
    for index, entry in enumerate(listed[: field.size.most]):
        with contextlib.suppress(ValidationError):
            read[index] = field.entry.take(entry)
    return read


def _requests(reader: Callable[[object], ReadRequest], parts: Entries, faults: list[Fault]) -> dict[int, ReadRequest]:
    """The requests within the parts, by the part's place; their faults go to the others."""
    read: dict[int, ReadRequest] = {}
    for index, part in parts.items():
        if "request" not in part:
            continue
        try:
            read[index] = reader(part["request"])
        except FaultsError as error:
            faults += [
                Fault(f"/parts/{index}/request{fault.pointer}", fault.code, fault.detail) for fault in error.faults
            ]
    return read


def _named(parts: Entries) -> Iterator[Fault]:
    """Names that stand for two parts, and parts with two sources of a verdict."""
    names: set[str] = set()
    for index, part in parts.items():
        if part["name"] in names:
            detail = f"{quoted(part['name'])} names another part already; each part has a name of its own"
            yield Fault(f"/parts/{index}/name", "name_twice", detail)
        names.add(part["name"])
        if "verdict_id" in part and "request" in part:
            detail = "give either the id of a stored verdict or a request to be judged now"
            yield Fault(f"/parts/{index}", "verdict_or_request", detail)


def _asked(document: object, lines: Entries, parts: Entries) -> Iterator[Fault]:
    """What the lines say together with the parts; names are not looked up while a part could not be read."""
    given = document.get("parts", []) if isinstance(document, Mapping) else []
    whole = isinstance(given, list) and len(given) == len(parts)
    names = [part["name"] for part in parts.values()] if whole else None
    for index, line in lines.items():
        yield from _line_faults(line, f"/lines/{index}", names)


def _line_faults(line: Values, pointer: str, names: list[str] | None) -> Iterator[Fault]:
    if "part" in line and names is not None and line["part"] not in names:
        hint = did_you_mean(line["part"], names)
        yield Fault(f"{pointer}/part", "unknown_part", f"no part is named {quoted(line['part'])}{hint}")
    named = [where for where in _WHERE if where in line]
    if "part" not in line and (named or line["operation"] is not Operation.OTHER):
        if not named:
            detail = "say what this line is about: the name of a part, or axle, side and kind"
            yield Fault(f"{pointer}/part", "missing", detail)
        for where in _WHERE if named else ():
            if where not in line:
                detail = "a line that names no part says axle, side (or both) and kind; nothing is assumed"
                yield Fault(f"{pointer}/{where}", "missing", detail)
    if "cut" in line and line["operation"] is not Operation.MACHINE:
        detail = f"only machining has a cut; {line['operation'].value} has none"
        yield Fault(f"{pointer}/cut", "cut_without_machining", detail)


def _quote(values: Values, requests: Mapping[int, ReadRequest]) -> ReadQuote:
    lengths = Lengths(values["unit"])
    return ReadQuote(
        unit=values["unit"],
        lines=tuple(_line(line, lengths) for line in values.get("lines", ())),
        parts=tuple(_part(part, requests.get(index)) for index, part in enumerate(values.get("parts", ()))),
        total=values.get("total"),
        currency=values.get("currency"),
        policy=values.get("policy"),
    )


def _line(line: Values, lengths: Lengths) -> QuoteLine:
    side = line.get("side")
    sides = tuple(Side) if side == BOTH else ((Side(side),) if side is not None else ())
    return QuoteLine(
        operation=line["operation"],
        part=line.get("part"),
        axle=line.get("axle"),
        sides=sides,
        kind=line.get("kind"),
        cut=_cut(line["cut"], lengths) if "cut" in line else None,
        lathe=line.get("lathe"),
        charge=_charge(line),
        currency=line.get("currency"),
    )


def _cut(values: Values, lengths: Lengths) -> AskedCut:
    return AskedCut(lengths.maybe(values, "inboard"), lengths.maybe(values, "outboard"), lengths.maybe(values, "depth"))


def _charge(values: Values) -> Charge:
    return Charge(values.get("price"), values.get("labour"), values.get("discount"))


def _part(part: Values, request: ReadRequest | None) -> ReadPart:
    return ReadPart(
        name=part["name"],
        place=Place(part.get("axle"), part.get("side"), part.get("kind")),
        verdict_id=part.get("verdict_id") if "request" not in part else None,
        request=request,
        new_distance_km=_kilometres(part["new_distance"]) if "new_distance" in part else None,
        other_way=_charge(part["other_way"]) if "other_way" in part else None,
    )


def _kilometres(distance: Values) -> Decimal:
    value: Decimal = distance["value"]
    return value if distance["unit"] == "km" else EXACT.multiply(value, KM_PER_MILE)
