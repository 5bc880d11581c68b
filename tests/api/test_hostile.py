"""Hostile bodies against the running service: each is refused for what it is, and the service goes on."""

from __future__ import annotations

import gzip
import json
from collections.abc import Iterator
from http import HTTPStatus
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from tests.api.bodies import EXAMPLE
from tests.api.demo_service import demo_service
from tests.api.serving import connected, serving
from turnrule.pack import Pack, load_pack

TEXT = json.loads(EXAMPLE)


class Service(NamedTuple):
    """A running service and a key for it."""

    port: int
    secret: str

    def send(
        self, body: bytes | str | Iterator[bytes], path: str = "/v1/verdicts", method: str = "POST", **headers: str
    ) -> tuple[int, dict[str, Any]]:
        """Status and document of an answer; every refusal is seen to be a problem."""
        sent = {"Authorization": f"Bearer {self.secret}", "Content-Type": "application/json"}
        sent |= {name.replace("_", "-"): value for name, value in headers.items()}
        raw = body.encode("utf-8", "surrogatepass") if isinstance(body, str) else body
        with connected(self.port) as connection:
            connection.request(method, path, raw, sent)
            response = connection.getresponse()
            content = response.read()
        document: dict[str, Any] = json.loads(content)
        if response.status >= HTTPStatus.BAD_REQUEST:
            assert response.headers["Content-Type"] == "application/problem+json"
            assert document["status"] == response.status < HTTPStatus.INTERNAL_SERVER_ERROR
            assert document["request_id"] == response.headers["X-Request-ID"]
            assert b"Traceback" not in content
        return response.status, document

    def refused(self, body: bytes | str, **headers: str) -> tuple[int, list[tuple[str, str]]]:
        """Status, and pointer and code of every fault, of a body that is refused."""
        status, document = self.send(body, **headers)
        assert status >= HTTPStatus.BAD_REQUEST, document
        return status, [(fault["pointer"], fault["code"]) for fault in document["errors"]]


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of the store."""
    return tmp_path_factory.mktemp("hostile")


@pytest.fixture(scope="module")
def running(place: Path) -> Iterator[Service]:
    """One process of the service over the demo's limits."""
    with demo_service(place, load_pack()) as service:
        secret = service.secret(("verdicts", "policies:write"))
    with serving(place / "demo.sqlite") as port:
        yield Service(port, secret)


@pytest.fixture
def service(running: Service) -> Iterator[Service]:
    """The service, which judges a part as before once a test is through with it."""
    yield running
    status, answer = running.send(EXAMPLE)
    assert (status, answer["verdict"]) == (HTTPStatus.CREATED, "machine")


def with_field(name: str, text: str) -> str:
    """The example with one field set to this piece of JSON."""
    rest = {key: value for key, value in TEXT.items() if key != name}
    return f'{{"{name}": {text}, {json.dumps(rest)[1:]}'


def test_a_body_nested_100_000_deep_is_refused(service: Service) -> None:
    assert service.refused("[" * 100_000) == (400, [("", "too_deep")])
    assert service.refused('{"a":' * 40_000) == (400, [("", "too_deep")])


@pytest.mark.parametrize("depth", [33, 900])
def test_a_body_nested_deeper_than_32_is_refused(service: Service, depth: int) -> None:
    assert service.refused("[" * depth + "]" * depth) == (400, [("", "too_deep")])


def test_a_body_nested_32_deep_is_read(service: Service) -> None:
    assert service.refused("[" * 32 + "]" * 32) == (422, [("", "wrong_type")])


def test_brackets_in_a_text_are_no_depth(service: Service) -> None:
    status, _ = service.send(with_field("reference", json.dumps("[{" * 40)))
    assert status == HTTPStatus.CREATED


@pytest.mark.parametrize("digits", [33, 4_300, 5_000, 200_000])
def test_a_number_of_too_many_digits_is_refused(service: Service, digits: int) -> None:
    assert service.refused(with_field("marking", "1" * digits)) == (400, [("/marking", "number_too_long")])


