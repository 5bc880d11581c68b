"""Which of the warnings at entry are answered: by a row of a file itself, or by one reason for all of the file."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from turnrule.actions.entry_checks import Remark
from turnrule.actions.file_rows import OpenAnswer
from turnrule.actions.requests import WarningAnswer


@dataclass(slots=True)
class Reasons:
    """Reasons for all warnings of a code, and what was answered so far.

    `used` counts by code the warnings that such a reason has answered, `by_rows` those that a row's own has;
    `idle` counts the rows' reasons for warnings that were not raised.
    """

    accepted: Mapping[str, str]
    used: Counter[str] = field(default_factory=Counter)
    by_rows: int = 0
    idle: int = 0

    def given(self, remarks: Iterable[Remark], answers: Sequence[OpenAnswer]) -> tuple[WarningAnswer, ...]:
        """An answer to each warning that has one: the row's own to that place, to that code, then the file's."""
        given = []
        idle = set(range(len(answers)))
        for remark in remarks:
            places = [at for at, answer in enumerate(answers) if _is_about(answer, remark)]
            best = min(places, key=lambda at: answers[at].pointer is None, default=None)
            if best is not None:
                idle.discard(best)
                self.by_rows += 1
                given.append(WarningAnswer(remark.code, remark.pointer, answers[best].reason))
            elif remark.code in self.accepted:
                self.used[remark.code] += 1
                given.append(WarningAnswer(remark.code, remark.pointer, self.accepted[remark.code]))
        self.idle += len(idle)
        return tuple(given)


def _is_about(answer: OpenAnswer, remark: Remark) -> bool:
    return answer.code == remark.code and answer.pointer in {None, remark.pointer}
