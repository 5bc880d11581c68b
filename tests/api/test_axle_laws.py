"""Laws of axle verdicts, held over HTTP: sides that change places, and pair rules that grow stricter."""

from __future__ import annotations

import itertools
import json
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from tests.api.callers import Caller
from tests.api.conftest import Joining
from turnrule.actions.numbers import write_exact
from turnrule.judging.words import PairRule, Ruling

D = Decimal
Documents = st.SearchStrategy[dict[str, Any]]
APPLICATION = {"make": "Corvane", "model": "Ostrel", "year": D(2022), "axle": "front", "brake_option": "B16"}
DIFFERENCES = (None, D("0.1"), D(0))
OTHER = {"left": "right", "right": "left"}


def steps(least: int, most: int, places: int = 3) -> st.SearchStrategy[Decimal]:
    """Lengths on a grid."""
    return st.integers(least, most).map(lambda value: D(value).scaleb(-places))


@st.composite
def side(draw: st.DrawFn, *, rotor: bool) -> dict[str, Any]:
    """One part of any state: good, uneven, worn, open, not read."""
    sense = 1 if rotor else -1
    size = D(24) + draw(steps(-300, 1900)) if rotor else D("230.6") - draw(steps(-300, 1900))
    spread = draw(st.sampled_from([D(0), D(0), D("0.03"), D("0.3")]))
    name = "thickness" if rotor else "diameter"
    document: dict[str, Any] = {name: [size, size, size, size + sense * spread]}
    if draw(st.integers(0, 19)) == 0:
        document = {}
    if draw(st.booleans()):
        document["setup_runout"] = draw(st.sampled_from([D(0), D("0.04")]))
    if draw(st.booleans()):
        depth = draw(st.sampled_from([D("0.02"), D("0.15"), D("0.4")]))
        document["groove_depth"] = {"inboard": depth} if rotor else depth
    if draw(st.integers(0, 3)) == 0:
        cut = draw(steps(0, 200))
        document["cut"] = {"inboard": cut, "outboard": cut} if rotor else {"depth": cut}
    if draw(st.integers(0, 3)) == 0:
        document["new_part"] = {name: D(26) if rotor else D("228.6")}
    if draw(st.integers(0, 3)) == 0:
        document["instrument"] = {"resolution": D("0.001"), "label": "a gauge of its own"}
    if draw(st.integers(0, 3)) == 0:
        document["findings"] = ["heat_checking"]
    return document


@st.composite
def axles(draw: st.DrawFn) -> dict[str, Any]:
    """Any two parts of one kind, one of them perhaps not measured."""
    rotor = draw(st.booleans())
    measured = draw(st.sampled_from([("left", "right")] * 8 + [("left",), ("right",)]))
    limits = {
        "discard_diameter": D("230.6"),
        "maximum_machining_diameter": D("230.1"),
        "maximum_out_of_round": D("0.1"),
    }
    about = {"application": APPLICATION} if rotor else {"limits": limits}
    document = {"unit": "mm", "kind": "rotor" if rotor else "drum", **about}
    return document | {name: draw(side(rotor=rotor)) for name in measured}


@pytest.fixture
def shop(join: Joining) -> Caller:
    """A caller who may ask for verdicts, under policies for every pair rule and some differences."""
    office = join("policies:write")
    for rule, difference in itertools.product(PairRule, DIFFERENCES):
        body = {"unit": "mm", "pair_rule": rule.value}
        bound: dict[str, Any] = {} if difference is None else {"axle_difference": difference}
        name = named(rule, difference)
        assert office.put(f"/v1/policies/{name}", write_exact(body | bound), If_None_Match="*").status_code == 201
    return join("verdicts")


def named(rule: PairRule, difference: Decimal | None) -> str:
    """The policy of this rule and difference."""
    return f"{rule}_{'any' if difference is None else str(difference).replace('.', '_')}"


def answer(shop: Caller, body: dict[str, Any]) -> dict[str, Any]:
    """The judgement of an axle."""
    response = shop.post("/v1/axle-verdicts", write_exact(body))
    assert response.status_code == 201, response.get_data(as_text=True)
    told: dict[str, Any] = response.get_json()
    return told


def swapped(document: dict[str, Any]) -> dict[str, Any]:
    """The same with its sides in each other's places."""
    return {OTHER.get(name, name): value for name, value in document.items()}


def without_names(value: Any) -> Any:  # noqa: ANN401 - a document of any shape
    """The same without ids, digests and words for the sides."""
    if isinstance(value, dict):
        left_out = {"id", "verdict_id", "verdict_digest", "digest"}
        return {name: without_names(one) for name, one in value.items() if name not in left_out}
    if isinstance(value, list):
        return [without_names(one) for one in value]
    if isinstance(value, str):
        return value.replace("left", "one").replace("right", "one")
    return value


LAWS = settings(
    max_examples=120,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)


@LAWS
@given(axles(), st.sampled_from(list(PairRule)), st.sampled_from(DIFFERENCES))
def test_swapping_left_and_right_swaps_only_the_sides(
    shop: Caller, body: dict[str, Any], rule: PairRule, difference: Decimal | None
) -> None:
    body["policy"] = named(rule, difference)
    plain, turned = answer(shop, body), answer(shop, swapped(body))
    event(plain["verdict"])
    for name in ("verdict", "checks", "pair_rule", "unit", "kind", "policy", "release", "pack", "engine"):
        assert plain[name] == turned[name], name
    assert without_names(plain["sides"]) == without_names(swapped(turned["sides"]))
    assert plain["missing"] == [OTHER[name] for name in turned["missing"]]
    assert sorted(map(json.dumps, without_names(plain["sentences"]))) == sorted(
        map(json.dumps, without_names(turned["sentences"]))
    )
    cautions = [{**one, "sides": [OTHER[name] for name in one["sides"]]} for one in turned["cautions"]]
    assert [{**one, "sides": sorted(one["sides"])} for one in plain["cautions"]] == [
        {**one, "sides": sorted(one["sides"])} for one in cautions
    ]


@LAWS
@given(axles(), st.sampled_from(DIFFERENCES))
def test_a_stricter_pair_rule_never_gives_a_better_verdict(
    shop: Caller, body: dict[str, Any], difference: Decimal | None
) -> None:
    answers = [answer(shop, body | {"policy": named(rule, difference)}) for rule in PairRule]
    for milder, stricter in itertools.pairwise(answers):
        assert Ruling(milder["verdict"]).rank <= Ruling(stricter["verdict"]).rank
        for name, one in milder["sides"].items():
            if one is not None:
                other = stricter["sides"][name]
                assert Ruling(one["verdict"]).rank <= Ruling(other["verdict"]).rank
                assert one["own_verdict"] == other["own_verdict"]
    event(" ".join(one["verdict"] for one in answers))


@LAWS
@given(axles())
def test_the_axle_is_its_worst_side_and_no_side_is_better_than_by_itself(shop: Caller, body: dict[str, Any]) -> None:
    told = answer(shop, body | {"policy": named(PairRule.REPLACE_BOTH, D("0.1"))})
    ranks = [Ruling.INCONCLUSIVE.rank for _ in told["missing"]]
    for one in told["sides"].values():
        if one is not None:
            ranks.append(Ruling(one["verdict"]).rank)
            assert Ruling(one["own_verdict"]).rank <= ranks[-1]
            assert one["own_verdict"] == one["judgement"]["verdict"]
    assert Ruling(told["verdict"]).rank == max(ranks)