@pytest.mark.parametrize("text", ["NaN", "Infinity", "-Infinity", "1e400", "-1e400", "1E+1000000"])
def test_a_number_that_is_not_finite_is_refused(service: Service, text: str) -> None:
    assert service.refused(with_field("marking", text)) == (400, [("/marking", "non_finite_number")])


@pytest.mark.parametrize("text", ["1E-400", "1e13", "1e-13", "0e99", "1E+308"])
def test_an_exponent_beyond_12_is_refused(service: Service, text: str) -> None:
    status, faults = service.refused(with_field("marking", text))
    assert (status, faults) == (400, [("/marking", "number_out_of_range")])


@pytest.mark.parametrize("text", ["-0", "-0.0", "-0e5"])
def test_a_zero_with_a_sign_is_refused_where_nothing_is_below_zero(service: Service, text: str) -> None:
    assert service.refused(with_field("lateral_runout", text)) == (422, [("/lateral_runout", "out_of_range")])


@pytest.mark.parametrize("text", ["1e-12", "0.00000009"])
def test_a_number_nearer_to_zero_than_is_read_is_refused(service: Service, text: str) -> None:
    assert service.refused(with_field("lateral_runout", text)) == (422, [("/lateral_runout", "out_of_range")])


@pytest.mark.parametrize(
    "text", ["01", "+1", ".5", "5.", "0x10", "1_000", "1 000", "\u0661\u0662", "\uff11\uff12", "--1", "1e", "'1'"]
)
def test_what_is_no_number_of_json_is_no_json(service: Service, text: str) -> None:
    assert service.refused(with_field("marking", text)) == (400, [("", "invalid_json")])


@pytest.mark.parametrize(
    "text",
    [
        "1_000",
        "\u0661\u0662",
        "\uff11\uff12",
        " 12 ",
        "1e3",
        "25.02",
        "25.02 mm",
        "0x19",
        "\u00bd",
        "",
        "NaN",
        "\u0662\u0665\u066b\u0660\u0662",
    ],
)
def test_a_number_as_text_is_refused(service: Service, text: str) -> None:
    status, document = service.send(with_field("marking", json.dumps(text)))
    [fault] = document["errors"]
    assert (status, fault["pointer"], fault["code"]) == (422, "/marking", "invalid_number")
    assert "without quotes" in fault["detail"]


@pytest.mark.parametrize("text", ["12,5", " 25,02", "-1,0"])
def test_a_decimal_comma_is_refused_and_the_remedy_told(service: Service, text: str) -> None:
    status, document = service.send(with_field("marking", json.dumps(text)))
    [fault] = document["errors"]
    assert (status, fault["code"]) == (422, "invalid_number")
    assert f"write a decimal point, not a comma, and no quotes: {text.strip().replace(',', '.')}" in fault["detail"]


@pytest.mark.parametrize("text", ["1.9", "2022.0000001", "0.5"])
def test_a_fraction_is_no_whole_number(service: Service, text: str) -> None:
    body = with_field("release", text)
    assert service.refused(body) == (422, [("/release", "invalid_number")])


@pytest.mark.parametrize("value", ["true", "false", "[]", "{}", "[25]"])
def test_a_truth_value_a_list_or_an_object_is_no_number(service: Service, value: str) -> None:
    assert service.refused(with_field("marking", value)) == (422, [("/marking", "invalid_number")])


def test_null_is_never_read(service: Service) -> None:
    assert service.refused(with_field("marking", "null")) == (422, [("/marking", "wrong_type")])


@pytest.mark.parametrize("text", ["on", "t", "true", "yes", "1", ""])
def test_a_truth_value_as_text_is_refused(service: Service, text: str) -> None:
    body = json.dumps({"unit": "mm", "accept_caller_limits": text})
    status, document = service.send(body, "/v1/policies/hostile", "PUT", If_None_Match="*")
    assert (status, document["errors"][0]["code"]) == (422, "wrong_type")
    status, document = service.send(body.replace(f'"{text}"', "1"), "/v1/policies/hostile", "PUT", If_None_Match="*")
    assert (status, document["errors"][0]["code"]) == (422, "wrong_type")


