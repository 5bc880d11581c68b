"""The closed vocabularies of a judgement: the trade's words, each spelled in one place."""

from __future__ import annotations

from enum import StrEnum


class Kind(StrEnum):
    """What part is judged; a rotor with a drum in its hat is judged as two parts."""

    ROTOR = "rotor"
    DRUM = "drum"
    PARKING_DRUM = "parking_drum"

    @property
    def is_rotor(self) -> bool:
        """True where thicker is the safe side; false where a smaller diameter is."""
        return self is Kind.ROTOR


class Unit(StrEnum):
    """The unit of every length of one body."""

    MM = "mm"
    IN = "in"


class Axle(StrEnum):
    """Axles counted from the front; `rear` is the last one of a two-axle vehicle."""

    FRONT = "front"
    REAR = "rear"
    SECOND = "second"
    THIRD = "third"
    FOURTH = "fourth"
    FIFTH = "fifth"


class Side(StrEnum):
    """The side of the axle, seen from the driver's seat."""

    LEFT = "left"
    RIGHT = "right"


class Stage(StrEnum):
    """When the readings were taken."""

    BEFORE_MACHINING = "before_machining"
    AFTER_MACHINING = "after_machining"


class Machining(StrEnum):
    """What the record says of machining the part at all."""

    PERMITTED = "permitted"
    ON_VEHICLE_ONLY = "on_vehicle_only"
    PROHIBITED = "prohibited"
    NOT_STATED = "not_stated"


class Construction(StrEnum):
    """How the part is built; it chooses cautions and practice figures."""

    SOLID = "solid"
    VENTED = "vented"
    DRILLED = "drilled"
    SLOTTED = "slotted"
    COMPOSITE = "composite"
    COATED = "coated"
    CAST = "cast"


class LatheKind(StrEnum):
    """Where the cut is made: part off the vehicle on an arbor, or on its own hub."""

    BENCH = "bench"
    ON_VEHICLE = "on_vehicle"


class RunoutPlace(StrEnum):
    """Where the lateral runout was read; on the vehicle it includes the hub's."""

    VEHICLE = "vehicle"
    LATHE = "lathe"


class Zero(StrEnum):
    """Where the tool stands when the depth of a cut is counted as zero."""

    THINNEST_POINT = "thinnest_point"
    FIRST_CONTACT = "first_contact"


class Face(StrEnum):
    """A friction face: two on a rotor, one (`depth`, on the radius) in a drum."""

    INBOARD = "inboard"
    OUTBOARD = "outboard"
    DEPTH = "depth"


class DecisionRule(StrEnum):
    """How a figure is held against a strength limit; `guarded` is the stricter."""

    SIMPLE = "simple"
    GUARDED = "guarded"


class Effect(StrEnum):
    """What a finding does, from mildest to hardest."""

    CAUTION = "caution"
    MEASURE = "measure"
    MACHINE = "machine"
    REPLACE = "replace"

    @property
    def rank(self) -> int:
        """0 for the mildest; a policy may only raise it."""
        return list(Effect).index(self)


class Outcome(StrEnum):
    """What one check came to."""

    PASS = "pass"
    FAIL = "fail"
    UNPROVEN = "unproven"
    NOT_ASSESSED = "not_assessed"


class Ruling(StrEnum):
    """The verdict, from best to worst."""

    SERVICEABLE = "serviceable"
    MACHINE = "machine"
    INCONCLUSIVE = "inconclusive"
    REPLACE = "replace"

    @property
    def rank(self) -> int:
        """0 for the best."""
        return list(Ruling).index(self)


class Sense(StrEnum):
    """Which side of a limit is the safe one."""

    AT_LEAST = "at_least"
    AT_MOST = "at_most"


class Origin(StrEnum):
    """Where a limit comes from."""

    REFERENCE = "reference"
    MARKING = "marking"
    CALLER = "caller"
    POLICY = "policy"
    REGULATION = "regulation"
    DERIVED = "derived"
    PRACTICE = "practice"
    CATALOGUE = "catalogue"


class Level(StrEnum):
    """How loudly a caution speaks."""

    NOTICE = "notice"
    WARNING = "warning"
    DANGER = "danger"


class PairRule(StrEnum):
    """What a policy asks of the two parts of an axle; later is stricter."""

    ADVISE = "advise"
    MACHINE_BOTH = "machine_both"
    REPLACE_BOTH = "replace_both"


class Overdue(StrEnum):
    """What a policy makes of an overdue review or calibration; later is stricter."""

    CAUTION = "caution"
    INCONCLUSIVE = "inconclusive"


class Reading(StrEnum):
    """What a policy may require to have been read, and what may be found missing."""

    THICKNESS = "thickness"
    THICKNESS_INNER = "thickness_inner"
    THICKNESS_VARIATION = "thickness_variation"
    DIAMETER = "diameter"
    DIAMETER_INNER = "diameter_inner"
    OUT_OF_ROUND = "out_of_round"
    TAPER = "taper"
    LATERAL_RUNOUT = "lateral_runout"
    SETUP_RUNOUT = "setup_runout"
    GROOVE_DEPTH = "groove_depth"
    MARKING = "marking"
    PART_TEMPERATURE = "part_temperature_c"
    SURFACE_ROUGHNESS = "surface_roughness"
    HISTORY = "history"


class CheckName(StrEnum):
    """Every check, in the order in which the answer lists them."""

    FINDINGS = "findings"
    DISCARD_LIMIT = "discard_limit"
    THICKNESS_VARIATION = "thickness_variation"
    OUT_OF_ROUND = "out_of_round"
    LATERAL_RUNOUT = "lateral_runout"
    TAPER = "taper"
    GROOVE_DEPTH = "groove_depth"
    SURFACE_FINISH = "surface_finish"
    CUT_CLEANS_UP = "cut_cleans_up"
    MACHINING_PERMITTED = "machining_permitted"
    MACHINING_LIMIT = "machining_limit"
    DISCARD_AFTER_CUT = "discard_after_cut"
    TOTAL_CUT = "total_cut"
    FACE_BALANCE = "face_balance"
    REMAINING_DISTANCE = "remaining_distance"
    MEASUREMENT_POINTS = "measurement_points"
    AXLE_DIFFERENCE = "axle_difference"


class Binds(StrEnum):
    """What a rule of law binds."""

    USE = "use"
    MACHINING = "machining"
    BOTH = "both"
