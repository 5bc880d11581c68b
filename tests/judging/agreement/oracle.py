"""The judgement of one case, written a second time from the rules alone, in whole numbers.

It shares no code with the engine. Where a figure cannot be whole (a mean, a slope), it is compared crosswise.
"""

from __future__ import annotations

from dataclasses import dataclass

from tests.judging.agreement.answers import Answer, CutAnswer, Line
from tests.judging.agreement.exact import KM_IN_UM, distance, length
from tests.judging.agreement.figures import Figures, figures_of
from tests.judging.agreement.form import Form, form_of
from tests.judging.agreement.governed import Rules, rules_of
from tests.judging.agreement.room import margins_of, room_of, settling
from tests.judging.agreement.shapes import Case
from tests.judging.agreement.told import Told, told
from tests.judging.agreement.turning import Cut, cut_of, least_cleaning, planned, scale_of, strength
from tests.judging.agreement.wear import wear_of
