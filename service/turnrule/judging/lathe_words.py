"""The closed vocabularies of a check at the lathe: what is told, what is missing, what to look at."""

from __future__ import annotations

from enum import StrEnum


class Mounted(StrEnum):
    """How the part sits on the arbor."""

    RIGHT = "right"
    AGAIN = "again"
    CANNOT_TELL = "cannot_tell"


class Expected(StrEnum):
    """How many passes the trade expects after a scratch cut (common practice, no source)."""

    NOTHING_LEFT = "nothing_left"
    SINGLE_SLOW_PASS = "single_slow_pass"
    ONE_OR_TWO_PASSES = "one_or_two_passes"
    MORE_THAN_ONE_PASS = "more_than_one_pass"


class Missing(StrEnum):
    """What would have to be read for more to be told."""

    SECOND_READING = "second_reading"
    TURN_OF_THE_PART = "turn_of_the_part"
    ANGLES_OF_THE_SCRATCH = "angles_of_the_scratch"
    SHALLOWER_SCRATCH = "shallower_scratch"
    DEEPER_SCRATCH = "deeper_scratch"
    TRACE = "trace"
    FINER_READING = "finer_reading"
    LIMITS = "limits"
    THICKNESS = "thickness"
    OUTBOARD_TRACE = "outboard_trace"
    INBOARD_TRACE = "inboard_trace"
    SECOND_TRACK = "second_track"
    THIRD_TRACK = "third_track"
    DISTANCES = "distances"
    DIAMETERS = "diameters"
    RUNOUT = "runout"
    MOUNT_RUNOUT = "mount_runout"


class Note(StrEnum):
    """What the answer has to say of its own worth."""

    WHOLE_TURN_SCRATCHED = "whole_turn_scratched"
    LITTLE_COVERED = "little_covered"
    SCRATCH_TOO_SHORT = "scratch_too_short"
    LOCAL_HIGH_SPOT = "local_high_spot"
    SEVERAL_ARCS = "several_arcs"
    MAGNITUDES_ONLY = "magnitudes_only"
    SOME_READINGS_NOT_USED = "some_readings_not_used"
    DIFFERS_WITHOUT_TURNING = "differs_without_turning"
    DOES_NOT_REPEAT = "does_not_repeat"
    WITHIN_UNCERTAINTY = "within_uncertainty"
    CUT_WOULD_LEAVE_RUNOUT = "cut_would_leave_runout"
    TRACES_OF_DIFFERENT_LENGTH = "traces_of_different_length"
    FORM_PARTLY_MIXED = "form_partly_mixed"
    FACES_DO_NOT_CLOSE = "faces_do_not_close"
    RUNOUT_TAKEN_AS_NOTHING = "runout_taken_as_nothing"


class LookAt(StrEnum):
    """Where a mount goes wrong, in the trade's plain words."""

    SEATS_DIRTY = "seats_dirty"
    BURR_ON_SEAT = "burr_on_seat"
    CONE_SIZE = "cone_size"
    SPACER_ORDER = "spacer_order"
    NUT_TORQUE = "nut_torque"
    ARBOR_RUNOUT = "arbor_runout"
    BEARING_PLAY = "bearing_play"
    PART_DISTORTED = "part_distorted"
    HIGH_SPOT = "high_spot"


class Given(StrEnum):
    """Where a figure that a check at the lathe goes by was taken from."""

    REQUEST = "request"
    LATHE = "lathe"
    PRACTICE = "practice"
