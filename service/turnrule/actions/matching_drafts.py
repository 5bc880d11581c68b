"""Which open draft a second entry is for: by its id where the row names one, else by what it is for."""

from __future__ import annotations

from collections.abc import Sequence

from turnrule.actions.requests import SecondEntry
from turnrule.store.folding import fold
from turnrule.store.limit_records import OpenDraft
from turnrule.store.reference_port import ReferenceStore


class DraftFinder:
    """Finds drafts; those of the last make and model are kept, since a file has them together."""

    def __init__(self, store: ReferenceStore) -> None:
        self._store = store
        self._named: tuple[str, str] | None = None
        self._drafts: Sequence[OpenDraft] = ()

    def found(self, second: SecondEntry, limits_id: str | None) -> Sequence[OpenDraft]:
        """The drafts that a second entry may be for: one where all is well, none, or several.

        Without an id: the one for the same make, model, kind, axle, option and first year (and first day, where
        that is given and tells two apart); else the one for the same make, model and kind, if there is one only.
        """
        if limits_id is not None:
            draft = self._store.open_draft(limits_id)
            return () if draft is None else (draft,)
        fits = second.fits
        same = [draft for draft in self._of(fits.make, fits.model) if _kind(draft) is second.figures.limits.kind]
        exact = [draft for draft in same if _fits(draft, second)]
        if len(exact) > 1:
            return [draft for draft in exact if draft.revision.effective_from == second.effective_from] or exact
        if exact or len(same) == 1:
            return exact or same
        return ()

    def _of(self, make: str, model: str) -> Sequence[OpenDraft]:
        if self._named != (make, model):
            self._drafts = self._store.drafts_of(make, model)
            self._named = (make, model)
        return self._drafts


def _kind(draft: OpenDraft) -> object:
    return draft.revision.limits.kind


def _fits(draft: OpenDraft, second: SecondEntry) -> bool:
    mine, theirs = second.fits, draft.revision.fits
    return (mine.axle, mine.year_from, fold(mine.brake_option or "")) == (
        theirs.axle,
        theirs.year_from,
        fold(theirs.brake_option or ""),
    )
