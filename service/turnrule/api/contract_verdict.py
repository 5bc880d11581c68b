"""The schemas of a verdict as it is answered: figures, limits, checks, margins, room, cautions."""

from __future__ import annotations

from turnrule.api.contract_checks import check_schemas
from turnrule.api.contract_life import life_schemas
from turnrule.api.contract_metal import metal_schemas
from turnrule.api.contract_parts import (
    DIGEST,
    VERDICT_ID,
    Schema,
    either_kind,
    moment,
    number,
    or_null,
    ref,
    several,
    text,
    thing,
    whole,
    words,
)
from turnrule.judging.words import (
    CheckName,
    Kind,
    Origin,
    Ruling,
    Unit,
)


def verdict_schemas() -> dict[str, Schema]:
    """Every schema of a verdict's answer, by its name among the components."""
    return {
        "Verdict": either_kind("RotorVerdict", "DrumVerdict", "The verdict on one part, as it was recorded."),
        "RotorVerdict": _verdict(rotor=True),
        "DrumVerdict": _verdict(rotor=False),
        "RotorFigures": _rotor_figures(),
        "DrumFigures": _drum_figures(),
        "Harmonic": _harmonic(),
        "DeciderOfVerdict": _decider(),
        "Margins": _margins(),
        "RotorRoom": _room("least_thickness_needed", "The least thickness that today's reading would have to be."),
        "DrumRoom": _room("greatest_diameter_allowed", "The greatest diameter that today's reading might be."),
        "Settling": _settling(),
        **check_schemas(),
        **life_schemas(),
        **metal_schemas(),
        "PolicyRevisionName": thing(
            "A policy and its revision.",
            {"name": text("The policy's name."), "revision": whole("The revision, from 1.", minimum=1)},
        ),
        "PackName": thing(
            "The reference pack that catalogues and practice figures came from.",
            {"version": text("The pack's version."), "digest": text("SHA-256 of its content.", pattern=DIGEST)},
        ),
        "RemainingDistance": thing(
            "A distance that is left.", {"value": whole("Kilometres, rounded down."), "unit": text("km", const="km")}
        ),
    }


def _verdict(*, rotor: bool) -> Schema:
    kind = "Rotor" if rotor else "Drum"
    kinds = [word for word in Kind if word.is_rotor is rotor]
    return thing(
        f"The verdict on a {'rotor' if rotor else 'drum or parking drum'}. A figure that could not be had is null.",
        {
            "id": text("The verdict's own id; ids sort by time.", pattern=VERDICT_ID),
            "verdict": words(Ruling, "From best to worst: serviceable, machine, inconclusive, replace."),
            "summary": text("One sentence that can be read to a customer."),
            "unit": words(Unit, "The unit of every length in this answer: the request's."),
            "kind": words(kinds, "The kind of part."),
            "governing": or_null(ref("DeciderOfVerdict", "The check that decides; null where none does.")),
            "figures": ref(f"{kind}Figures"),
            "instrument": ref("InstrumentTaken"),
            "margins": ref("Margins"),
            "room": ref(f"{kind}Room"),
            "limits": ref(f"{kind}GoverningLimits"),
            "lathe": or_null(ref("NamedLathe", "The lathe that the request names; null where it names none.")),
            "cut": or_null(ref(f"{kind}JudgedCut", "The cut that was judged; null where none was.")),
            "metal_taken": or_null(
                ref(f"{kind}MetalTaken", "After machining: the metal taken; null where nothing of it is told.")
            ),
            "life": or_null(ref(f"{kind}Life", "The life that is left; null where the request gives nothing for it.")),
            "heat": or_null(ref("Heat", "What the cut means for heat; null where dimensions or a cut are missing.")),
            "checks": several(ref("Check"), "Every check, in the order in which they are made."),
            "missing": several(
                text("A reading, or a limit that is not known."), "What a decided verdict would have needed."
            ),
            "cautions": several(
                ref("GivenCaution"), "What to mind, the loudest first; one always defers to the maker."
            ),
            "next_steps": several(text("A sentence."), "What to do next, in order."),
            "release": or_null(whole("The release of the limits; null while there is none.", minimum=1)),
            "policy": ref("PolicyRevisionName", "The policy that it was judged under."),
            "pack": ref("PackName"),
            "engine": text("The version of the rules of judgement."),
            "judged_at": moment("When it was judged; the day of dates that fall due is taken from it."),
            "digest": text(
                "SHA-256 of this answer without id, judged_at and digest: JSON with sorted names, no spaces, UTF-8.",
                pattern=DIGEST,
            ),
        },
    )


