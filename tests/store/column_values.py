"""What each column of the embedded store may be left open, and which values of the right type it refuses."""

from __future__ import annotations

from typing import Any

from tests.store.raw import BOOKS

SEALED = (
    *("acceptances", "api_keys", "axle_verdicts", "idempotency_keys", "imports", "kept_answers", "lathes"),
    *(
        "limit_revisions",
        "mismatches",
        "misses",
        "policies",
        "rejections",
        "releases",
        "sites",
        "store_rules",
        "verdicts",
    ),
    "withdrawals",
)
"""Tables whose rows carry a seal."""

SIZES = ("nominal_tenth_nm", "machining_tenth_nm", "discard_tenth_nm")
FORMS = ("lateral_runout_tenth_nm", "thickness_variation_tenth_nm", "out_of_round_tenth_nm", "taper_tenth_nm")

MAY_BE_NULL: dict[str, set[str]] = {
    "api_keys": {"site", "revoked_at"},
    "limit_revisions": {
        *("year_to", "brake_option", "construction", "expansion_per_k", "issued", "effective_to", "review_due", "note"),
        *("also", "reason", "import_id"),
        *SIZES,
        *FORMS,
    },
    "acceptances": {"pause_s"},
    "open_drafts": {"import_id"},
    "kept_answers": {"location"},
    "verdicts": {
        *("site", "make", "make_key", "model", "model_key", "year", "axle", "side", "vehicle", "odometer_km"),
        *("reference", "release", "limits_id", "limits_revision", "lathe_name", "lathe_revision", "drawn", "axle_id"),
    },
    "axle_verdicts": {"site", "vehicle", "reference", "left_id", "right_id"},
    "misses": {"brake_option"},
}
"""What a document, a vehicle or a request may leave open; everything else is always there."""

ALONGSIDE: dict[tuple[str, str], dict[str, Any]] = {
    **{("verdicts", name): {"make": None, "make_key": None} for name in ("make", "make_key")},
    **{("verdicts", name): {"model": None, "model_key": None} for name in ("model", "model_key")},
    **{("verdicts", name): {"limits_id": None, "limits_revision": None} for name in ("limits_id", "limits_revision")},
    **{("verdicts", name): {"lathe_name": None, "lathe_revision": None} for name in ("lathe_name", "lathe_revision")},
    ("limit_revisions", "brake_option"): {"option_key": ""},
    ("acceptances", "pause_s"): {"verified_by": "second reader"},
}
"""What else a row has to leave open, or say, where one of its columns is left open."""

NUMBERED_BY_SQLITE = {("pulse", "one"), ("events", "sequence"), ("imports", "id"), (BOOKS, "id")}
"""Keys for which SQLite itself puts a number where NULL is given."""

_NO_WORD = ["", "Rotor", "front ", "other"]
_NO_MOMENT = [
    *("", "now", "2026-03-02", "2026-03-02T12:00:00Z"),
    *("2026-02-30T12:00:00.000000Z", "2026-03-02T12:00:00.00000aZ"),
]
_NO_DAY = ["", "now", "2026-3-2", "2026-02-30", "2026-03-02T00:00:00", "20260302", "12:00"]
_NO_NUMBER = ["", "-1", "1e3", "1.2.3", ".5", "NaN", "1 000", "\u0661"]
_NO_JSON = ["", "{", "NULL", "x"]
_NO_OBJECT = [*_NO_JSON, "[]", "1", "null"]
_NO_ARRAY = [*_NO_JSON, "{}", '"x"', "null"]
_NO_REVISION = [0, -1, 9]

