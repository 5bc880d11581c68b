"""Every word of a check at the lathe as a sentence for whoever stands there (the remedies are common practice)."""

from __future__ import annotations

from types import MappingProxyType

from turnrule.judging.lathe_words import Expected, LookAt, Missing, Note

MISSING = MappingProxyType(
    {
        Missing.SECOND_READING: (
            "Loosen the part, turn it on what it sits on by a known angle, half a turn best, and read it again."
        ),
        Missing.TURN_OF_THE_PART: (
            "The part was not turned on what it sits on between the readings, or by whole turns only: turn it by half "
            "a turn and read it again."
        ),
        Missing.ANGLES_OF_THE_SCRATCH: "Give where each scratch begins and ends, in degrees from a mark on the part.",
        Missing.SHALLOWER_SCRATCH: "Scratch the face again at another place, and shallower: this one goes all round.",
        Missing.DEEPER_SCRATCH: "Feed the tool in a little more: the scratch is too short to tell the wobble.",
        Missing.TRACE: "Read an indicator at equal steps all round: what was read does not tell the form.",
        Missing.FINER_READING: "Read with a finer indicator, or mark the angles more closely.",
        Missing.LIMITS: (
            "Give the vehicle in application, or limits: without a machining and a discard limit no cut is allowed."
        ),
        Missing.THICKNESS: "Measure the thickness of the part at equal angles.",
        Missing.OUTBOARD_TRACE: "Read an indicator on the outboard face, at the same angles.",
        Missing.INBOARD_TRACE: "Read an indicator on the inboard face, at the same angles.",
        Missing.SECOND_TRACK: "Measure a second track, at the other end of the drum.",
        Missing.THIRD_TRACK: "Measure a third track, between the two.",
        Missing.DISTANCES: "Measure how far each track is from the open edge.",
        Missing.DIAMETERS: "Measure the diameter, on every track, at equal angles.",
        Missing.RUNOUT: "Indicate the bore on the lathe, and give its runout in setup_runout.",
        Missing.MOUNT_RUNOUT: "The runout of the mount and that of the part must be told apart first.",
    }
)
"""What to read or give so that more can be told."""

NOTES = MappingProxyType(
    {
        Note.WHOLE_TURN_SCRATCHED: "The scratch goes all round: the part wobbles no more than the tool was fed in.",
        Note.LITTLE_COVERED: "Less than half a turn is scratched: a little warp makes this runout far off.",
        Note.SCRATCH_TOO_SHORT: "The scratch is so short that it only says how far the part wobbles at least.",
        Note.LOCAL_HIGH_SPOT: "So short a scratch this deep is a high spot, and no wobble.",
        Note.SEVERAL_ARCS: "The scratch is in several pieces: the face is warped or bent, and does not just wobble.",
        Note.MAGNITUDES_ONLY: "Without angles only bounds of the two runouts can be told.",
        Note.SOME_READINGS_NOT_USED: "Readings without a direction were left out.",
        Note.DIFFERS_WITHOUT_TURNING: "The readings differ although the part was not turned: something is loose.",
        Note.DOES_NOT_REPEAT: "The readings fit each other badly: the part does not come to sit alike each time.",
        Note.WITHIN_UNCERTAINTY: "The result lies within the uncertainty of the readings; another reading may differ.",
        Note.CUT_WOULD_LEAVE_RUNOUT: "Cut as it sits, the part would run true here and run out on the vehicle.",
        Note.TRACES_OF_DIFFERENT_LENGTH: "The traces have different numbers of readings: only the wobble was compared.",
        Note.FORM_PARTLY_MIXED: "Some of the form may still be that of what the part sits on.",
        Note.FACES_DO_NOT_CLOSE: "Both traces and the thickness contradict each other: read them at the same angles.",
        Note.RUNOUT_TAKEN_AS_NOTHING: "The runout of the bore on the lathe was not given and is taken as nothing.",
    }
)
"""What an answer says of its own worth."""

LOOK_AT = MappingProxyType(
    {
        LookAt.SEATS_DIRTY: "the seats: wipe part, cones and spacers clean of chips, rust and dirt",
        LookAt.BURR_ON_SEAT: "burrs: feel every seat for burrs and nicks, and stone them off",
        LookAt.CONE_SIZE: "the cone: one that fits the bore and does not touch on its end",
        LookAt.SPACER_ORDER: "the spacers: their order, and whether they are flat and square",
        LookAt.NUT_TORQUE: "the nut: neither loose nor so tight that it bends the part",
        LookAt.ARBOR_RUNOUT: "the arbor: indicate it, and clean the taper that it sits in",
        LookAt.BEARING_PLAY: "the bearings: rock the spindle and feel for play",
        LookAt.PART_DISTORTED: "the part: it may be bent, warped or unevenly clamped",
        LookAt.HIGH_SPOT: "the face: rust, dirt or a hard spot where the scratch is",
    }
)
"""Where a mount goes wrong, in plain words."""

EXPECTED = MappingProxyType(
    {
        Expected.NOTHING_LEFT: "the scratch goes all round; nothing is left to come off",
        Expected.SINGLE_SLOW_PASS: "about three quarters covered: a single slow pass",
        Expected.ONE_OR_TWO_PASSES: "about half covered: one or two passes",
        Expected.MORE_THAN_ONE_PASS: "less than half covered: more than one pass",
    }
)
"""The trade's rule of thumb by what the scratch covers (common practice, no source)."""
