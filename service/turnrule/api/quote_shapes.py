"""The shapes of a quote: its lines, the parts that they are about, the stated total."""

from __future__ import annotations

import re

from marshmallow import fields

from turnrule.api.bounds import Sized, Within
from turnrule.api.contract_parts import VERDICT_ID
from turnrule.api.fields import Choice, Coded, ExactDecimal, Text
from turnrule.api.life_shapes import Distance
from turnrule.api.limit_shapes import form, unit_field
from turnrule.api.request_shapes import CODE
from turnrule.api.shapes import Inner, ListOf, Shape
from turnrule.judging.quote_words import Operation
from turnrule.judging.words import Axle, Kind, LatheKind, Side

MOST_LINES, MOST_PARTS = 200, 24
LARGEST_SUM = 1_000_000_000
BOTH = "both"
CURRENCY = re.compile(r"^[A-Za-z0-9]{1,8}$")
"""A currency by the caller's own code; it is never converted."""


def money_field(description: str) -> ExactDecimal:
    """A sum of money: 0 or more."""
    return ExactDecimal(Within(least=0, most=LARGEST_SUM), metadata={"description": description})


def currency_field(description: str) -> Text:
    """A currency."""
    return Text(8, pattern=CURRENCY, metadata={"description": description})


class EmbeddedRequest(Coded, fields.Raw):
    """A request for a verdict within another document; its own reader looks into it."""

    def read(self, value: object) -> object:
        """The document as it is."""
        return value


class QuoteCutShape(Shape):
    """The cut that a quote plans, from the thinnest point (a drum: the widest)."""

    inboard = form("Depth off the inboard face of a rotor.")
    outboard = form("Depth off the outboard face of a rotor.")
    depth = form("Depth on the radius of a drum; it counts twice on the diameter.")


class QuoteLineShape(Shape):
    """One line of a quote."""

    operation = Choice(Operation, required=True, metadata={"description": "What is done; `other` is about no part."})
    part = Text(80, metadata={"description": "The name of the part, as `parts` gives it."})
    axle = Choice(Axle, metadata={"description": "The axle, where no part is named; rear is the last of two."})
    side: fields.Field[str] = Choice(
        [*Side, BOTH], metadata={"description": "The side, or both, where no part is named."}
    )
    kind = Choice(Kind, metadata={"description": "The kind of part, where no part is named."})
    cut = Inner(QuoteCutShape, metadata={"description": "The cut that is planned; for machining only."})
    lathe = Choice(LatheKind, metadata={"description": "The lathe that it is cut on."})
    price = money_field("The price of the part or of the job, for all parts that the line is about.")
    labour = money_field("The labour, for all parts that the line is about.")
    discount = money_field("What is taken off price and labour.")
    currency = currency_field("The currency of this line, where it is another one than the quote's.")
    text = Text(200, metadata={"description": "The line in the quote's own words; it is not looked at."})


class OtherWayShape(Shape):
    """What the way that the quote does not take would cost for this part."""

    price = money_field("The price of the part or of the job.")
    labour = money_field("The labour.")


class QuotePartShape(Shape):
    """A part, with its verdict, with what was measured of it, or with neither."""

    name = Text(80, required=True, metadata={"description": "The name by which lines are about it; each once."})
    axle = Choice(Axle, metadata={"description": "The axle that it sits on."})
    side = Choice(Side, metadata={"description": "The side of the axle, seen from the driver's seat."})
    kind = Choice(Kind, metadata={"description": "The kind of part."})
    verdict_id = Text(
        26, pattern=re.compile(VERDICT_ID), metadata={"description": "A stored verdict that this key may see."}
    )
    request = EmbeddedRequest(
        metadata={"description": "A request for a verdict, to be judged now and not stored; with its own unit."}
    )
    new_distance = Inner(Distance, metadata={"description": "How far a new part is expected to last."})
    other_way = Inner(OtherWayShape, metadata={"description": "What the way that is not quoted would cost."})


class QuoteShape(Shape):
    """A quote to be held against what was measured."""

    unit = unit_field()
    lines = ListOf(
        Inner(QuoteLineShape),
        Sized(least=1, most=MOST_LINES),
        required=True,
        metadata={"description": "The lines of the quote."},
    )
    parts = ListOf(
        Inner(QuotePartShape), Sized(most=MOST_PARTS), metadata={"description": "What is known of the parts."}
    )
    total = money_field("The total that the quote states.")
    currency = currency_field("The currency of the quote.")
    policy = Text(
        63,
        pattern=CODE,
        metadata={
            "description": "The name of the policy whose pair rule holds, and under which requests that name none are "
            "judged; that of the key's site, or default, where left out."
        },
    )


QUOTE = QuoteShape()
