"""Every source is named by an entry of a catalogue."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.pack.catalogues import read_sources
from turnrule.pack.model import Pack


def faults(pack: Pack) -> Iterator[str]:
    """Sources that nothing rests on."""
    book = pack.catalogue
    used = {finding.source for finding in book.findings.values()}
    used |= {caution.source for caution in book.cautions.values()}
    used |= {rule.source for rule in book.rules.values()}
    used |= {figure.source for figure in book.practice.values()}
    used |= {law.source for law in book.regulations.values()}
    for code, line in read_sources(pack.folder).items():
        if line not in used:
            yield f"sources.json: nothing names {code!r}; take it out, or name it where it is used"
