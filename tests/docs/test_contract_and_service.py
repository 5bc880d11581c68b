"""Service, contract and page say the same: every endpoint, every code, every field, and nothing beside them."""

from __future__ import annotations

import ast
import html
import json
import re
import shlex
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
import yaml
from flask import Flask

from turnrule.actions.desk import Desk, new_id, utc_now
from turnrule.api import docs_page
from turnrule.api.application import build_api
from turnrule.api.contract_codes import FAULT_CODES
from turnrule.api.contract_document import contract
from turnrule.api.contract_examples import examples
from turnrule.api.contract_text import CAUTIONS
from turnrule.api.contract_wording import as_curl
from turnrule.api.problems import PROBLEMS
from turnrule.pack import load_pack
from turnrule.store.sqlite import open_sqlite

ROOT = Path(__file__).resolve().parent.parent.parent
PACKAGE = ROOT / "service" / "turnrule"
KEPT = yaml.safe_load((ROOT / "openapi" / "openapi.yaml").read_text(encoding="utf-8"))

COMMAND_LINE_ONLY = {
    *("invalid_name", "invalid_scope", "invalid_site", "key_not_found", "store_not_empty"),
    *("rules_loosened", "invalid_key", "no_trusted_key", "invalid_id", "name_taken"),
}
"""Codes of keys, of the demo, of a store's rules and of ids in files: command line only, no request meets them."""

ALWAYS_CAUGHT = {"invalid"}
"""The code of a message that no field of ours raises; it stands where a new field would forget its code."""

GUARDING = {
    *("must_not_be_negative", "too_few_readings", "not_a_fraction", "not_a_turn", "not_a_count_of_studs"),
    *("no_positions", "no_tracks", "not_a_face"),
}
"""Codes by which the engine refuses what no body of the right shape can hold."""

AT_THE_LATHE = (
    *("lathe_faults", "scratch", "mount_readings", "separation", "index_positions", "planes", "drum_form"),
    *("setup_check", "setup_blocks"),
)
"""The modules of the engine that a check of a set-up goes through."""

RAISING = {
    "flawed": 0,
    "Flaw": 0,
    "Fault": 1,
    "ParameterFault": 1,
    "refused": 0,
    "_malformed": 0,
    "_Refused": 0,
    "RefusedError": 0,
    "ProblemError": 0,
    "problem": 0,
    "problem_bytes": 0,
    "refuse": 1,
    "refusal": 1,
    "warning": 1,
    "Remark": 1,
}
"""The callables that take a code, and at which place."""


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Flask:
    """The application; nothing of its store is looked at here."""
    store = open_sqlite(tmp_path_factory.mktemp("docs") / "store.sqlite")
    store.migrate()
    return build_api(Desk(store, load_pack(), utc_now, new_id))


@pytest.fixture(scope="module")
def page(app: Flask) -> str:
    """The page of the contract."""
    response = app.test_client().get("/docs")
    assert response.status_code == 200
    return response.get_data(as_text=True)


def endpoints(app: Flask) -> set[tuple[str, str]]:
    """Method and path of everything that the application answers; HEAD goes with GET (RFC 9110)."""
    return {
        (method.lower(), re.sub(r"<(?:\w+:)?(\w+)>", r"{\1}", rule.rule))
        for rule in app.url_map.iter_rules()
        for method in (rule.methods or set()) - {"HEAD"}
    }


def documented(document: dict[str, Any]) -> set[tuple[str, str]]:
    """Method and path of every operation of a contract."""
    return {
        (method, path) for path, methods in document["paths"].items() for method in methods if method != "parameters"
    }


def test_every_endpoint_stands_in_the_contract_and_the_other_way_around(app: Flask) -> None:
    assert endpoints(app) == documented(KEPT) == documented(contract())


def test_every_get_answers_head_as_well(app: Flask) -> None:
    for rule in app.url_map.iter_rules():
        methods = rule.methods or set()
        assert ("GET" in methods) is ("HEAD" in methods)
        assert "OPTIONS" not in methods


