"""Published figures of measurement uncertainty and of decisions about conformity."""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from tests.judging.published.sources import Published, Status


class Conformity(NamedTuple):
    """A measured value y with standard uncertainty u against one limit, and the printed probability of conformity."""

    y: str
    u: str
    limit: str
    greatest: bool
    printed: Published

    @property
    def z(self) -> Decimal:
        """How many standard uncertainties y stays on the safe side of its limit."""
        beyond = Decimal(self.limit) - Decimal(self.y) if self.greatest else Decimal(self.y) - Decimal(self.limit)
        return beyond / Decimal(self.u)


JCGM_106 = "JCGM 106:2012, clause 7"
ILAC_G8 = "ILAC-G8:09/2019, table of guard bands"
ISO_14253 = "ISO 14253-1:2017, default rule"
GUM = "JCGM 100:2008 (GUM)"
CALIFORNIA = "16 CCR 3321(a)(1), regulations.justia.com/states/california/title-16"
RISK_SUITE = "public repository sandialabs/suncal, test/test_risk.py"

TABLE_1 = tuple(
    (z, Published(f"p for z = {z}", p, f"{JCGM_106}, table 1", Status.MEMORY))
    for z, p in (("0.84", "0.80"), ("1.28", "0.90"), ("1.64", "0.95"), ("2.33", "0.99"), ("3.09", "0.999"))
)
TABLE_1_EXACT = tuple(
    (z, Published(f"p for z = {z}", p, f"{JCGM_106}, table 1, z to six digits", Status.DERIVED))
    for z, p in (
        ("0.841621", "0.80000"),
        ("1.281552", "0.90000"),
        ("1.644854", "0.95000"),
        ("2.326348", "0.99000"),
        ("3.090232", "0.99900"),
    )
)
ONE_SIDED = (
    Conformity(
        "-5.47", "0.05", "-5.40", True, Published("voltage, printed", "0.92", f"{JCGM_106}, example", Status.MEMORY)
    ),
    Conformity(
        "-5.47", "0.05", "-5.40", True, Published("voltage", "0.919243", f"{JCGM_106}, example", Status.DERIVED)
    ),
    Conformity(
        "509.7", "8.6", "490", False, Published("burst, printed", "0.99", f"{JCGM_106}, example", Status.MEMORY)
    ),
    Conformity("509.7", "8.6", "490", False, Published("burst", "0.989010", f"{JCGM_106}, example", Status.DERIVED)),
    Conformity("12.0", "0.4", "11", True, Published("12.0 against 11", "0.00621", RISK_SUITE, Status.READ)),
    Conformity("10", "0.4", "11", True, Published("10 against 11", "0.99379", RISK_SUITE, Status.READ)),
)
TWO_SIDED = (
    ("13.6", "1.8", "12.5", "16.3", Published("viscosity", "0.66", f"{JCGM_106}, example", Status.MEMORY)),
    ("13.6", "1.8", "12.5", "16.3", Published("viscosity", "0.66263", f"{JCGM_106}, example", Status.DERIVED)),
    ("0", "0.12", "-0.20", "0.20", Published("resistors", "0.9044", f"{JCGM_106}, 9.5.3", Status.READ_SECONDARY)),
    ("10", "0.4", "9", "11", Published("10 in 9 to 11", "0.98758", RISK_SUITE, Status.READ)),
    ("10.5", "0.4", "9", "11", Published("10.5 in 9 to 11", "0.89426", RISK_SUITE, Status.READ)),
    ("12.0", "0.4", "9", "11", Published("12 in 9 to 11", "0.00621", RISK_SUITE, Status.READ)),
)
GUARD_BANDS = (
    ("6", Published("w = 3U", "0.000000", ILAC_G8, Status.DERIVED)),
    ("3", Published("w = 1.5U", "0.001350", ILAC_G8, Status.DERIVED)),
    ("2", Published("w = U", "0.022750", ILAC_G8, Status.DERIVED)),
    ("1.66", Published("w = 0.83U", "0.048457", ILAC_G8, Status.DERIVED)),
    ("0", Published("w = 0", "0.500000", ILAC_G8, Status.DERIVED)),
    ("1.65", Published("g = 1.65u", "0.049471", ISO_14253, Status.DERIVED)),
)
"""How many u are kept to the limit, and the risk at the acceptance limit."""

GREATEST_RISKS = (
    ("6", "0.000001", Status.MEMORY),
    ("3", "0.0016", Status.MEMORY),
    ("2", "0.025", Status.READ_SECONDARY),
    ("1.66", "0.05", Status.MEMORY),
)
"""The same guard bands with the risks that ILAC-G8 states as upper bounds."""

RESOLUTIONS = (
    ("1", Published("one digital step", "0.29", f"{GUM}, F.2.2.1", Status.MEMORY)),
    ("1", Published("one digital step", "0.288675", f"{GUM}, F.2.2.1", Status.DERIVED)),
    ("3", Published("7 to 10, rectangular", "0.87", "Eurachem QUAM, appendix E.1", Status.READ)),
    ("3", Published("7 to 10, rectangular", "0.866025", "Eurachem QUAM, appendix E.1", Status.DERIVED)),
    ("0.00000080", Published("0.40e-6 either way", "0.00000023", f"{GUM}, 4.3.7", Status.MEMORY)),
    ("0.00000080", Published("0.40e-6 either way", "0.000000230940", f"{GUM}, 4.3.7", Status.DERIVED)),
    ("0.001", Published("0.001 in gauge, in", "0.000288675", CALIFORNIA, Status.DERIVED)),
    ("0.005", Published("0.005 in gauge, in", "0.001443376", CALIFORNIA, Status.DERIVED)),
    ("0.0254", Published("0.001 in gauge, mm", "0.007332", CALIFORNIA, Status.DERIVED)),
    ("0.1270", Published("0.005 in gauge, mm", "0.03666", CALIFORNIA, Status.DERIVED)),
)
"""The width of a rectangular distribution and its standard uncertainty."""

END_GAUGE = ("25", "16.599", "6.7", "5.8", "3.9", "2.88679")
"""Components (nm) of the end gauge of GUM H.1; combined: 32 nm (repository MSLNZ/GTC, docs/API/GUM_H1.rst)."""
END_GAUGE_COMBINED = Published("end gauge, nm", "32", f"{GUM}, H.1", Status.READ_SECONDARY)
