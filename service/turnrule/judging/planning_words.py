"""The closed vocabularies of what follows a verdict: passes at the lathe, the pair of an axle, the life left."""

from __future__ import annotations

from enum import StrEnum


class NoPass(StrEnum):
    """Why a face cannot be cut as asked on this lathe."""

    NOTHING_TO_CUT = "nothing_to_cut"
    BELOW_LEAST_DEPTH = "below_least_depth"
    CANNOT_BE_SPLIT = "cannot_be_split"
    LATHE_TOO_COARSE = "lathe_too_coarse"
    TOO_MANY_PASSES = "too_many_passes"


class PassNote(StrEnum):
    """What a plan of passes has to say of its own worth."""

    SURFACE_UNKNOWN = "surface_unknown"
    NO_SPEED_IN_RANGE = "no_speed_in_range"
    FINISH_OUT_OF_REACH = "finish_out_of_reach"
    WRONG_LATHE = "wrong_lathe"


class Work(StrEnum):
    """What a pass is for."""

    ROUGHING = "roughing"
    FINISHING = "finishing"


class PairReason(StrEnum):
    """Why a part is treated otherwise than its own verdict says, or cannot be settled, because of the axle."""

    PARTNER_IS_REPLACED = "partner_is_replaced"
    PARTNER_IS_MACHINED = "partner_is_machined"
    PARTNER_IS_OPEN = "partner_is_open"
    PARTNER_NOT_MEASURED = "partner_not_measured"
    NO_ROOM_TO_MACHINE = "no_room_to_machine"
    ROOM_UNKNOWN = "room_unknown"
    CUT_TO_MATCH = "cut_to_match"
    ASKED_CUT_LEFT_OUT = "asked_cut_left_out"
    SIDES_DIFFER = "sides_differ"


class DoubtReason(StrEnum):
    """Why a reading is left out of a wear line."""

    GROWN = "grown"
    EARLIER_PART = "earlier_part"
    MACHINED_SINCE = "machined_since"


class Untold(StrEnum):
    """Why a figure of the life that is left is not told."""

    READINGS_CONTRADICT = "readings_contradict"
    TOO_FEW_READINGS = "too_few_readings"
    ONE_DISTANCE = "one_distance"
    NOT_WEARING = "not_wearing"
    TOO_FEW_FOR_BOUND = "too_few_for_bound"
    NO_SIZE = "no_size"
    NO_DISCARD_LIMIT = "no_discard_limit"


class Cheaper(StrEnum):
    """Which of two ways costs less for the life that it buys."""

    MACHINING = "machining"
    REPLACING = "replacing"
    ALIKE = "alike"


class PlannedFor(StrEnum):
    """Which cut passes are planned for."""

    CUT = "cut"
    LEAST_CLEANING = "least_cleaning"


class NoPlan(StrEnum):
    """Why there are no passes although a lathe and a cut are known."""

    PART_IS_REPLACED = "part_is_replaced"
    VERDICT_IS_OPEN = "verdict_is_open"
    CUT_NOT_ALLOWED = "cut_not_allowed"
    LIMIT_IS_MISSING = "limit_is_missing"
    LATHE_CANNOT = "lathe_cannot"
