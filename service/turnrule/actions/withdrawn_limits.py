"""Which stored verdicts rest on limits that were withdrawn after they were judged."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from turnrule.actions.desk import Desk
from turnrule.store.limit_records import Withdrawal
from turnrule.store.port import VerdictRecord

_PAGE = 200


class WithdrawnLimits:
    """Every withdrawal up to now, by record; they are few beside the verdicts."""

    def __init__(self, desk: Desk) -> None:
        self._by_record: defaultdict[str, list[Withdrawal]] = defaultdict(list)
        for one in _withdrawals(desk):
            self._by_record[one.limits_id].append(one)

    def of(self, record: VerdictRecord) -> Withdrawal | None:
        """The first withdrawal of what a verdict rests on; None for none.

        It came after the verdict: what was withdrawn before a part is judged is not found for it.
        """
        if record.limits_id is None or record.limits_revision is None:
            return None
        gone = self._by_record.get(record.limits_id, ())
        return next((one for one in gone if one.revision >= record.limits_revision), None)


def _withdrawals(desk: Desk) -> Iterator[Withdrawal]:
    after = 0
    while page := desk.store.withdrawals(after=after, limit=_PAGE):
        yield from page
        after = page[-1].sequence
