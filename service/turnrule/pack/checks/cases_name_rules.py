"""Every worked case can be read and shows rules of the catalogue, and every rule is shown by a case."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.pack.model import Pack
from turnrule.pack.reader import PackError


def faults(pack: Pack) -> Iterator[str]:
    """Cases that cannot be read, rules that no case shows or the catalogue lacks, sentences that stand twice."""
    try:
        cases = list(pack.cases())
    except PackError as error:
        yield str(error)
        return
    shown: set[str] = set()
    sentences: dict[str, str] = {}
    for case in cases:
        for code in sorted(set(case.rules) - pack.catalogue.rules.keys()):
            yield f"cases/{case.name}.json: there is no rule {code!r}; add it to rules.json or name another"
        shown |= set(case.rules)
        other = sentences.setdefault(case.sentence, case.name)
        if other != case.name:
            yield f"cases/{case.name}.json: says the same as {other}.json; say what is different"
    for code in sorted(pack.catalogue.rules.keys() - shown):
        yield f"rules.json: no worked case shows {code!r}; work one out"
