"""Check a quote: each part's verdict is found, or made as by itself, and the engine compares; nothing is stored."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from turnrule.actions.desk import Desk
from turnrule.actions.judging_again import ground_again
from turnrule.actions.judging_parts import Ground, Reached, ground_for, reach_from
from turnrule.actions.policies import recorded_policy
from turnrule.actions.reading_records import read_verdict
from turnrule.actions.refusals import RefusedError
from turnrule.actions.requests import ReadRequest
from turnrule.actions.sites import policy_for
from turnrule.judging.faults import Fault, PartError
from turnrule.judging.policy import Policy
from turnrule.judging.quote_check import QuoteCheck, check_quote
from turnrule.judging.quote_lines import Charge, KnownPart, Place, Quote, QuoteLine
from turnrule.judging.quote_words import Outdated
from turnrule.judging.words import Face, Kind, Unit
from turnrule.store.port import Key, VerdictRecord

ReadStored = Callable[[bytes], ReadRequest]


@dataclass(frozen=True, slots=True)
class ReadPart:
    """A part as a quote names it: with a stored verdict, with a request to be judged now, or with neither."""

    name: str
    place: Place = field(default_factory=Place)
    verdict_id: str | None = None
    request: ReadRequest | None = None
    new_distance_km: Decimal | None = None
    other_way: Charge | None = None


@dataclass(frozen=True, slots=True)
class ReadQuote:
    """A quote to be checked; `policy` None is that of the caller's site, or the default."""

    unit: Unit
    lines: tuple[QuoteLine, ...]
    parts: tuple[ReadPart, ...] = ()
    total: Decimal | None = None
    currency: str | None = None
    policy: str | None = None


@dataclass(frozen=True, slots=True)
class CheckedPart:
    """A part of a quote with the judgement of it, if there is one."""

    known: KnownPart
    reached: Reached | None = None


@dataclass(frozen=True, slots=True)
class CheckedQuote:
    """What a quote came to, and what it was checked under. `parts` are those that the quote gives, in their order."""

    quote: Quote
    check: QuoteCheck
    parts: tuple[CheckedPart, ...]
    policy: Policy
    at: datetime.datetime


def check_lines(
    desk: Desk, key: Key | None, read: ReadQuote, stored: ReadStored, at: datetime.datetime
) -> CheckedQuote:
    """The check of a quote as of the moment `at`. `stored` reads the request that was kept with a verdict.

    `key` None sees every stored verdict. Raises `PartError` and `RefusedError` with the faults of all parts.
    """
    parts, faults, codes = _known(desk, key, read, stored, at)
    policy: Policy | None = None
    try:
        policy = policy_for(desk, read.policy)
    except RefusedError as refusal:
        codes.append(refusal.code)
        faults += refusal.faults
    faults += cut_faults(read, [one.known for one in parts])
    told = tuple({(fault.pointer, fault.code): fault for fault in faults}.values())
    if codes:
        raise RefusedError(codes[0], told)
    if told or policy is None:
        raise PartError(told)
    quote = Quote(read.unit, read.lines, tuple(one.known for one in parts), read.total, read.currency)
    return CheckedQuote(quote, check_quote(quote, policy), tuple(parts), policy, at)


def further_quote_faults(
    desk: Desk, key: Key | None, partial: ReadQuote, stored: ReadStored, at: datetime.datetime
) -> tuple[Fault, ...]:
    """What store, policy and engine have to say to what could be read of a faulty quote."""
    try:
        check_lines(desk, key, partial, stored, at)
    except (PartError, RefusedError) as error:
        return error.faults
    return ()


def _known(
    desk: Desk, key: Key | None, read: ReadQuote, stored: ReadStored, at: datetime.datetime
) -> tuple[list[CheckedPart], list[Fault], list[str]]:
    """Every part with its judgement, the faults of those that have none for it, and the codes of refusals."""
    parts: list[CheckedPart] = []
    faults: list[Fault] = []
    codes: list[str] = []
    for index, part in enumerate(read.parts):
        bare = CheckedPart(_bare(part))
        parts.append(bare)
        try:
            parts[-1] = _judged(desk, key, read, part, stored, at)
        except PartError as error:
            faults += _below(error.faults, index, part)
        except RefusedError as refusal:
            faults += _below(refusal.faults, index, part)
            codes.append(refusal.code)
    return parts, faults, codes


