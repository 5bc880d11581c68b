"""What a use case refuses although the request is well-formed: one code, and faults that say what to do."""

from __future__ import annotations

from collections.abc import Iterable

from turnrule.judging.faults import Fault


class RefusedError(Exception):
    """What was asked for cannot be done as it was asked; nothing was stored."""

    def __init__(self, code: str, faults: Iterable[Fault]) -> None:
        self.code = code
        self.faults = tuple(faults)
        super().__init__("; ".join(fault.detail for fault in self.faults))


def refused(code: str, pointer: str, detail: str) -> RefusedError:
    """A refusal for one reason."""
    return RefusedError(code, [Fault(pointer, code, detail)])