def test_every_endpoint_stands_on_the_page(page: str) -> None:
    for method, path in documented(KEPT):
        assert f'<b class="method {method}">{method.upper()}</b> {html.escape(path)}</a>' in page
        assert f'<b class="method {method}">{method.upper()}</b> <code>{html.escape(path)}</code>' in page


def codes_in(path: Path) -> Iterator[str]:
    """Every code that a module raises, by its calls; conditional ones count on both sides."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
        place = RAISING.get(name)
        if place is not None and len(node.args) > place:
            yield from (
                str(inner.value)
                for inner in ast.walk(node.args[place])
                if isinstance(inner, ast.Constant) and re.fullmatch(r"[a-z][a-z0-9_]+", str(inner.value))
            )


def raised() -> dict[str, list[str]]:
    """Every code that a request can meet, with the modules that raise it."""
    found: dict[str, list[str]] = {}
    modules = [*(PACKAGE / "api").glob("*.py"), *(PACKAGE / "actions").glob("*.py")]
    modules += (PACKAGE / "actions" / "entry_checks").glob("*.py")
    modules += [PACKAGE / "judging" / "faults.py", PACKAGE / "pack" / "policies.py", PACKAGE / "pack" / "tightening.py"]
    modules += [PACKAGE / "judging" / f"{name}.py" for name in AT_THE_LATHE]
    for path in modules:
        for code in codes_in(path):
            found.setdefault(code, []).append(path.name)
    return found


def test_every_code_that_is_raised_is_documented() -> None:
    found = raised()
    assert len(found) > 45
    unknown = found.keys() - FAULT_CODES.keys() - PROBLEMS.keys() - COMMAND_LINE_ONLY - ALWAYS_CAUGHT - GUARDING
    assert not {code: found[code] for code in unknown}
    assert found.keys() >= COMMAND_LINE_ONLY | GUARDING


def test_every_documented_code_stands_in_the_code_of_the_service() -> None:
    sources = "".join(
        path.read_text(encoding="utf-8")
        for room in ("api", "api/limit_files", "actions", "actions/entry_checks", "judging", "pack", "cli")
        for path in (PACKAGE / room).glob("*.py")
        if path.name not in {"contract_codes.py", "problems.py"}
    )
    for code in [*FAULT_CODES, *PROBLEMS]:
        assert f'"{code}"' in sources, code


def test_the_contract_tells_every_code_and_its_meaning() -> None:
    told = KEPT["components"]["schemas"]["Fault"]["properties"]["code"]["description"]
    for code, fault in FAULT_CODES.items():
        assert f"`{code}`: {fault.meaning}" in told
    responses = "".join(response["description"] for response in KEPT["components"]["responses"].values())
    for code, problem in PROBLEMS.items():
        assert f"`{code}`: {problem.title}. {problem.remedy}" in responses


def test_the_page_tells_every_code_field_example_and_caution(page: str) -> None:
    for code in [*FAULT_CODES, *PROBLEMS]:
        assert f"<code>{code}</code>" in page
    for name, schema in KEPT["components"]["schemas"].items():
        assert f'<article id="object-{name}">' in page
        for field in schema.get("properties", {}):
            assert f"<code>{field}</code>" in page
    for example in examples().values():
        assert str(html.escape(example.title)).replace("&#x27;", "&#39;") in page
    for caution in CAUTIONS:
        assert html.escape(caution).replace("&#x27;", "&#39;") in page


def test_the_page_defers_to_maker_law_and_licensed_practice(page: str) -> None:
    begin = page.index('class="cautions"')
    assert begin < page.index("<main>")
    for word in ("service data", "law of the place", "licensed technician", "can hurt people"):
        assert word in page[begin : page.index("</section>", begin)]


class Seen(HTMLParser):
    """What a page is made of: its elements, ids, links, and which elements were left open."""

    VOID = frozenset({"meta", "link", "br", "hr", "img", "input"})

    def __init__(self) -> None:
        super().__init__()
        self.tags: set[str] = set()
        self.ids: list[str] = []
        self.links: list[str] = []
        self.attributes: set[str] = set()
        self.open: list[str] = []
        self.headings: list[int] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        named = dict(attrs)
        self.attributes |= named.keys()
        if (identity := named.get("id")) is not None:
            self.ids.append(identity)
        if (link := named.get("href")) is not None:
            self.links.append(link)
        if re.fullmatch(r"h[1-6]", tag):
            self.headings.append(int(tag[1]))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag, (tag, self.getpos())


@pytest.fixture(scope="module")
def seen(page: str) -> Seen:
    """The page, parsed."""
    parser = Seen()
    parser.feed(page)
    parser.close()
    return parser


def test_the_page_is_well_formed_with_headings_in_order(seen: Seen) -> None:
    assert not seen.open
    assert len(seen.ids) == len(set(seen.ids))
    assert seen.headings[0] == 1
    assert seen.headings.count(1) == 1
    assert all(after <= before + 1 for before, after in zip(seen.headings, seen.headings[1:], strict=False))


def test_the_page_needs_no_script_and_nothing_from_elsewhere(seen: Seen, page: str) -> None:
    assert not seen.tags & {"script", "style", "iframe", "object", "embed", "form", "img"}
    assert not {name for name in seen.attributes if name.startswith("on") or name in {"style", "src"}}
    assert all(link.startswith(("#", "/")) for link in seen.links)
    assert '<html lang="en">' in page
    assert 'name="viewport"' in page


def test_every_link_of_the_page_leads_somewhere(seen: Seen, app: Flask) -> None:
    client = app.test_client()
    for link in set(seen.links):
        if link.startswith("#"):
            assert link[1:] in seen.ids, link
        else:
            assert client.get(link).status_code == 200, link


def test_the_page_may_load_its_style_sheet_and_nothing_else(app: Flask) -> None:
    response = app.test_client().get("/docs")
    policy = response.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "style-src 'self'" in policy
    assert "unsafe" not in policy
    assert response.headers["Content-Type"] == "text/html; charset=utf-8"
    style = app.test_client().get("/docs/style.css")
    assert style.headers["Content-Type"] == "text/css; charset=utf-8"
    assert style.headers["X-Content-Type-Options"] == "nosniff"
    assert "url(" not in style.get_data(as_text=True)
    assert "@import" not in style.get_data(as_text=True)


def test_page_style_and_document_can_be_kept(app: Flask) -> None:
    client = app.test_client()
    for path in ("/docs", "/docs/style.css", "/openapi.json"):
        first = client.get(path)
        again = client.get(path, headers={"If-None-Match": first.headers["ETag"]})
        assert (first.status_code, again.status_code, again.data) == (200, 304, b"")


def test_the_first_address_leads_to_the_page(app: Flask) -> None:
    response = app.test_client().get("/")
    assert (response.status_code, response.headers["Location"], response.data) == (302, "/docs", b"")


def test_the_document_that_is_handed_out_is_the_contract(app: Flask) -> None:
    response = app.test_client().get("/openapi.json")
    assert response.headers["Content-Type"] == "application/json"
    assert response.get_json() == KEPT


def test_the_commands_of_the_page_are_whole_for_a_shell() -> None:
    for example in examples().values():
        command = shlex.split(as_curl(example).replace("\\\n", ""))
        assert command[:2] == ["curl", "-s"]
        if example.sent is not None:
            assert json.loads(command[command.index("-d") + 1]) == example.sent
        for name, value in example.headers.items():
            assert f"{name}: {value}" in command


def test_text_between_backticks_is_code_and_everything_is_escaped() -> None:
    assert docs_page.with_code("a `b<c` & <script>") == "a <code>b&lt;c</code> &amp; &lt;script&gt;"
