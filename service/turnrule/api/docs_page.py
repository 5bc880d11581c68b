"""The contract handed out: as JSON for programs, and as a page for people that needs no script."""

from __future__ import annotations

import functools
import re
from pathlib import Path

import orjson
from flask import Blueprint, Response
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from turnrule.api import queries
from turnrule.api.answering import kept_response
from turnrule.api.contract_codes import FAULT_CODES
from turnrule.api.contract_document import contract
from turnrule.api.contract_examples import examples
from turnrule.api.contract_text import CAUTIONS, RULES
from turnrule.api.contract_view import ContractView
from turnrule.api.contract_wording import as_curl, as_text
from turnrule.api.problems import PROBLEMS

blueprint = Blueprint("docs", __name__)

_HERE = Path(__file__).resolve().parent
_FIRST = "verdict-machine"
_POLICY = "default-src 'none'; style-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
_CODE = re.compile(r"`([^`]+)`")


@blueprint.get("/openapi.json")
def contract_as_json() -> Response:
    """Give the contract to programs."""
    queries.read_query(queries.NONE)
    return kept_response(_document())


@blueprint.get("/docs")
def page() -> Response:
    """Give the contract to people."""
    queries.read_query(queries.NONE)
    response = kept_response(_page())
    response.mimetype = "text/html"
    response.headers["Content-Security-Policy"] = _POLICY
    return response


@blueprint.get("/docs/style.css")
def style() -> Response:
    """Give the page its looks."""
    queries.read_query(queries.NONE)
    response = kept_response(_style())
    response.mimetype = "text/css"
    return response


@blueprint.get("/")
def enter() -> Response:
    """Lead to the page."""
    queries.read_query(queries.NONE)
    return Response(status=302, headers={"Location": "/docs"})


@functools.cache
def _document() -> bytes:
    return orjson.dumps(contract())


@functools.cache
def _style() -> bytes:
    return (_HERE / "static" / "docs.css").read_bytes()


@functools.cache
def _page() -> bytes:
    """The page, written once: it is the same for everyone. Everything that is put into it is escaped."""
    environment = Environment(
        loader=FileSystemLoader(_HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["with_code"] = with_code
    document = contract()
    view = ContractView(document)
    first = examples()[_FIRST]
    answered = first.answered if isinstance(first.answered, dict) else {}
    return (
        environment.get_template("docs.html")
        .render(
            info=document["info"],
            cautions=CAUTIONS,
            rules=RULES,
            tags=view.tags(),
            objects=view.objects(),
            problems=PROBLEMS,
            faults=FAULT_CODES,
            first_sent=as_curl(first),
            first_verdict=answered["verdict"],
            first_summary=answered["summary"],
            first_answered=as_text(answered),
        )
        .encode()
    )


def with_code(text: str) -> Markup:
    """A text with what stands between backticks shown as code; everything else is escaped."""
    return Markup(_CODE.sub(r"<code>\1</code>", str(escape(text))))  # noqa: S704 - escaped just before
