"""What a release changes in the stored verdicts, as a stream of lines that can be taken up again where it broke.

Each line is a JSON document. A verdict that comes out differently has an `id`; now and then a line says only how far
the stream is; the last line, and no other, says `done`. A stream without it did not reach its end, and goes on after
the greatest `after` that was read.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator

from flask import Blueprint, Response, g
from marshmallow import fields

from turnrule.actions.answers import Json, moment
from turnrule.actions.impact import Differ, ImpactDone, ImpactLine, ImpactSoFar, impact
from turnrule.actions.impact_lines import Concerned, Deciding, Standing
from turnrule.actions.reading_records import read_release
from turnrule.actions.requests import ReadRequest
from turnrule.api.bounds import Within
from turnrule.api.faults import FaultsError, TooLargeError
from turnrule.api.fields import Choice, WholeNumber
from turnrule.api.json_reading import read_json
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.lines import NDJSON, Line, as_stream
from turnrule.api.problems import ParameterFault, ProblemError
from turnrule.api.queries import read_query
from turnrule.api.shapes import Shape
from turnrule.api.verdict_schemas import read_request
from turnrule.judging.faults import Fault, PartError

blueprint = Blueprint("impact", __name__)

_GREATEST_NUMBER = 2**31 - 1

Step = ImpactLine | ImpactSoFar | ImpactDone


class ImpactQuery(Shape):
    """Between which releases, from where on, and what counts as a difference."""

    since = WholeNumber(
        Within(least=0, most=_GREATEST_NUMBER),
        text=True,
        metadata={"description": "Count what changed after this release; the one before where left out, 0 for all."},
    )
    after = WholeNumber(
        Within(least=0, most=10**18 - 1),
        text=True,
        load_default=0,
        metadata={"description": "Go on after this verdict: the `after` of the last line that was read."},
    )
    differ: fields.Field[str] = Choice(
        Differ,
        load_default=Differ.VERDICT,
        metadata={
            "description": "`verdict`: the verdict differs, or whether the cut that was asked for is allowed. "
            "`anything`: any figure, limit, source or caution of the answer does."
        },
    )


IMPACT = ImpactQuery()


@blueprint.get("/v1/releases/<int:number>/impact")
@needs_key("reports", "releases:publish")
def list_impact(number: int) -> Response:
    """List the stored verdicts that this key may see and that would come out differently under a release."""
    query = read_query(IMPACT)
    if not 0 < number <= _GREATEST_NUMBER or read_release(desk(), number) is None:
        raise ProblemError("not_found", f"there is no release {number}")
    since: int = query.get("since", number - 1)
    if since >= number:
        detail = f"since is a release before {number}"
        raise ProblemError("invalid_parameters", detail, [ParameterFault("since", "out_of_range", detail)])
    steps = impact(
        desk(),
        read_stored,
        number,
        since,
        after=query.get("after", 0),
        differ=Differ(query.get("differ", Differ.VERDICT)),
        site=caller().site,
    )
    # The first step is taken here, where what goes wrong can still be answered with a problem.
    first = next(steps)
    return Response(streamed(itertools.chain((first,), steps), g.request_id), mimetype=NDJSON)


def read_stored(body: bytes) -> ReadRequest:
    """The request that was stored with a verdict. Raises `PartError` where it cannot be read any more."""
    try:
        return read_request(read_json(body))
    except FaultsError as error:
        raise PartError(error.faults) from error
    except TooLargeError as error:
        raise PartError((Fault("", error.code, str(error)),)) from error


def streamed(steps: Iterator[Step], request_id: str) -> Iterator[bytes]:
    """The lines of a walk in chunks; a line that says how far it is where there was nothing else to tell."""
    lines = (
        Line(_document(step), at_once=isinstance(step, ImpactDone), how_far=isinstance(step, ImpactSoFar))
        for step in steps
    )
    return as_stream(lines, request_id)


def _document(step: Step) -> Json:
    if isinstance(step, ImpactLine):
        return line_document(step)
    if isinstance(step, ImpactSoFar):
        return {"after": step.after, "compared": step.compared}
    return {
        "done": True,
        "after": step.after,
        "compared": step.compared,
        "changed": step.changed,
        "cannot_be_judged": step.lost,
    }


def line_document(line: ImpactLine) -> Json:
    """One verdict that comes out differently."""
    before, after = line.before, line.after
    return {
        "after": line.verdict.sequence,
        **about_document(line.verdict),
        "verdict": _both(before.ruling, after and after.ruling),
        "governing": _both(deciding_document(before.governing), after and deciding_document(after.governing)),
        "cut_allowed": _both(before.cut_allowed, after and after.cut_allowed),
        "most_total_cut": _both(before.most_total_cut, after and after.most_total_cut),
        "checks": [
            {"check": one.check, "quantity": one.quantity, **_both(one.before, one.after)} for one in line.checks
        ],
        "limits": _both(_limits(before), after and _limits(after)),
        "release": _both(before.release, after and after.release),
        "differs": list(line.differs),
        "cannot_be_judged": line.obstacle and {"code": line.obstacle.code, "detail": line.obstacle.detail},
        "action": line.advice.action,
        "what_to_do": line.advice.sentence,
    }


def _both(before: object, after: object) -> Json:
    return {"before": before, "after": after}


def about_document(verdict: Concerned) -> Json:
    """The stored verdict that a line is about."""
    asked = verdict.application
    application = asked and {
        "make": asked.make,
        "model": asked.model,
        "year": asked.year,
        "axle": asked.axle,
        "brake_option": asked.brake_option,
    }
    return {
        "id": verdict.id,
        "judged_at": moment(verdict.judged_at),
        "site": verdict.site,
        "vehicle": verdict.vehicle,
        "reference": verdict.reference,
        "kind": verdict.kind,
        "application": application,
        "side": verdict.side,
        "unit": verdict.unit,
    }


def deciding_document(governing: Deciding | None) -> Json | None:
    """The check that decides a verdict."""
    if governing is None:
        return None
    return {
        "check": governing.check,
        "limit": governing.limit,
        "unit": governing.unit,
        "origin": governing.origin,
    }


def _limits(standing: Standing) -> Json | None:
    if standing.limits_id is None:
        return None
    return {"limits_id": standing.limits_id, "revision": standing.limits_revision}
