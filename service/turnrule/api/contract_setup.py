"""The schemas of a check of a set-up as it is answered: the mount, what it costs, hub, faces, tracks."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum

from turnrule.api.contract_parts import (
    Schema,
    either_kind,
    moment,
    number,
    or_null,
    ref,
    several,
    text,
    thing,
    truth,
    whole,
    words,
)
from turnrule.api.contract_setup_geometry import geometry_schemas, words_said
from turnrule.judging.lathe_words import Expected, Given, LookAt, Missing, Mounted, Note
from turnrule.judging.words import Kind, LatheKind, Unit


def setup_schemas() -> dict[str, Schema]:
    """Every schema of the answer to a check of a set-up, by its name among the components."""
    return {
        "SetupCheck": either_kind("RotorSetupCheck", "DrumSetupCheck", "What the readings at the lathe tell."),
        "RotorSetupCheck": _check(rotor=True),
        "DrumSetupCheck": _check(rotor=False),
        "MountTold": _mount(),
        "MountReadingTold": _reading(),
        "ScratchTold": _scratch(),
        "PassesTold": _passes(),
        "RotorAffordance": _affordance("thickness", {"inboard": "the inboard face", "outboard": "the outboard face"}),
        "DrumAffordance": _affordance("diameter", {"depth": "the radius; it counts twice on the diameter"}),
        "SizeLeft": _size_left(),
        "SetupFigures": _figures(),
        "ChosenFigure": thing(
            "A figure that the check goes by.",
            {"value": number("The figure.", minimum=0), "given": words(Given, "Where it was taken from.")},
        ),
        "MissingWord": _word(Missing, "What is missing for more to be told, and what to do about it."),
        "NoteWord": _word(Note, "What an answer says of its own worth."),
        "LookAtWord": _word(LookAt, "Where a mount goes wrong."),
        "ExpectedWord": _word(Expected, "What the trade expects after a scratch cut (common practice, no source)."),
        **geometry_schemas(),
    }


def _word(vocabulary: type[StrEnum], description: str) -> Schema:
    """A code with its sentence."""
    return thing(
        description, {"code": words(vocabulary, "A stable code; new ones may be added."), "text": text("In words.")}
    )


def _check(*, rotor: bool) -> Schema:
    kind = "Rotor" if rotor else "Drum"
    kinds = [one for one in Kind if one.is_rotor is rotor]
    form = {"faces": or_null(ref("FacesTold"))} if rotor else {"tracks": or_null(ref("TracksTold"))}
    return thing(
        f"The check of a {'rotor' if rotor else 'drum or parking drum'}. A block that was not asked for is null.",
        {
            "ready": or_null(
                truth(
                    "True where all that was asked is told and nothing stands against it; false where the part must be "
                    "mounted again or cannot afford the cut; null where something cannot be told yet."
                )
            ),
            "summary": text("One sentence for whoever stands at the lathe."),
            "unit": words(Unit, "The unit of every length in this answer: the request's."),
            "kind": words(kinds, "The kind of part."),
            "readings": or_null(ref("MountTold")),
            "affordance": or_null(
                ref(f"{kind}Affordance", "Null without readings, and without size, cut and limits of the part.")
            ),
            "hub": or_null(ref("HubTold")),
            **form,
            "limits": or_null(
                ref(
                    f"{kind}GoverningLimits",
                    "The limits that govern, found as for a verdict; null where none are named.",
                )
            ),
            "figures": ref("SetupFigures"),
            "cautions": several(
                ref("GivenCaution"), "What to mind, the loudest first; one always defers to the maker."
            ),
            "release": or_null(whole("The release of the limits; null while there is none.", minimum=1)),
            "policy": ref("PolicyRevisionName", "The policy that it was checked under."),
            "pack": ref("PackName"),
            "engine": text("The version of the rules of judgement."),
            "checked_at": moment("When it was checked; the day of dates that fall due is taken from it."),
        },
    )


def _length(description: str) -> Schema:
    """A length, or null where it could not be had."""
    return or_null(number(description))


def _mount() -> Schema:
    return thing(
        "How the part sits on the arbor, and what of the wobble is whose.",
        {
            "mounted": words(Mounted, "Mounted right, to be mounted again, or not to be told from these readings."),
            "limit": number("The greatest runout of a mount that is right.", minimum=0),
            "mount": or_null(
                ref("DoubtfulWobble", "The mount's runout, where it lay on the part at the first reading.")
            ),
            "part": or_null(ref("DoubtfulWobble", "The part's own runout.")),
            "each_at_least": _length("Where only magnitudes are known: either runout is at least this."),
            "each_at_most": _length("Where only magnitudes are known: neither runout is more than this."),
            "metal_cost": _length("Thickness (of a drum: diameter) that a cut in this mount would cost, rounded up."),
            "misfit": _length("How far the worst of three readings or more is from what both runouts add up to."),
            "form": or_null(ref("OwnForm")),
            "each": several(ref("MountReadingTold"), "Each reading by itself, in the order of the request."),
            "look_at": several(ref("LookAtWord"), "What to look at before the part is mounted again, in order."),
            **words_said(),
        },
    )


def _reading() -> Schema:
    return thing(
        "One reading by itself: what mount and part add up to.",
        {
            "turned": number("Degrees by which the part was turned, as the request says."),
            "wobble": or_null(ref("Wobble", "The runout that goes once around, as far as the reading tells it.")),
            "runout": _length("The total indicator reading of a trace; null for a scratch."),
            "residual": _length("The range of a trace without what goes once around: warp and hard spots."),
            "scratch": or_null(ref("ScratchTold")),
            "passes": ref("PassesTold"),
        },
    )


def _scratch() -> Schema:
    return thing(
        "What a scratch tells, were the face to wobble once a turn.",
        {
            "covered": number("The fraction of the turn that is scratched.", minimum=0, maximum=1),
            "centre": or_null(number("Half way along the scratch, degrees.", minimum=0, exclusiveMaximum=360)),
            "runout": _length("The total indicator reading; null where the scratch only bounds it."),
            "at_least": number("The runout is at least this, rounded down.", minimum=0),
            "at_most": _length("It is at most this, rounded up; null where nothing bounds it."),
            "to_go": _length("What has still to come off for the face to be clean, rounded up."),
            "to_go_at_most": _length("The same at most."),
            "notes": several(ref("NoteWord"), "What to know of this scratch."),
        },
    )


def _passes() -> Schema:
    return thing(
        "The passes still to expect.",
        {
            "least": or_null(whole("As few as this; null where they cannot be counted.", minimum=0)),
            "most": or_null(whole("As many as this, where the last is to be a slow one.", minimum=0)),
            "expected": or_null(ref("ExpectedWord", "The trade's rule of thumb for a scratch; null for a trace.")),
        },
    )


def _affordance(size: str, faces: Mapping[str, str]) -> Schema:
    depths = {face: number(f"Depth off {place}.", minimum=0) for face, place in faces.items()}
    asked = truth("True where the request asked for it, false where it was planned here.")
    return thing(
        "Whether the part can afford its cut, mounted right and as it sits, by limits and guard band as in a verdict.",
        {
            "affordable": or_null(truth("Whether it may be cut as it sits; null where that cannot be told.")),
            "permitted": truth("False where the limits do not allow the part to be machined on this lathe."),
            f"clean_up_{size}": _length(f"The {size} that is left, mounted right, once the part just runs true."),
            "cut": thing("The cut, from the thinnest point (of a drum: the widest).", {**depths, "asked": asked}),
            "mounted_right": ref("SizeLeft", "Once it is mounted right."),
            "as_mounted": ref("SizeLeft", "As it sits: the mount's runout is lost as metal."),
            "most_mount_runout": _length("The greatest runout of the mount that the cut can still afford."),
            "guard_band": number("What was kept between a size and its limit.", minimum=0),
            "missing": several(ref("MissingWord"), "What would have to be known for more to be told."),
        },
    )


def _size_left() -> Schema:
    return thing(
        "A size after the cut, and whether it meets the machining limit and the discard limit.",
        {
            "left": _length("The size; never shown better than it is."),
            "affordable": or_null(truth("Whether it meets both limits; null where one of them is not known.")),
        },
    )


def _figures() -> Schema:
    depths = thing(
        "The depths of a pass.",
        {
            "least_depth": number("The least depth.", minimum=0),
            "greatest_depth": number("The greatest depth.", minimum=0),
            "given": words(Given, "Where they were taken from."),
        },
    )
    lathe = thing(
        "A revision of a lathe's figures.",
        {
            "name": text("The lathe's name."),
            "revision": whole("The revision, from 1.", minimum=1),
            "kind": words(LatheKind, "Off the vehicle, or on its own hub."),
        },
    )
    return thing(
        "The figures that the check goes by.",
        {
            "reading_uncertainty": number(
                "The expanded uncertainty U (k = 2) of one reading, from the gauge.", minimum=0
            ),
            "angle_uncertainty": ref("ChosenFigure", "That of an angle, degrees."),
            "covered_uncertainty": ref("ChosenFigure", "That of a covered fraction."),
            "mount_limit": ref("ChosenFigure", "The greatest runout of a mount that is right."),
            "passes": depths,
            "lathe": {
                "description": "The lathe's own figures; null where none are named.",
                "oneOf": [lathe, {"type": "null"}],
            },
        },
    )
