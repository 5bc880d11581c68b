"""Every caution that the program raises is in the catalogue, with no placeholder that nobody fills."""

from __future__ import annotations

import string
from collections.abc import Iterator

from turnrule.judging.cautions import PARAMETERS
from turnrule.pack.model import Pack

_BESIDE_THE_ENGINE: dict[str, tuple[str, ...]] = {
    "brake_option_assumed": ("text",),
    "prices_from_caller": (),
    "trial_of_readings": (),
}


def faults(pack: Pack) -> Iterator[str]:
    """Missing codes, and placeholders beyond those that the code's parameters fill."""
    raised = PARAMETERS | _BESIDE_THE_ENGINE
    for code in sorted(raised.keys() - pack.catalogue.cautions.keys()):
        yield f"cautions.json: {code!r} is raised by the program and is not in the catalogue; add it"
    for code, caution in pack.catalogue.cautions.items():
        named = {name for _, name, _, _ in string.Formatter().parse(caution.text) if name is not None}
        for name in sorted(named - set(raised.get(code, ()))):
            yield f"cautions.json: the text of {code!r} has a place {{{name}}} that nothing fills; take it out"
