"""The same for each check of vehicles, days, document and correction."""

from __future__ import annotations

import datetime
from dataclasses import replace

from tests.actions.entry_checks.entries import drum, drum_of, fitting, from_document, rotor
from tests.actions.entry_checks.figure_samples import HEAVY_DRUM, REFUSED, WARNED, Samples
from turnrule.actions.requests import Corrects
from turnrule.judging.words import Axle, Kind


def day(text: str) -> datetime.date:
    """A day of the calendar."""
    return datetime.date.fromisoformat(text)


OLD = from_document(rotor(), issued=None, edition="3")
CORRECTS = Corrects("corvane-ostrel-7k2m9x", 1)
SMALL = {"nominal_diameter": "7.48", "maximum_machining_diameter": "7.51", "discard_diameter": "7.52"}
PARKING = drum_of(SMALL, kind=Kind.PARKING_DRUM)

RECORD_SAMPLES: dict[str, Samples] = {
    "axle_place": Samples(
        (rotor(), drum(), fitting(drum_of(HEAVY_DRUM), axle=Axle.THIRD), PARKING),
        (
            (fitting(PARKING, axle=Axle.FRONT), "/application/axle", "unusual_axle", WARNED),
            (fitting(rotor(), axle=Axle.SECOND), "/application/axle", "unusual_axle", WARNED),
        ),
    ),
    "years": Samples(
        (
            rotor(),
            fitting(rotor(), year_to=None),
            fitting(rotor(), year_to=2021),
            replace(rotor(), effective_to=day("2021-01-02")),
            fitting(replace(OLD, effective_from=day("1996-01-01")), year_from=1996, year_to=2020),
            fitting(rotor(), year_to=2028),
        ),
        (
            (fitting(rotor(), year_to=2020), "/application/year_to", "out_of_range", REFUSED),
            (replace(rotor(), effective_to=day("2021-01-01")), "/effective_to", "out_of_range", REFUSED),
            (fitting(OLD, year_from=1996, year_to=2021), "/application/year_to", "long_year_range", WARNED),
            (fitting(OLD, year_from=1942, year_to=1950), "/application/year_from", "year_long_past", WARNED),
            (fitting(rotor(), year_to=2029), "/application/year_to", "year_to_come", WARNED),
            (fitting(OLD, year_from=2029, year_to=None), "/application/year_from", "year_to_come", WARNED),
        ),
    ),
    "document_days": Samples(
        (
            rotor(),
            replace(rotor(), effective_from=day("2020-07-01")),
            fitting(from_document(rotor(), issued=None, edition="2020"), year_from=2021),
            replace(rotor(), figures=replace(rotor().figures, review_due=day("2021-01-02"))),
            replace(rotor(), effective_from=day("2027-11-03")),
            from_document(rotor(), issued=day("2026-11-02")),
        ),
        (
            (replace(rotor(), effective_from=day("2019-12-31")), "/effective_from", "before_vehicle", WARNED),
            (
                from_document(rotor(), issued=day("2019-12-31")),
                "/application/year_from",
                "after_document",
                WARNED,
            ),
            (
                from_document(rotor(), issued=None, edition="2019-07"),
                "/application/year_from",
                "after_document",
                WARNED,
            ),
            (
                replace(rotor(), figures=replace(rotor().figures, review_due=day("2021-01-01"))),
                "/review_due",
                "review_before_start",
                WARNED,
            ),
            (replace(rotor(), effective_from=day("2027-11-04")), "/effective_from", "far_ahead", WARNED),
            (from_document(rotor(), issued=day("2026-11-03")), "/source/issued", "document_to_come", WARNED),
        ),
    ),
    "source_fields": Samples(
        (
            rotor(),
            from_document(rotor(), edition="1", section="7"),
            fitting(rotor(), brake_option="NA", model="X"),
            fitting(rotor(), brake_option=None),
        ),
        (
            (from_document(rotor(), section="n/a"), "/source/section", "placeholder", REFUSED),
            (from_document(rotor(), edition="-"), "/source/edition", "placeholder", REFUSED),
            (from_document(rotor(), document="T.B.D."), "/source/document", "placeholder", REFUSED),
            (from_document(rotor(), publisher="?"), "/source/publisher", "placeholder", REFUSED),
            (from_document(rotor(), section="See  Above"), "/source/section", "placeholder", REFUSED),
            (fitting(rotor(), brake_option="None"), "/application/brake_option", "placeholder", REFUSED),
            (fitting(rotor(), model="unknown"), "/application/model", "placeholder", REFUSED),
        ),
    ),
    "correction": Samples(
        (rotor(), replace(rotor(), corrects=CORRECTS, reason="page 14 prints 24.0, not 24.6")),
        (
            (replace(rotor(), corrects=CORRECTS), "/reason", "missing", REFUSED),
            (replace(rotor(), reason="page 14 prints it so"), "/reason", "reason_without_correction", REFUSED),
        ),
    ),
}
"""By the name of the check's module."""
