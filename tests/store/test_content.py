"""The digest of a revision is that of what it says, and of nothing else."""

from __future__ import annotations

import dataclasses
import datetime
import hashlib
from decimal import Decimal

import pytest

from tests.store.samples import DRUM, FITS, NOON, ROTOR, SOURCE, revision
from turnrule.judging.limits import LimitSet
from turnrule.judging.words import Axle, Construction, Kind, Machining, Unit
from turnrule.store.content import EMPTY, ReleaseDigest, content_digest
from turnrule.store.limit_records import AnsweredWarning, FitsTo, LimitRevision, Source, Twin

DAY = datetime.date(2027, 1, 1)

WRITTEN_OUT = (
    '{"also":null,"axle":"front","brake_option":"B16","construction":"vented","discard":"24","document":"Ostrel '
    'workshop manual","edition":"2023-04","effective_from":"2021-01-01","effective_to":null,"expansion_per_k":'
    '"0.0000105","issued":"2023-04-01","kind":"rotor","lateral_runout":"0.05","limits_id":"L1","machining":"24.6",'
    '"make":"Corvane","model":"Ostrel","nominal":"26","note":null,"out_of_round":null,"permission":"permitted",'
    '"printed":{"discard_thickness":"24.00","nominal_thickness":"26.0"},"printed_unit":"mm","publisher":"Corvane",'
    '"review_due":null,"section":"6.2, table 3","taper":"0.0000001","thickness_variation":"0.013","year_from":2021,'
    '"year_to":2024}'
)
"""The revision of the samples as canonical JSON: names in order, no spaces, lengths in mm without trailing zeros."""

FULL = revision(
    limits=dataclasses.replace(DRUM, maximum_taper=Decimal("0.05")),
    effective_to=DAY,
    review_due=DAY,
    note='quoted "\u00b5m" \\ \u2028 \U0001f6de',
    also=Twin(Unit.IN, {"discard_diameter": "9.0787"}),
)
FULL_WRITTEN_OUT = (
    '{"also":{"printed":{"discard_diameter":"9.0787"},"unit":"in"},"axle":"front","brake_option":"B16",'
    '"construction":"cast","discard":"230.6","document":"Ostrel workshop manual","edition":"2023-04",'
    '"effective_from":"2021-01-01","effective_to":"2027-01-01","expansion_per_k":null,"issued":"2023-04-01",'
    '"kind":"drum","lateral_runout":null,"limits_id":"L1","machining":"230.1","make":"Corvane","model":"Ostrel",'
    '"nominal":"228.6","note":"quoted \\"\u00b5m\\" \\\\ \u2028 \U0001f6de","out_of_round":"0.127",'
    '"permission":"not_stated","printed":{"discard_thickness":"24.00","nominal_thickness":"26.0"},'
    '"printed_unit":"mm","publisher":"Corvane","review_due":"2027-01-01","section":"6.2, table 3","taper":"0.05",'
    '"thickness_variation":null,"year_from":2021,"year_to":2024}'
)


def _sha256(text: str) -> str:
    return f"sha256:{hashlib.sha256(text.encode()).hexdigest()}"


@pytest.mark.parametrize(("row", "written"), [(revision(), WRITTEN_OUT), (FULL, FULL_WRITTEN_OUT)])
def test_a_revision_has_the_digest_of_what_it_says_in_canonical_json(row: LimitRevision, written: str) -> None:
    assert content_digest(row) == _sha256(written)


