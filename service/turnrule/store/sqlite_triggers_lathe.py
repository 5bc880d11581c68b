"""The triggers over lathes and axle verdicts: what is written stays as it was written."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.store.sqlite_triggers import TAKEN, append_only, older, refusing, stored


def _lathes() -> Iterator[str]:
    yield from append_only("lathes", "a lathe revision")
    yield refusing(
        "lathes",
        "INSERT",
        "no_replace",
        stored("lathes", "name"),
        f"{TAKEN}this revision of the lathe is stored already",
    )
    yield refusing(
        "lathes", "INSERT", "newer", older("lathes", "name"), "a revision of a lathe is newer than those before it"
    )


def _axle_verdicts() -> Iterator[str]:
    yield from append_only("axle_verdicts", "an axle verdict")
    yield refusing(
        "axle_verdicts",
        "INSERT",
        "no_replace",
        "EXISTS (SELECT 1 FROM axle_verdicts WHERE id = NEW.id)",
        f"{TAKEN}an axle verdict with this id is stored already",
    )
    yield refusing(
        "axle_verdicts",
        "INSERT",
        "in_order",
        "NEW.sequence IS NOT (SELECT ifnull(max(sequence), 0) + 1 FROM axle_verdicts)",
        "axle verdicts are numbered one after another",
    )
    for side in ("left", "right"):
        column = f"{side}_id"
        yield refusing(
            "axle_verdicts",
            "INSERT",
            f"{side}_is_its_side",
            f"NEW.{column} IS NOT NULL AND NOT EXISTS (SELECT 1 FROM verdicts WHERE id = NEW.{column}"  # noqa: S608  # names of ours
            f" AND side = '{side}' AND axle_id = NEW.id)",
            f"the {side} side of an axle is a verdict on that side, and names the axle",
        )


TRIGGERS = (*_lathes(), *_axle_verdicts())
