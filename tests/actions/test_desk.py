"""Ids sort by time, are never the same, and hold nothing that is misread."""

from __future__ import annotations

import datetime
import re

from turnrule.actions.desk import new_id, utc_now

START = datetime.datetime(2026, 11, 2, tzinfo=datetime.UTC)


def test_ids_sort_by_the_millisecond_they_were_made_in() -> None:
    ids = [new_id(START + datetime.timedelta(milliseconds=step)) for step in range(500)]
    assert ids == sorted(ids)
    far = new_id(datetime.datetime(2999, 1, 1, tzinfo=datetime.UTC))
    assert len(far) == 26
    assert far > ids[-1]


def test_ids_of_one_moment_differ_and_have_no_look_alike_letters() -> None:
    ids = {new_id(START) for _ in range(1000)}
    assert len(ids) == 1000
    assert all(re.fullmatch(r"[0-9a-hjkmnp-tv-z]{26}", one) for one in ids)


def test_the_machines_time_is_in_utc() -> None:
    assert utc_now().utcoffset() == datetime.timedelta(0)