def _below(faults: Sequence[Fault], index: int, part: ReadPart) -> Iterator[Fault]:
    """Faults of a part's request, or of its stored verdict, with pointers into the quote."""
    for fault in faults:
        if part.request is None:
            yield replace(fault, pointer=f"/parts/{index}/verdict_id")
        else:
            yield replace(fault, pointer=f"/parts/{index}/request{fault.pointer}")


def _bare(part: ReadPart) -> KnownPart:
    return KnownPart(
        name=part.name,
        told=part.place,
        part=part.request.part if part.request is not None else None,
        verdict_id=part.verdict_id,
        new_distance_km=part.new_distance_km,
        other_way=part.other_way,
    )


def _judged(
    desk: Desk, key: Key | None, read: ReadQuote, part: ReadPart, stored: ReadStored, at: datetime.datetime
) -> CheckedPart:
    """A part with its judgement: made now, or found."""
    bare, policy, unit = _bare(part), read.policy, read.unit
    if part.request is not None:
        request = replace(_shown_in(part.request, unit), policy=part.request.policy or policy)
        ground = ground_for(desk, request, at)
        return _with(bare, request, ground, reach_from(desk, request, at, ground))
    if part.verdict_id is None:
        return CheckedPart(bare)
    record = desk.store.verdict(part.verdict_id) if key is None else read_verdict(desk, key, part.verdict_id)
    if record is None:
        detail = "there is no verdict of this id that this key may see; give its request instead, or leave both out"
        raise PartError((Fault("/verdict_id", "verdict_not_found", detail),))
    request = _shown_in(stored(record.request), unit)
    under = recorded_policy(desk, record.policy_name, record.policy_revision)
    ground = ground_again(desk, record, request, under)
    reached = reach_from(desk, request, record.judged_at, ground, drawn=record.drawn)
    return _with(replace(bare, outdated=_outdated(desk, record, request, at)), request, ground, reached)


def _shown_in(request: ReadRequest, unit: Unit) -> ReadRequest:
    """The same request, told about in the unit of the quote."""
    return replace(request, part=replace(request.part, unit=unit))


def _with(bare: KnownPart, request: ReadRequest, ground: Ground, reached: Reached) -> CheckedPart:
    nominal = reached.nominal
    if nominal is None and request.caller is not None:
        nominal = request.caller.nominal
    part = request.part if ground.lathe is None else replace(request.part, lathe=ground.lathe.kind)
    return CheckedPart(replace(bare, part=part, verdict=reached.verdict, new_size=nominal), reached)


def _outdated(desk: Desk, record: VerdictRecord, request: ReadRequest, at: datetime.datetime) -> Outdated | None:
    """Whether what governs the part now is what it was judged by, withdrawals up to now counted."""
    try:
        now = ground_for(desk, replace(request, release=None), at, policy=Policy())
    except RefusedError:
        return Outdated.CHANGED if record.limits_id is not None else None
    if now.withdrawal is not None:
        return Outdated.WITHDRAWN
    return None if _governing(now) == (record.limits_id, record.limits_revision) else Outdated.CHANGED


def _governing(ground: Ground) -> tuple[str | None, int | None]:
    return (None, None) if ground.row is None else (ground.row.limits_id, ground.row.revision)


def cut_faults(read: ReadQuote, known: Sequence[KnownPart]) -> Iterator[Fault]:
    """The cuts of a quote whose depths are not those of the faces of the part that they are for."""
    kinds = {part.name: part.place.kind for part in known}
    for index, line in enumerate(read.lines):
        if line.cut is None:
            continue
        kind = kinds.get(line.part) if line.part is not None else line.kind
        faces = (Face.DEPTH,) if kind is not None and not kind.is_rotor else (Face.INBOARD, Face.OUTBOARD)
        depths = {Face.INBOARD: line.cut.inboard, Face.OUTBOARD: line.cut.outboard, Face.DEPTH: line.cut.depth}
        given = {face for face, depth in depths.items() if depth is not None}
        if kind is None and given == {Face.DEPTH}:
            continue
        named = ", ".join(face.value for face in faces)
        about = kind or Kind.ROTOR
        for face in faces:
            if face not in given:
                detail = "say how deep this face is cut; 0 for not at all"
                yield Fault(f"/lines/{index}/cut/{face.value}", "missing", detail)
        for face in sorted(given - set(faces)):
            detail = f"a cut of a {about.value} has {named}"
            yield Fault(f"/lines/{index}/cut/{face.value}", "face_of_another_kind", detail)