COUNTS: dict[str, list[LimitRevision]] = {
    "limits_id": [revision("L2"), revision("l1")],
    "printed_unit": [revision(printed_unit=Unit.IN)],
    "printed": [revision(printed={"discard_thickness": "24.0", "nominal_thickness": "26.0"}), revision(printed={})],
    "also": [revision(also=Twin(Unit.IN, {})), revision(also=Twin(Unit.IN, {"nominal_thickness": "1.02"}))],
    "effective_from": [revision(effective_from=DAY)],
    "effective_to": [revision(effective_to=DAY)],
    "review_due": [revision(review_due=DAY)],
    "note": [revision(note=""), revision(note="x")],
    **{
        f"fits.{name}": [revision(fits=dataclasses.replace(FITS, **{name: value}))]  # type: ignore[arg-type]  # by name
        for name, value in (
            *(("make", "corvane"), ("model", "Ostrel "), ("year_from", 2020), ("year_to", None), ("axle", Axle.REAR)),
            *(("brake_option", None),),
        )
    },
    **{
        f"source.{name}": [revision(source=dataclasses.replace(SOURCE, **{name: value}))]  # type: ignore[arg-type]
        for name, value in (
            *(("document", "x"), ("publisher", "x"), ("section", "x"), ("edition", "x"), ("issued", None)),
        )
    },
    **{
        f"limits.{name}": [revision(limits=dataclasses.replace(ROTOR, **{name: value}))]  # type: ignore[arg-type]
        for name, value in (
            *(("kind", Kind.DRUM), ("nominal", Decimal("26.0000001")), ("machining", None), ("discard", None)),
            *(("maximum_lateral_runout", Decimal(0)), ("maximum_thickness_variation", None)),
            *(("maximum_out_of_round", Decimal(0)), ("maximum_taper", None), ("permission", Machining.PROHIBITED)),
            *(("construction", Construction.SOLID), ("expansion_per_k", None)),
        )
    },
}
SAME: dict[str, LimitRevision] = {
    "revision": revision(number=7),
    "entered_by": revision(entered_by="another"),
    "verified_by": revision(verified_by=""),
    "reason": revision(reason="a digit"),
    "warnings": revision(warnings=(AnsweredWarning("a", "b", "c", "d"),)),
    "entered_at": revision(entered_at=NOON),
    "verified_at": revision(verified_at=None),
}


def test_every_field_of_a_revision_is_tried_here() -> None:
    parts = {"fits": FitsTo, "source": Source, "limits": LimitSet}
    fields = {field.name for field in dataclasses.fields(LimitRevision)} - parts.keys()
    inner = {f"{name}.{field.name}" for name, part in parts.items() for field in dataclasses.fields(part)}
    assert COUNTS.keys() | SAME.keys() == fields | inner
    assert not COUNTS.keys() & SAME.keys()


def test_whatever_a_revision_says_counts() -> None:
    digests = [content_digest(row) for rows in COUNTS.values() for row in rows]
    assert len({*digests, content_digest(revision())}) == len(digests) + 1


@pytest.mark.parametrize("row", SAME.values(), ids=SAME.keys())
def test_who_entered_it_when_and_why_does_not_count(row: LimitRevision) -> None:
    assert content_digest(row) == content_digest(revision())


def test_how_a_number_is_written_does_not_count_and_neither_does_the_order_of_names() -> None:
    limits = dataclasses.replace(ROTOR, nominal=Decimal("2.60E+1"), discard=Decimal("24.0000"))
    printed = dict(reversed(revision().printed.items()))
    assert content_digest(revision(limits=limits, printed=printed)) == content_digest(revision())


def test_a_release_has_the_digest_of_one_line_for_each_record() -> None:
    total = ReleaseDigest()
    assert (total.records, total.digest) == (0, EMPTY)
    assert _sha256("") == EMPTY
    total.add("L1", "sha256:0f")
    total.add("L2", content_digest(revision("L2")))
    second = content_digest(revision("L2")).removeprefix("sha256:")
    assert (total.records, total.digest) == (2, _sha256(f"L1 0f\nL2 {second}\n"))


def test_where_one_record_ends_and_the_next_begins_counts() -> None:
    one, other = ReleaseDigest(), ReleaseDigest()
    one.add("a", "sha256:0f")
    one.add("b", "sha256:0f")
    other.add("a", "sha256:0f0f")
    assert one.digest != other.digest
