"""What the contract says of lathes, of the passes that are planned for them, and of heat."""

from __future__ import annotations

from turnrule.actions.lathes import FT_PER_MIN, M_PER_MIN
from turnrule.api import queries
from turnrule.api.contract_operation import LATHES, Operation, Success, kept, link, listing
from turnrule.api.contract_parts import (
    Schema,
    moment,
    number,
    or_null,
    page,
    ref,
    several,
    text,
    thing,
    truth,
    whole,
    words,
)
from turnrule.judging.planning_words import NoPass, NoPlan, PassNote, PlannedFor, Work
from turnrule.judging.words import Face, LatheKind

_ROTOR, _DRUM = (Face.INBOARD, Face.OUTBOARD), (Face.DEPTH,)


def lathe_schemas() -> dict[str, Schema]:
    """The schemas by their names among the components."""
    return {
        "LatheProfile": _lathe(),
        "LatheInMillimetres": _in_mm(),
        "LathePage": page(ref("LatheProfile"), "Lathes by name, or the revisions of one, oldest first."),
        "NamedLathe": thing(
            "The lathe that a request names.",
            {
                "name": or_null(text("Its name; null where the request says its kind alone.")),
                "revision": or_null(whole("The revision that passes were planned with.", minimum=1)),
                "kind": words(LatheKind, "Off the vehicle, or on its own hub."),
            },
        ),
        "RotorPass": _pass(_ROTOR),
        "DrumPass": _pass(_DRUM),
        "RotorPassPlan": _plan(_ROTOR),
        "DrumPassPlan": _plan(_DRUM),
        "TheoreticalFinish": _finish(),
        "SurfaceSpeed": _with_unit("How fast the face moves past the tool.", (M_PER_MIN, FT_PER_MIN)),
        "TheoreticalRoughness": _with_unit("A roughness in theory; a real one is rougher.", ("um", "uin")),
        "Heat": _heat(),
    }


def _with_unit(description: str, units: tuple[str, ...]) -> Schema:
    value = number("The value.", minimum=0)
    return thing(description, {"value": value, "unit": words(units, "Its unit, by that of the request.")})


def _lathe() -> Schema:
    return thing(
        "One revision of a lathe: as it was written, and in millimetres.",
        {
            "name": text("The lathe's name."),
            "revision": whole("The revision, from 1.", minimum=1),
            "kind": words(LatheKind, "Off the vehicle, or on its own hub."),
            "document": ref("LatheBody", "The figures as they were written."),
            "in_mm": ref("LatheInMillimetres"),
            "written_at": moment("When it was written."),
            "written_by": text("The name of the key that wrote it."),
        },
    )


def _in_mm() -> Schema:
    length = number("In mm.", exclusiveMinimum=0)
    ends = thing("Both ends of a setting without steps.", {"least": number("Least."), "greatest": number("Greatest.")})
    setting: Schema = {
        "description": "The steps, or both ends.",
        "oneOf": [several(number("A step."), "The steps."), ends],
    }
    surface = {"least": number("Least."), "greatest": number("Greatest."), "unit": text("m/min", const=M_PER_MIN)}
    return thing(
        "The figures as passes are planned with them: lengths in mm, speeds in turns a minute.",
        {
            "unit": text("Always mm.", const="mm"),
            "least_depth": length,
            "greatest_depth": length,
            "finishing_depth": length,
            "roughing_feed": length,
            "finishing_feeds": setting,
            "speeds": setting,
            "nose_radius": length,
            "surface_speed": thing("How fast the face may move past the tool.", surface),
            "both_faces_at_once": truth("Whether both faces of a rotor are cut in the same sweep."),
        },
    )


def _by_face(faces: tuple[Face, ...], description: str, each: str) -> Schema:
    """Depths by face; of a rotor, a face that is not cut in a pass is left out."""
    depths = {face.value: number(each) for face in faces}
    return thing(description, depths if len(faces) == 1 else {}, None if len(faces) == 1 else depths)


def _pass(faces: tuple[Face, ...]) -> Schema:
    rate = _with_unit("Metal that comes off in a minute.", ("mm3/min", "in3/min"))
    return thing(
        "One pass. A face that needs fewer passes than the other one joins in later.",
        {
            "number": whole("Its place, from 1.", minimum=1),
            "work": words(Work, "What it is for; the last pass is a finishing pass."),
            "depths": _by_face(faces, "How far the tool is fed in, off each face that it cuts.", "A depth."),
            "reached": _by_face(
                faces, "Where the tool then stands from its zero; below 0 it has not come there yet.", "A depth."
            ),
            "feed": number("The feed, a length a turn.", exclusiveMinimum=0),
            "minutes": or_null(number("The cutting time; null without dimensions or a speed.", minimum=0)),
            "metal_removal_rate": {"description": "What loads the lathe.", "oneOf": [rate, {"type": "null"}]},
        },
    )