def test_a_doubled_name_is_refused_wherever_it_stands(service: Service) -> None:
    assert service.refused('{"unit": "mm", "unit": "in"}') == (400, [("/unit", "duplicate_key")])
    inner = with_field("cut", '{"inboard": 0.1, "outboard": 0.1, "inboard": 0.9}')
    assert service.refused(inner) == (400, [("/cut/inboard", "duplicate_key")])
    escaped = '{"unit": "mm", "\\u0075nit": "in"}'
    assert service.refused(escaped) == (400, [("/unit", "duplicate_key")])


@pytest.mark.parametrize(
    "encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32", "utf-32-le", "utf-32-be", "utf-8-sig"]
)
def test_only_plain_utf_8_is_read(service: Service, encoding: str) -> None:
    assert service.refused(EXAMPLE.encode(encoding)) == (400, [("", "not_utf8")])


@pytest.mark.parametrize("raw", [b"\xff", b"\xc0\xaf", b"\xed\xa0\x80", b"\xf5\x80\x80\x80", b"caf\xe9", b"\x80"])
def test_bytes_that_are_no_utf_8_are_refused(service: Service, raw: bytes) -> None:
    body = EXAMPLE.encode().replace(b"unit 114", raw)
    assert service.refused(body) == (400, [("", "not_utf8")])


def test_a_raw_nul_is_refused(service: Service) -> None:
    assert service.refused(EXAMPLE.replace("unit 114", "unit\x00 114")) == (400, [("", "not_utf8")])


@pytest.mark.parametrize(
    "escape",
    ["\\u0000", "\\ud800", "\\udc00\\ud800", "\\u202e", "\\u2066", "\\u2069", "\\u200f", "\\u061c", "\\ufeff"],
)
def test_text_that_hides_or_reorders_is_refused(service: Service, escape: str) -> None:
    body = with_field("reference", f'"job {escape} 5521"')
    assert service.refused(body) == (400, [("/reference", "forbidden_character")])
    assert service.refused(f'{{"unit": "mm", "a{escape}": 1}}')[0] == HTTPStatus.BAD_REQUEST


@pytest.mark.parametrize("character", ["\u202e", "\u2067", "\u200e", "\ufeff"])
def test_reordering_characters_that_come_raw_are_refused_too(service: Service, character: str) -> None:
    body = with_field("reference", json.dumps(f"a{character}b", ensure_ascii=False))
    assert service.refused(body) == (400, [("/reference", "forbidden_character")])


@pytest.mark.parametrize("text", ["\n", "a\nb", "\ta", " a", "a\u0007", "a\u2028b", "a\u0085b", "\u00a0a"])
def test_text_that_is_not_one_visible_line_is_refused(service: Service, text: str) -> None:
    assert service.refused(with_field("reference", json.dumps(text))) == (422, [("/reference", "invalid_text")])


@pytest.mark.parametrize("text", ["", "x" * 81, "é" * 81])
def test_text_that_is_empty_or_too_long_is_refused(service: Service, text: str) -> None:
    status, [(pointer, code)] = service.refused(with_field("reference", json.dumps(text)))
    assert (status, pointer) == (422, "/reference")
    assert code in {"too_short", "too_long"}


def test_a_pair_of_surrogates_is_one_character_and_is_read(service: Service) -> None:
    status, _ = service.send(with_field("reference", '"\\ud83d\\udd27 5521"'))
    assert status == HTTPStatus.CREATED


def test_html_in_a_text_stays_text(service: Service) -> None:
    text = "<script>alert(1)</script>\"'&"
    body = with_field("vehicle", json.dumps({"label": text}))
    status, answer = service.send(body)
    assert status == HTTPStatus.CREATED
    with connected(service.port) as connection:
        connection.request("GET", f"/v1/verdicts/{answer['id']}", headers={"Authorization": f"Bearer {service.secret}"})
        response = connection.getresponse()
        record = json.loads(response.read())
    assert record["request"]["vehicle"]["label"] == text
    assert response.headers["Content-Type"] == "application/json"
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert "default-src 'none'" in response.headers["Content-Security-Policy"]


def test_a_body_of_exactly_256_kib_is_read_and_one_byte_more_is_not(service: Service) -> None:
    largest = EXAMPLE + " " * (256 * 1024 - len(EXAMPLE))
    assert service.send(largest)[0] == HTTPStatus.CREATED
    assert service.refused(largest + " ") == (413, [])