REFUSED: dict[str, dict[str, list[Any]]] = {
    "releases": {
        "number": [0, -1, 1, 4],
        "published_at": _NO_MOMENT,
        "published_by": [""],
        "digest": [""],
        "records": [-1],
        "by_one_person": [-1, 3],
        "accepted": [-1, 0, 2, 6],
        "withdrawn": [-1, 2],
        "notes": [],
    },
    "imports": {
        "id": [0, -1, 1],
        "started_at": _NO_MOMENT,
        "started_by": [""],
        "touched": [-1],
        "finished": [-1, 2],
    },
    "limit_revisions": {
        "limits_id": [""],
        "revision": [0, -1, 1],
        **{name: [""] for name in ("make", "make_key", "model", "model_key", "brake_option", "option_key")},
        **{name: [""] for name in ("document", "publisher", "section", "edition", "entered_by")},
        "year_from": [0, 10000, 2025],
        "year_to": [0, 10000, 2020],
        "axle": _NO_WORD,
        "kind": _NO_WORD,
        "permission": _NO_WORD,
        "construction": _NO_WORD,
        "printed_unit": _NO_WORD,
        **{name: [0, -1] for name in SIZES},
        **{name: [-1] for name in FORMS},
        "expansion_per_k": _NO_NUMBER,
        "printed": _NO_OBJECT,
        "also": _NO_OBJECT,
        "issued": _NO_DAY,
        "effective_from": [*_NO_DAY, "2030-01-01"],
        "effective_to": [*_NO_DAY, "2021-01-01"],
        "review_due": _NO_DAY,
        "entered_at": _NO_MOMENT,
        "note": [],
        "reason": [],
        "warnings": _NO_ARRAY,
        "digest": ["", "0f", "md5:0f"],
        "import_id": [1, 99],
    },
    "acceptances": {
        "sequence": [0, -1, 1, 5, 7],
        "limits_id": ["", "L9", "L1", "L5"],
        "revision": _NO_REVISION,
        "entered_by": ["", "somebody else"],
        "entered_at": [*_NO_MOMENT, "2026-02-28T12:00:00.000251Z"],
        "verified_by": [""],
        "verified_at": [*_NO_MOMENT, "2026-03-01T11:59:59.000250Z"],
        "pause_s": [-1, 0, 86399, 86401],
    },
    "mismatches": {
        "limits_id": ["", "L9", "L1", "L5"],
        "revision": _NO_REVISION,
        "attempt": [0, 1, 3],
        "entered_by": [""],
        "entered_at": _NO_MOMENT,
        "fields": [*_NO_ARRAY, "[]"],
        "entry": [b""],
    },
    "rejections": {
        "limits_id": ["", "L9", "L1", "L5"],
        "revision": _NO_REVISION,
        "rejected_by": [""],
        "rejected_at": _NO_MOMENT,
        "reason": [""],
    },
    "withdrawals": {
        "sequence": [0, -1, 1, 3],
        "limits_id": ["", "L9", "L3", "L5"],
        "revision": _NO_REVISION,
        "withdrawn_by": [""],
        "withdrawn_at": _NO_MOMENT,
        "reason": [""],
    },
    "open_drafts": {"limits_id": ["", "L9", "L3"], "revision": _NO_REVISION, "import_id": [99]},
    "vehicles": {
        **{name: [""] for name in ("make_key", "make", "model")},
        "model_key": ["", "ostrel"],
        "kind": _NO_WORD,
    },
    "store_rules": {
        "revision": [0, 1, 3],
        "set_at": _NO_MOMENT,
        "set_by": [""],
        "one_person_pause_s": [-1, 0, 86399],
        "signed_packs_only": [-1, 0, 2],
        "trusted_keys": _NO_ARRAY,
    },
    "kept_answers": {
        "key_name": [""],
        "value": ["", "withdrawn"],
        "body_digest": [""],
        "status": [199, 600],
        "content": [],
        "location": [""],
    },
    "policies": {
        "name": [""],
        "revision": [0, 1],
        "document": [b"", b"{"],
        "written_at": _NO_MOMENT,
        "written_by": [""],
    },
    "lathes": {
        "name": [""],
        "revision": [0, 1],
        "document": [b"", b"{"],
        "written_at": _NO_MOMENT,
        "written_by": [""],
    },
    "sites": {
        "site": [""],
        "revision": [0, 1],
        "policy": [""],
        "written_at": _NO_MOMENT,
        "written_by": [""],
    },
    "events": {
        "sequence": [0, 1, 25],
        "kind": _NO_WORD,
        "number": [0, 1],
        "name": ["careful"],
    },
    "axle_verdicts": {
        "sequence": [0, -1, 1, 3],
        "id": ["", "axle"],
        "judged_at": _NO_MOMENT,
        **{name: [""] for name in ("key_name", "site", "vehicle", "reference", "digest")},
        "ruling": _NO_WORD,
        "kind": _NO_WORD,
        "left_id": ["", "v1", "right", "nobody", "new right"],
        "right_id": ["", "v1", "left", "nobody", "new left"],
        "request": [b""],
        "answer": [b""],
    },
    "api_keys": {
        "name": ["", "counter"],
        "digest": ["", "digest of counter"],
        "scopes": _NO_ARRAY,
        "site": [""],
        "created_at": _NO_MOMENT,
        "revoked_at": _NO_MOMENT,
    },
    "verdicts": {
        "sequence": [0, -2, 1, 13, 15],
        "id": ["", "v1"],
        "judged_at": _NO_MOMENT,
        **{name: [""] for name in ("key_name", "site", "make", "make_key", "model", "model_key")},
        **{name: [""] for name in ("vehicle", "reference", "policy_name", "engine", "digest")},
        "ruling": _NO_WORD,
        "kind": _NO_WORD,
        "axle": _NO_WORD,
        "side": [*_NO_WORD, "front"],
        "year": [0, 10000],
        "odometer_km": _NO_NUMBER,
        "release": [0, 3],
        "policy_revision": [-1],
        "limits_id": ["L9", "L3", "L5", None],
        "limits_revision": [3, None],
        "request": [b""],
        "answer": [b""],
        "withdrawn": [-1],
        "lathe_name": ["nobody", None],
        "lathe_revision": [3, None],
        "drawn": [b"", b"{}", b"x"],
        "axle_id": ["", "nobody"],
    },
    "idempotency_keys": {"key_name": [""], "value": [""], "body_digest": [""], "sequence": [0, 99]},
    "misses": {
        **{name: [""] for name in ("make", "make_key", "model", "model_key", "brake_option")},
        "year": [0, 10000],
        "axle": _NO_WORD,
        "kind": _NO_WORD,
        "count": [0],
        "first_at": [*_NO_MOMENT, "2026-03-02T12:00:01.000000Z"],
        "last_at": [*_NO_MOMENT, "2026-03-02T12:00:00.000000Z"],
    },
    "pulse": {"one": [0, 2], "beats": [-1]},
    BOOKS: {"id": [], "migration_set": [], "name": [], "applied_at": []},
}
"""Values of the right type that no row may have, by table and column; a seal is tried for every sealed table."""
