"""The triggers over lathes, axle verdicts, sites and events: what is written stays, and nothing is written unseen."""

from __future__ import annotations

from collections.abc import Iterator

from turnrule.store.sqlite_triggers import TAKEN, append_only, older, refusing, stored

HAPPENS = {
    "verdicts": ("verdict", "sequence", ""),
    "axle_verdicts": ("axle_verdict", "sequence", ""),
    "releases": ("release", "number", ""),
    "withdrawals": ("withdrawal", "sequence", ""),
    "policies": ("policy", "revision", "name"),
    "lathes": ("lathe", "revision", "name"),
    "sites": ("site", "revision", "site"),
}
"""Which tables tell of a new row, as which kind of event, by which number and name."""


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


def _sites() -> Iterator[str]:
    yield from append_only("sites", "a revision of a site")
    yield refusing(
        "sites", "INSERT", "no_replace", stored("sites", "site"), f"{TAKEN}this revision of the site is stored already"
    )
    yield refusing("sites", "INSERT", "newer", older("sites", "site"), "a revision of a site is newer than the last")


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


def _events() -> Iterator[str]:
    yield from append_only("events", "an event")
    yield refusing(
        "events",
        "INSERT",
        "no_replace",
        "EXISTS (SELECT 1 FROM events WHERE kind = NEW.kind AND number = NEW.number AND name = NEW.name)",
        f"{TAKEN}this event is stored already",
    )
    yield refusing(
        "events",
        "INSERT",
        "in_order",
        "NEW.sequence > 0 AND NEW.sequence IS NOT"
        " (SELECT ifnull(max(seq), 0) + 1 FROM sqlite_sequence WHERE name = 'events')",
        "events are numbered one after another",
    )
    for table, (kind, number, name) in HAPPENS.items():
        named = f"NEW.{name}" if name else "''"
        yield (
            f"CREATE TRIGGER {table}_happens AFTER INSERT ON {table} BEGIN"  # noqa: S608  # names of ours
            f" INSERT INTO events (kind, number, name) VALUES ('{kind}', NEW.{number}, {named}); END"
        )


TRIGGERS = (*_lathes(), *_axle_verdicts(), *_sites(), *_events())