def _plan(faces: tuple[Face, ...]) -> Schema:
    refusal = thing(
        "A face that cannot be cut as asked on this lathe.",
        {
            "face": words(faces, "The face."),
            "reason": words(NoPass, "Why."),
            "less": or_null(number("The nearest smaller cut that it can make.", minimum=0)),
            "more": or_null(number("The nearest greater cut that it can make; look at the room first.", minimum=0)),
        },
    )
    return thing(
        "The passes as a whole. Their depths sum to the cut and what stands above the tool's zero, and never to more.",
        {
            "planned_for": or_null(words(PlannedFor, "The cut itself, or the least one that cleans up.")),
            "none_because": or_null(words(NoPlan, "Why there are no passes; null where there are.")),
            "refusals": several(refusal, "The faces that cannot be cut as asked."),
            "speed": or_null(number("Turns a minute; null without dimensions, or where none is right.", minimum=0)),
            "surface_speed": or_null(ref("SurfaceSpeed", "At the greatest diameter.")),
            "minutes": or_null(number("The cutting time of all passes, and nothing else.", minimum=0)),
            "finish": or_null(ref("TheoreticalFinish", "Of the last pass; null where nothing is planned.")),
            "notes": several(words(PassNote, "A word."), "What the plan has to say of its own worth."),
        },
    )


def _finish() -> Schema:
    return thing(
        "The finish that feed and tool nose leave in theory; a real one is rougher, never finer.",
        {
            "feed": number("The feed of the last pass, a length a turn.", exclusiveMinimum=0),
            "peak_roughness": ref("TheoreticalRoughness", "Peak to valley, f^2 / (8 r)."),
            "mean_roughness": ref("TheoreticalRoughness", "The Ra of the same profile."),
            "needed_feed": or_null(number("The greatest feed that reaches the finish that is wanted.", minimum=0)),
            "reached": or_null(truth("Whether the wanted finish is reached; null where none is wanted.")),
        },
    )


def _heat() -> Schema:
    return thing(
        "What the cut means for the heat of the same stop. For information only: no verdict hangs on it.",
        {
            "mass_before_kg": number(
                "The mass of the friction ring, or of the drum's wall, before the cut.", minimum=0
            ),
            "mass_after_kg": number("The same after the cut.", minimum=0),
            "relative_rise": number("By what fraction the same stop heats it more: 0.05 is 5 %.", minimum=0),
            "overestimated": truth("True where there is a gap between the cheeks: its vanes are left out."),
            "caution": text("The code of the caution that goes with it.", const="heat_rises_with_cut"),
        },
    )


_LINKS = {"revisions": link("listLatheRevisions", "Its revisions.", name="$response.body#/name")}

LATHE_OPERATIONS = (
    Operation(
        "listLathes",
        "get",
        "/v1/lathes",
        LATHES,
        "List the lathes",
        "Every lathe in its newest revision, by name.",
        (
            listing(
                "LathePage",
                "A page of lathes.",
                "listLathes",
                {"first": link("readLathe", "The first of them.", name="$response.body#/items/0/name")},
            ),
        ),
        query=queries.NAMES,
        problems=("BadParameters",),
    ),
    Operation(
        "readLathe",
        "get",
        "/v1/lathes/{name}",
        LATHES,
        "Read a lathe",
        "A lathe as it was written and in millimetres; its newest revision or an earlier one.",
        (kept("LatheProfile", "The lathe.", links=_LINKS),),
        query=queries.REVISION,
        parameters=("lathe_name",),
        problems=("BadParameters", "NotFound"),
    ),
    Operation(
        "listLatheRevisions",
        "get",
        "/v1/lathes/{name}/revisions",
        LATHES,
        "List the revisions of a lathe",
        "Every revision of a lathe, oldest first. A revision never changes.",
        (listing("LathePage", "A page of revisions.", "listLatheRevisions"),),
        query=queries.PAGE,
        parameters=("lathe_name",),
        problems=("BadParameters", "NotFound"),
    ),
    Operation(
        "writeLathe",
        "put",
        "/v1/lathes/{name}",
        LATHES,
        "Write the next revision of a lathe",
        "Makes a lathe (with `If-None-Match: *`) or writes its next revision (with `If-Match` and the ETag that was "
        "read). Passes that were planned before keep to the revision that they were planned with.",
        (
            Success(201, "The lathe, made.", "LatheProfile", ("ETag", "Location"), links=_LINKS),
            Success(200, "Its next revision, written.", "LatheProfile", ("ETag", "Location"), links=_LINKS),
        ),
        scopes=("policies:write",),
        body="LatheBody",
        parameters=("lathe_name", "If-Match", "If-None-Match-All"),
        problems=(
            "BadBody",
            "NotFound",
            "Stale",
            "BodyTooLarge",
            "UnsupportedMediaType",
            "LatheRefused",
            "PreconditionRequired",
        ),
    ),
)
