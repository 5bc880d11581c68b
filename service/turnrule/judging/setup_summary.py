"""A check of a set-up in words: one sentence for whoever stands at the lathe, and the cautions that go with it."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.judging.affording import Affording
from turnrule.judging.cautions import CautionList, shown
from turnrule.judging.drum_form import DrumForm
from turnrule.judging.index_positions import MatchMounting
from turnrule.judging.lathe_words import Missing, Mounted, Note
from turnrule.judging.lengths import plain
from turnrule.judging.mounting import MountCheck
from turnrule.judging.noticing import about_calibration, about_limits, about_permission, about_the_record
from turnrule.judging.planes import Planes
from turnrule.judging.setup_check import SetupCheck
from turnrule.judging.setup_sentences import MISSING
from turnrule.judging.verdict import Caution
from turnrule.judging.words import Face, Kind, Machining, Unit

_PART = {Kind.ROTOR: "rotor", Kind.DRUM: "drum", Kind.PARKING_DRUM: "parking drum"}
_FACE = {Face.INBOARD: "inboard", Face.OUTBOARD: "outboard"}


def summary_of_setup(check: SetupCheck) -> str:
    """What to do, in one sentence; what belongs to different blocks is kept apart by semicolons."""
    words = "; ".join(_clauses(check))
    return f"{words[0].upper()}{words[1:]}."


def _clauses(check: SetupCheck) -> Iterator[str]:
    unit, name = check.case.part.unit, _PART[check.case.part.kind]
    if check.mounting is not None:
        yield _mounting(check.mounting, unit, name)
    if check.affording is not None:
        yield _affording(check.affording, check.ready, unit, name)
    if check.hub is not None:
        yield _hub(check.hub, unit, name)
    if check.faces is not None:
        yield _faces(check.faces, unit)
    if check.tracks is not None:
        yield _tracks(check.tracks, unit, name)


def _mounting(told: MountCheck, unit: Unit, name: str) -> str:
    limit = shown(told.limit, unit)
    if told.mounted is Mounted.CANNOT_TELL:
        return f"it cannot be told yet whether the {name} is mounted right: {_wanted(told.missing)}"
    if told.mount is None or told.part is None:
        if told.mounted is Mounted.RIGHT:
            return f"the {name} is mounted right: its mount cannot run out more than {limit}"
        return f"mount the {name} again: its mount runs out more than {limit}"
    mount, part = shown(told.mount.runout, unit), shown(told.part.runout, unit)
    if told.mounted is Mounted.RIGHT:
        return (
            f"the {name} is mounted right: its mount runs out {mount}, within {limit}, and {part} are the {name}'s own"
        )
    return (
        f"mount the {name} again: its mount runs out {mount}, more than {limit}, which would cost so much metal, and "
        f"{part} are the {name}'s own"
    )


def _wanted(missing: tuple[Missing, ...]) -> str:
    """The first thing that is missing, within a sentence."""
    text = MISSING[missing[0]].removesuffix(".")
    return f"{text[0].lower()}{text[1:]}"


def _affording(told: Affording, ready: bool | None, unit: Unit, name: str) -> str:  # noqa: FBT001 - three answers
    if not told.permitted:
        return f"the limits do not allow this {name} to be machined here"
    cost = told.cost
    if cost is None or (cost.affordable_as_mounted is None and cost.affordable_mounted_right is not False):
        return f"whether the {name} can afford the cut cannot be told: {_wanted(told.missing)}"
    right, now = shown(cost.left_mounted_right, unit), shown(cost.left_as_mounted, unit)
    if cost.affordable_mounted_right is False:
        return f"even mounted right the {name} cannot afford the cut, which would leave {right}"
    if cost.affordable_as_mounted is False:
        return f"as it sits the {name} cannot afford the cut, which would leave {now}; mounted right it leaves {right}"
    if ready is False:
        return f"mounted right the cut leaves {right}, and as it sits it would leave {now} for nothing"
    return f"the {name} can afford the cut, which leaves {now} as it sits"


def _hub(told: MatchMounting, unit: Unit, name: str) -> str:
    if told.best is None or told.now is None or told.turn_by is None:
        return f"hub and {name} cannot be told apart yet: {_wanted(told.missing)}"
    best, now = shown(told.best.remaining, unit), shown(told.now.remaining, unit)
    if Note.WITHIN_UNCERTAINTY in told.notes:
        return f"these readings show no better place on the hub than where the {name} sits, where it runs out {now}"
    turn = f"{plain(told.turn_by):f} degrees"
    return f"turn the {name} on the hub by {turn}: its runout falls from {now} to {best}"


def _faces(told: Planes, unit: Unit) -> str:
    plan = told.unequal
    if plan is None:
        return f"the cut cannot be planned for both faces yet: {_wanted(told.missing)}"
    depths = ", ".join(f"{shown(depth, unit)} {_FACE[face]}" for face, depth in plan.from_first_contact.items())
    words = f"from first contact both faces are clean after {depths}"
    if plan.thickness_left is None:
        return words
    allowed = {True: ", which is allowed", False: ", which is too little", None: ""}[plan.allowed]
    return f"{words}, and {shown(plan.thickness_left, unit)} are left{allowed}"


def _tracks(told: DrumForm, unit: Unit, name: str) -> str:
    if told.least_finished is None:
        return f"the cut cannot be planned for the {name} yet: {_wanted(told.missing)}"
    words = f"the {name} is clean at {shown(told.least_finished, unit)}"
    if told.taper is None or told.bell_mouth is None:
        return words
    form = "bell-mouthed" if told.bell_mouth else "tapered"
    return f"{words}; it is {form} by {shown(told.taper, unit)}" if told.taper else f"{words}; its ends are alike"


def setup_cautions(check: SetupCheck) -> tuple[Caution, ...]:
    """What to mind, loudest first: at the lathe, at the wheel end where the hub was read, and of the limits."""
    case = check.case
    book = CautionList(case.catalogue)
    book.add("rotating_part")
    if check.mounting is not None or check.faces is not None or check.tracks is not None:
        book.add("eye_protection")
    if check.hub is not None:
        book.add("vehicle_support")
    about_the_record(case, book)
    if check.affording is not None or (check.faces is not None and check.limited):
        if case.limits.permission is Machining.ON_VEHICLE_ONLY and case.part.lathe is None:
            book.add("on_vehicle_lathe_only")
        about_limits(case, book, machined=True)
        about_permission(case, book)
    about_calibration(case, book)
    if check.hub is not None:
        book.add("wheel_fastening")
    book.add("follow_service_data")
    book.add("dust_hazard")
    return book.loudest_first()
