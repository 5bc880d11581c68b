"""Limits entered, entered again, withdrawn: what changes the reference."""

from __future__ import annotations

from flask import Blueprint, Response, g, request

from turnrule.actions.answers import moment
from turnrule.actions.entering import enter_limits
from turnrule.actions.numbers import write_exact
from turnrule.actions.reading_records import is_known
from turnrule.actions.verifying import Settled, verify_limits
from turnrule.actions.withdrawing import Withdrawn, withdraw_limits
from turnrule.api.json_reading import read_json
from turnrule.api.keeping_out import caller, desk, needs_key
from turnrule.api.limits_documents import draft_document, limits_document
from turnrule.api.limits_schemas import read_second_entry, read_unchecked_limits
from turnrule.api.once import done_once, posted
from turnrule.api.problems import PROBLEMS, ProblemError, problem_bytes
from turnrule.api.release_shapes import WITHDRAWAL, read_shape
from turnrule.judging.faults import Fault
from turnrule.store.limit_records import EntryState, KeptAnswer, LimitRevision
from turnrule.store.reference_port import Once

blueprint = Blueprint("entries", __name__)


@blueprint.post("/v1/limits")
@needs_key("limits:write")
def enter() -> Response:
    """Enter limits as a draft, which waits for the second entry of somebody else."""
    sent = posted()

    def do(once: Once[LimitRevision] | None) -> LimitRevision:
        # Everything that the checks find is told at once, with what the store has to say.
        return enter_limits(desk(), read_unchecked_limits(read_json(sent.body)), caller(), once=once)

    return done_once(sent, do, _entered)


def _entered(draft: LimitRevision) -> KeptAnswer:
    content = write_exact(draft_document(draft, EntryState.DRAFT))
    return KeptAnswer(201, content, f"/v1/limits/{draft.limits_id}?revision={draft.revision}")


@blueprint.post("/v1/limits/<limits_id>/verifications")
@needs_key("limits:verify")
def verify(limits_id: str) -> Response:
    """Enter the limits of a draft again, without having seen them; equal entries make it verified."""
    sent = posted()
    _require_known(limits_id)

    def do(once: Once[Settled] | None) -> Settled:
        return verify_limits(desk(), limits_id, read_second_entry(read_json(sent.body)), caller(), once=once)

    return done_once(sent, do, _settled)


def _require_known(limits_id: str) -> None:
    if not is_known(desk(), limits_id):
        raise ProblemError("not_found", "there is no such limits record")


def _settled(settled: Settled) -> KeptAnswer:
    row = settled.verified
    if row is None:
        return _differing(settled)
    draft = settled.draft.revision.revision
    overruled = draft if row.revision != draft else None
    document = limits_document(row) | {"state": EntryState.VERIFIED, "release": None, "overruled": overruled}
    return KeptAnswer(201, write_exact(document), f"/v1/limits/{row.limits_id}?revision={row.revision}")


def _differing(settled: Settled) -> KeptAnswer:
    """Which fields differ, and nothing of what stands in them: the next entry is to be as blind as this one."""
    count = len(settled.differing)
    fields = "1 field differs" if count == 1 else f"{count} fields differ"
    then = (
        "somebody who made none of the entries has to settle it from the document"
        if settled.is_disputed
        else "read the document again, and enter what it says"
    )
    detail = "the two entries differ in this field; neither is shown"
    content = problem_bytes(
        "entries_differ",
        f"{fields} from the first entry; {then}",
        instance=request.path,
        request_id=g.get("request_id"),
        faults=[Fault(pointer, "differs", detail) for pointer in settled.differing],
    )
    return KeptAnswer(PROBLEMS["entries_differ"].status, content)


@blueprint.post("/v1/limits/<limits_id>/withdrawals")
@needs_key("limits:write", "limits:verify", "releases:publish")
def withdraw(limits_id: str) -> Response:
    """Withdraw a record at once, or give up a draft."""
    sent = posted()
    _require_known(limits_id)

    def do(once: Once[Withdrawn] | None) -> Withdrawn:
        wanted = read_shape(WITHDRAWAL, sent.body)
        return withdraw_limits(desk(), limits_id, wanted.get("revision"), wanted["reason"], caller(), once=once)

    return done_once(sent, do, _withdrawn)


def _withdrawn(withdrawn: Withdrawn) -> KeptAnswer:
    document = {
        "limits_id": withdrawn.limits_id,
        "revision": withdrawn.revision,
        "state": EntryState.REJECTED if withdrawn.rejected else EntryState.WITHDRAWN,
        "reason": withdrawn.reason,
        "withdrawn_by": withdrawn.by,
        "withdrawn_at": moment(withdrawn.at),
        "verdicts": withdrawn.verdicts,
        "touched": f"/v1/verdicts?limits_id={withdrawn.limits_id}",
    }
    return KeptAnswer(201, write_exact(document), f"/v1/limits/{withdrawn.limits_id}/revisions")
