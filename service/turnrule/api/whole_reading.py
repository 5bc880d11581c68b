"""Requests read with all faults at once: those of the shape, and with them what catalogue and policy have to say."""

from __future__ import annotations

from collections.abc import Iterable

from turnrule.actions.desk import Desk
from turnrule.actions.judging_parts import further_faults
from turnrule.actions.refusals import RefusedError
from turnrule.actions.requests import ReadRequest
from turnrule.api.faults import FaultsError
from turnrule.api.verdict_schemas import read_request
from turnrule.judging.faults import Fault


def read_wholly(desk: Desk, document: object) -> ReadRequest:
    """The request that a document makes. Raises `FaultsError` with every fault that can be told of it."""
    try:
        return read_request(document)
    except FaultsError as error:
        further = [] if error.partial is None else faults_beside(desk, error.partial, error.faults, document)
        raise FaultsError([*error.faults, *further]) from None


def faults_beside(desk: Desk, read: ReadRequest, told: Iterable[Fault], document: object) -> list[Fault]:
    """Further faults of what was read, without those that only echo a fault that was told already."""
    try:
        further = further_faults(desk, read)
    except RefusedError as refusal:
        further = refusal.faults
    pointers = [fault.pointer for fault in told]
    return [fault for fault in further if not echoes(fault, pointers, document)]


def echoes(fault: Fault, told: list[str], document: object) -> bool:
    """True where a fault stands at, above or below one that was told, or misses what was there and unreadable."""
    if fault.pointer == "/application" and isinstance(document, dict):
        return not document.keys().isdisjoint({"application", "limits", "marking"})
    at = f"{fault.pointer}/"
    return any(f"{pointer}/".startswith(at) or at.startswith(f"{pointer}/") for pointer in told)
