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


def new_size_faults(size: Decimal, part: Part, nominal: Decimal | None, discard: Decimal | None) -> Iterator[Fault]:
    """What speaks against a size (mm) that is given as that of a new part: past the discard limit, or past the nominal.

    The faults stand at `/new_part` and the size's name.
    """
    rotor = part.kind.is_rotor
    pointer, sense = f"/new_part/{'thickness' if rotor else 'diameter'}", 1 if rotor else -1
    if discard is not None and sense * (size - discard) < 0:
        detail = f"a new part of {shown(size, part.unit)} is past the discard limit of {shown(discard, part.unit)}"
        yield Fault(pointer, "discard_past_nominal", f"{detail}; check the size, and leave it out if it is not known")
    if nominal is not None and sense * (size - nominal) > BEYOND:
        detail = f"the record says {shown(nominal, part.unit)} of a new part, and this one is {shown(size, part.unit)}"
        yield Fault(
            pointer, "past_nominal_size", f"{detail}; check the size, and whether this is the part of that record"
        )
