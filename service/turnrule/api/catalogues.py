"""The reference pack's catalogues: findings, cautions and rules, written out once when the service starts."""

from __future__ import annotations

import orjson
from flask import Blueprint, Response

from turnrule.api import queries
from turnrule.api.answering import kept_response
from turnrule.api.documents import caution_document, finding_document, rule_document
from turnrule.api.keeping_out import needs_key
from turnrule.pack import Pack


def catalogues_blueprint(pack: Pack) -> Blueprint:
    """The catalogues of this pack, by code; none is long enough for pages."""
    blueprint = Blueprint("catalogues", __name__)
    book = pack.catalogue
    listed = {
        "findings": [finding_document(book.findings[code]) for code in sorted(book.findings)],
        "cautions": [caution_document(book.cautions[code]) for code in sorted(book.cautions)],
        "rules": [rule_document(book.rules[code]) for code in sorted(book.rules)],
    }
    written = {
        name: orjson.dumps({"items": items, "next": None, "pack": {"version": pack.version, "digest": pack.digest}})
        for name, items in listed.items()
    }

    @blueprint.get("/v1/findings")
    @needs_key()
    def findings() -> Response:
        """List what may be seen on a part, with what each finding does to the verdict."""
        queries.read_query(queries.NONE)
        return kept_response(written["findings"])

    @blueprint.get("/v1/cautions")
    @needs_key()
    def cautions() -> Response:
        """List the cautions that a verdict may carry."""
        queries.read_query(queries.NONE)
        return kept_response(written["cautions"])

    @blueprint.get("/v1/rules")
    @needs_key()
    def rules() -> Response:
        """List the rules that parts are judged by, in words, each with its source."""
        queries.read_query(queries.NONE)
        return kept_response(written["rules"])

    return blueprint