def in_chunks(body: str) -> Iterator[bytes]:
    """A body in pieces, without a length stated before."""
    raw = body.encode()
    for begin in range(0, len(raw), 50_000):
        yield raw[begin : begin + 50_000]


def test_a_body_in_chunks_is_cut_nowhere(service: Service) -> None:
    assert service.send(in_chunks(EXAMPLE))[0] == HTTPStatus.CREATED
    too_long = EXAMPLE + " " * 300_000
    assert service.send(in_chunks(too_long))[0] == HTTPStatus.REQUEST_ENTITY_TOO_LARGE


def test_a_compressed_body_is_refused_unread(service: Service) -> None:
    packed = gzip.compress(EXAMPLE.encode())
    assert service.refused(packed, Content_Encoding="gzip") == (415, [])
    assert service.refused(gzip.compress(b"0" * 100_000_000), Content_Encoding="gzip") == (415, [])
    assert service.refused(packed, Content_Encoding="GZIP, identity") == (415, [])
    assert service.refused(packed) == (400, [("", "not_utf8")])


@pytest.mark.parametrize(
    "kind",
    [
        "text/plain",
        "text/json",
        "application/xml",
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=x",
        "application/json; charset=utf-16",
        "application/json, text/plain",
        "application/jsonx",
        "",
    ],
)
def test_a_body_of_another_type_is_refused(service: Service, kind: str) -> None:
    assert service.refused(EXAMPLE, Content_Type=kind) == (415, [])


@pytest.mark.parametrize("kind", ["application/json", "Application/JSON", 'application/json; charset="UTF-8"'])
def test_json_in_utf_8_is_read_however_its_type_is_written(service: Service, kind: str) -> None:
    assert service.send(EXAMPLE, Content_Type=kind)[0] == HTTPStatus.CREATED


def test_a_form_of_a_thousand_parts_is_refused_unread(service: Service) -> None:
    part = b'--x\r\nContent-Disposition: form-data; name="a"\r\n\r\n1\r\n'
    body = part * 1000 + b"--x--\r\n"
    assert service.refused(body, Content_Type="multipart/form-data; boundary=x") == (415, [])


def test_a_thousand_faults_are_told_in_a_hundred(service: Service) -> None:
    body = json.dumps({f"x{index}": index for index in range(1000)})
    status, faults = service.refused(body)
    assert (status, len(faults)) == (422, 100)


def test_lists_longer_than_are_read_are_refused_by_their_length_alone(service: Service) -> None:
    long = with_field("thickness", json.dumps([25.02] * 1001))
    assert service.refused(long) == (422, [("/thickness", "too_many")])
    assert service.send(with_field("thickness", json.dumps([25.02] * 1000)))[0] == HTTPStatus.CREATED


@pytest.mark.parametrize("body", ["", " ", "null", "true", "1", '"text"', "[]", "[[]]"])
def test_what_is_no_object_is_refused(service: Service, body: str) -> None:
    status, [(pointer, code)] = service.refused(body)
    assert (status, pointer, code) in {(400, "", "invalid_json"), (422, "", "wrong_type")}


@pytest.mark.parametrize(
    "body", ["{", "{]", '{"unit"}', "{'unit': 'mm'}", '{"unit": "mm",}', "{} {}", "//\n{}", "\v{}"]
)
def test_what_is_nearly_json_is_refused(service: Service, body: str) -> None:
    assert service.refused(body) == (400, [("", "invalid_json")])


@pytest.mark.parametrize("name", ["__proto__", "constructor", "$ref", "", "a/b~c", "\u200b", "x" * 10_000])
def test_a_strange_field_is_refused_by_its_pointer(service: Service, name: str) -> None:
    status, [(pointer, code)] = service.refused(json.dumps({**TEXT, name: 1}))
    assert (status, code) == (422, "unknown_field")
    assert pointer == "/" + name.replace("~", "~0").replace("/", "~1")


def test_the_pack_that_was_served_is_the_one_that_was_checked(running: Service, pack: Pack) -> None:
    assert running.send("", "/readyz", "GET")[1]["pack"] == pack.version
