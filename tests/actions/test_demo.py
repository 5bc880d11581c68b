"""The demo scenario goes into an empty store once: limits released, inspections judged, the wrong ones refused."""

from __future__ import annotations

import pytest

from turnrule.actions.demo import first_request
from turnrule.actions.desk import Desk
from turnrule.actions.judging_parts import reach
from turnrule.actions.refusals import RefusedError
from turnrule.api.demo import load_demo, load_demo_limits
from turnrule.api.faults import FaultsError
from turnrule.api.json_reading import read_json
from turnrule.api.verdict_schemas import read_request
from turnrule.judging.faults import PartError
from turnrule.pack import Pack
from turnrule.store.port import VerdictQuery


def codes(desk: Desk, document: object) -> set[str]:
    """The codes with which a request is refused, none where it is judged."""
    try:
        reach(desk, read_request(document), desk.clock())
    except (FaultsError, PartError, RefusedError) as error:
        return {fault.code for fault in error.faults}
    return set()


def test_every_inspection_is_judged_or_was_written_to_be_refused(desk: Desk, pack: Pack) -> None:
    loaded = load_demo(desk)
    expected = [one.name for one in pack.demo.inspections if one.expect_problem is not None]
    assert list(loaded.refused) == expected
    assert loaded.judged == len(pack.demo.inspections) - len(expected)
    assert loaded.release.number == 1
    assert loaded.release.records == len(pack.demo.limits)
    records = desk.store.verdicts(VerdictQuery(), limit=100_000)
    assert len(records) == loaded.judged
    assert {record.key_name for record in records} == {"demo"}
    assert not desk.store.check()


def test_an_inspection_that_is_refused_is_refused_for_what_is_wrong_with_it(desk: Desk, pack: Pack) -> None:
    load_demo_limits(desk)
    wrong = [one for one in pack.demo.inspections if one.expect_problem is not None]
    assert wrong
    for one in wrong:
        assert one.expect_problem in codes(desk, one.request), one.name


def test_to_reach_a_verdict_writes_nothing(desk: Desk, pack: Pack) -> None:
    load_demo_limits(desk)
    for one in pack.demo.inspections:
        codes(desk, one.request)
    assert not desk.store.verdicts(VerdictQuery())
    assert not desk.store.misses()


def test_the_demo_goes_into_an_empty_store_only(desk: Desk) -> None:
    load_demo_limits(desk)
    with pytest.raises(RefusedError, match="holds releases already"):
        load_demo_limits(desk)
    assert len(desk.store.releases()) == 1


def test_the_first_request_of_the_demo_can_be_sent_as_it_is(desk: Desk) -> None:
    load_demo_limits(desk)
    request = read_request(read_json(first_request(desk)))
    assert reach(desk, request, desk.clock()).basis.release == 1
