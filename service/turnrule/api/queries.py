"""The parameters of the lists: each read strictly, once at most, and refused by name where it is not known."""

from __future__ import annotations

import re
from collections.abc import Iterator
from enum import StrEnum
from typing import Any
from urllib.parse import unquote_to_bytes

from flask import request
from marshmallow import ValidationError

from turnrule.api.bounds import Within
from turnrule.api.faults import faults_in
from turnrule.api.fields import Choice, Instant, IsoDate, Text, WholeNumber
from turnrule.api.problems import ParameterFault, ProblemError
from turnrule.api.request_shapes import CODE
from turnrule.api.shapes import Shape
from turnrule.judging.words import Axle, Kind, Ruling

DEFAULT_PAGE, LARGEST_PAGE = 50, 200
_CURSOR = re.compile(r"^[A-Za-z0-9_-]+$")
_LIMITS_ID = re.compile(r"^[a-z0-9][a-z0-9-]*$")
LONGEST_LIMITS_ID = 400


class _Page(Shape):
    """What every list takes."""

    limit = WholeNumber(
        Within(least=1, most=LARGEST_PAGE),
        text=True,
        load_default=DEFAULT_PAGE,
        metadata={"description": "How many entries a page has at most."},
    )
    after = Text(
        1000,
        pattern=_CURSOR,
        metadata={"description": "The cursor that the page before gave; none for the first."},
    )


class PageQuery(_Page):
    """A list without filters."""


class NamesQuery(_Page):
    """A list by name, without filters."""


class CoverageList(StrEnum):
    """What is not there yet, by what is to be done about it."""

    NOT_FOUND = "not_found"
    AWAITING_VERIFICATION = "awaiting_verification"
    REVIEW_DUE = "review_due"


class CoverageQuery(_Page):
    """Which list of what is not there yet."""

    list = Choice(
        CoverageList,
        load_default=CoverageList.NOT_FOUND.value,
        metadata={
            "description": "`not_found`: asked for and not held, most wanted first. `awaiting_verification`: entered "
            "once, by id. `review_due`: governing past their review date, by id."
        },
    )


class ChangesQuery(_Page):
    """Since which release."""

    since = WholeNumber(
        Within(least=0, most=2**31 - 1),
        text=True,
        metadata={"description": "Changes after this release; the one before where left out, 0 for all."},
    )


def _name(description: str, most: int = 80) -> Text:
    return Text(most, metadata={"description": description})


class LimitsQuery(_Page):
    """Filters of the limits."""

    make = _name("The vehicle's maker; case and spacing do not matter.")
    model = _name("The vehicle's model; case and spacing do not matter.")
    year = WholeNumber(
        Within(least=1900, most=2100), text=True, metadata={"description": "A model year that the record is for."}
    )
    axle = Choice(Axle, metadata={"description": "The axle."})
    kind = Choice(Kind, metadata={"description": "The kind of part."})
    brake_option = _name("The brake option, as it is written in the record.", 40)
    release = WholeNumber(
        Within(least=1, most=2**31 - 1),
        text=True,
        metadata={
            "description": "The release to look in, as it was when it was published; left out: the newest, without "
            "what was withdrawn since."
        },
    )
    on = IsoDate(metadata={"description": "The day on which the limits hold; today where left out."})


class RevisionQuery(Shape):
    """Which revision of a record."""

    revision = WholeNumber(
        Within(least=1, most=2**31 - 1),
        text=True,
        metadata={"description": "The revision; the newest where left out."},
    )


class PolicyChangesQuery(Shape):
    """Between which revisions of a policy, or of two policies."""

    since = WholeNumber(
        Within(least=1, most=2**31 - 1),
        text=True,
        metadata={
            "description": "The revision that it is compared with: the one before where left out, and the newest one "
            "of the policy that `against` names."
        },
    )
    revision = WholeNumber(
        Within(least=1, most=2**31 - 1),
        text=True,
        metadata={"description": "The revision that is told of; the newest where left out."},
    )
    against = Text(
        63, pattern=CODE, metadata={"description": "Another policy that it is compared with, in place of itself."}
    )


class VerdictsQuery(_Page):
    """Filters of the verdicts."""

    site = _name("The site whose key sent the request.", 63)
    verdict = Choice(Ruling, metadata={"description": "The verdict."})
    kind = Choice(Kind, metadata={"description": "The kind of part."})
    make = _name("The vehicle's maker; case and spacing do not matter.")
    model = _name("The vehicle's model; case and spacing do not matter.")
    vehicle = _name("The caller's own name for the vehicle.")
    reference = _name("The caller's own job number.")
    since = Instant(metadata={"description": "Judged at this moment or later."})
    until = Instant(metadata={"description": "Judged before this moment."})
    limits_id = Text(
        LONGEST_LIMITS_ID, pattern=_LIMITS_ID, metadata={"description": "The limits record that it rests on."}
    )
    limits_revision = WholeNumber(
        Within(least=1, most=2**31 - 1), text=True, metadata={"description": "The revision of that record."}
    )


class AxlesQuery(_Page):
    """Filters of the axle verdicts."""

    site = _name("The site whose key sent the request.", 63)
    vehicle = _name("The caller's own name for the vehicle.")


class NoQuery(Shape):
    """No parameters at all."""


PAGE, LIMITS, REVISION, VERDICTS, NONE = PageQuery(), LimitsQuery(), RevisionQuery(), VerdictsQuery(), NoQuery()
COVERAGE, CHANGES, AXLES = CoverageQuery(), ChangesQuery(), AxlesQuery()

POLICY_CHANGES, NAMES = PolicyChangesQuery(), NamesQuery()


def read_query(schema: Shape) -> dict[str, Any]:
    """The parameters of this request. Raises the problem 400 naming every one that cannot be taken."""
    given = request.args.to_dict(flat=False)
    faults = [
        ParameterFault(name, "doubled_parameter", "this parameter may stand once")
        for name, values in given.items()
        if len(values) > 1
    ]
    faults += [ParameterFault(name, "not_utf8", "this parameter is not in UTF-8") for name in _no_utf8()]
    try:
        values = schema.load({name: several[0] for name, several in given.items()})
    except ValidationError as error:
        told = faults_in(error.messages, schema)
        faults += [ParameterFault(fault.pointer.removeprefix("/"), fault.code, fault.detail) for fault in told]
    if faults:
        count = len(faults)
        detail = "1 parameter cannot be taken" if count == 1 else f"{count} parameters cannot be taken"
        raise ProblemError("invalid_parameters", detail, faults)
    return {"limit": DEFAULT_PAGE, **values}


def _no_utf8() -> Iterator[str]:
    """The names of parameters whose bytes are no UTF-8; Flask would hand them on with the escapes that they had."""
    for pair in request.query_string.split(b"&"):
        try:
            unquote_to_bytes(pair).decode()
        except UnicodeDecodeError:
            yield pair.partition(b"=")[0].decode("ascii", "replace")
