"""Whether a size can be: no worn part is thicker, and no worn drum narrower, than the part was made."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from turnrule.judging.cautions import shown
from turnrule.judging.faults import Fault
from turnrule.judging.limits import LimitSet
from turnrule.judging.parts import Part

BEYOND = Decimal(1)
"""More than this past the size as made (mm) is a slip of the pen, or another part: common practice, no source."""


def size_faults(part: Part, *known: LimitSet | None) -> Iterator[Fault]:
    """A fault for each reading that lies past the nominal size of the record or the caller by more than 1 mm.

    A misplaced point or swapped digits would otherwise pass as a part with much metal to spare.
    """
    nominals = [limits.nominal for limits in known if limits is not None and limits.nominal is not None]
    if not nominals:
        return
    rotor = part.kind.is_rotor
    nominal = max(nominals) if rotor else min(nominals)
    name, word = ("thickness", "thicker") if rotor else ("diameter", "narrower")
    tracks = ((name, part.readings.track), (f"{name}_inner", part.readings.inner_track))
    for field, sizes in tracks:
        for index, size in enumerate(sizes):
            past = size - nominal if rotor else nominal - size
            if past > BEYOND:
                yield Fault(
                    f"/{field}/{index}",
                    "past_nominal_size",
                    f"{shown(size, part.unit)} is {word} than the part was made ({shown(nominal, part.unit)}); "
                    "check the reading, its unit, and whether this is the part of that record",
                )