def _decider() -> Schema:
    return thing(
        "The check that decides the verdict.",
        {
            "check": words(CheckName, "The check."),
            "limit": or_null(number("Its limit, as the check has it; null where there is none.")),
            "unit": or_null(text("What limit is counted in: mm, in, km, points; null where it is none of these.")),
            "origin": or_null(words(Origin, "Where the limit comes from.")),
        },
    )


def _length(description: str) -> Schema:
    return or_null(number(description))


def _sizes(size: str) -> dict[str, Schema]:
    return {
        f"least_{size}": _length(f"Least {size} over all readings, at 20 C where the part's temperature was given."),
        f"greatest_{size}": _length(f"Greatest {size} over all readings."),
        f"mean_{size}": _length(f"Mean {size}, to the seventh decimal of a mm."),
    }


def _after_the_cut(size: str) -> dict[str, Schema]:
    return {
        "runout_to_be_trued": _length("Runout that the cut has to take out."),
        f"clean_up_{size}": _length(f"The {size} that is left once the part just runs true, before any cut."),
        f"{size}_after_cut": _length(f"The {size} after the cut that was judged."),
        "wear_per_1000_km": _length("Wear over 1,000 km, from the history."),
        "remaining_distance": or_null(ref("RemainingDistance", "Distance left to the discard limit at that wear.")),
    }


def _rotor_figures() -> Schema:
    return thing(
        "What the readings of a rotor come to.",
        {
            **_sizes("thickness"),
            "thickness_variation": _length("Greatest less least thickness of one track; the larger of two tracks."),
            "taper": _length("Difference of the means of the outer and the inner track."),
            "lateral_runout": _length("Lateral runout, total indicator reading."),
            "lateral_runout_harmonic": or_null(ref("Harmonic")),
            **_after_the_cut("thickness"),
        },
    )


def _drum_figures() -> Schema:
    return thing(
        "What the readings of a drum come to.",
        {
            **_sizes("diameter"),
            "out_of_round": _length("Greatest less least diameter of one track; the larger of two tracks."),
            "taper": _length("Difference of the means of the two tracks."),
            **_after_the_cut("diameter"),
        },
    )


def _harmonic() -> Schema:
    return thing(
        "The part of an indicator trace that goes once around: a fault of mount or hub shows in it.",
        {
            "amplitude": number("Half of its total indicator reading."),
            "angle": number("Degrees from the first reading to its peak.", minimum=0, exclusiveMaximum=360),
            "residual": number("The range of the trace without it: warp and hard spots."),
        },
    )


def _margins() -> Schema:
    return thing(
        "How far the deciding size stays inside its limits; negative where it is past one.",
        {
            "to_machining_limit": _length("To the machining limit, rounded down."),
            "to_discard_limit": _length("To the discard limit, rounded down."),
            "guard_band": number("The gauge's expanded uncertainty U (k = 2), kept from strength limits.", minimum=0),
        },
    )


def _room(needed: str, description: str) -> Schema:
    return thing(
        "The question solved backwards; rounded so that judging again at these figures agrees.",
        {
            "most_total_cut": _length("The most that may still come off in total; null where nothing may."),
            "most_cut_per_face": _length("The same for each face at an equal cut; of a drum, the depth on the radius."),
            needed: _length(description),
            "settled_by": several(ref("Settling"), "For each undecided check: what would settle it."),
        },
    )


def _settling() -> Schema:
    return thing(
        "What would settle an undecided check.",
        {
            "check": words(CheckName, "The check."),
            "missing": or_null(text("The figure that is missing.")),
            "reading_needed": _length("The size that would pass with today's gauge."),
            "expanded_uncertainty_at_most": _length("How fine a gauge would pass today's size."),
        },
    )
