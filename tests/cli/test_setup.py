"""`turnrule setup-check`: the answer, the table, the exit code."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from tests.cli.running import turnrule
from turnrule.cli.exits import Exit
from turnrule.cli.setup import exit_for_setups

REQUEST: dict[str, Any] = {
    "unit": "mm",
    "kind": "rotor",
    "application": {"make": "Corvane", "model": "Ostrel", "year": 2022, "axle": "front", "brake_option": "B16"},
    "thickness": [25.02, 25.01, 25.03, 25.04],
    "instrument": {"resolution": 0.001, "expanded_uncertainty": 0},
    "angle_uncertainty": 0,
}


def mount(runout: float) -> list[dict[str, object]]:
    """Two traces of a rotor of 0.04 mm on a mount that runs out so much."""
    half = runout / 2
    return [{"trace": [half, 0.02, -half, -0.02]}, {"turned": 180, "trace": [-half, 0.02, half, -0.02]}]


def written(folder: Path, name: str, **changes: object) -> str:
    """A file with a request."""
    (folder / name).write_text(json.dumps(REQUEST | changes), encoding="utf-8")
    return name


@pytest.mark.parametrize(
    ("changes", "code", "ready"),
    [
        ({"readings": mount(0.008)}, 0, True),
        ({"readings": mount(0.06)}, 4, False),
        ({"readings": mount(0.008), "cut": {"inboard": 0.2, "outboard": 0.2}}, 4, False),
        ({"readings": mount(0.008)[:1]}, 5, None),
        ({"hub": {"studs": 5, "readings": [{"turned": 0, "runout": 0.1, "high_spot": 0}]}}, 5, None),
        ({"faces": {"outboard": [0, 0.01, 0.02], "thickness": [25, 25, 25]}}, 0, True),
    ],
)
def test_what_is_told_decides_the_exit_code(
    tmp_path: Path,
    changes: dict[str, object],
    code: int,
    ready: bool | None,  # noqa: FBT001 - an expectation
) -> None:
    ran = turnrule("setup-check", written(tmp_path, "setup.json", **changes), folder=tmp_path)
    assert (ran.code, json.loads(ran.out)["ready"]) == (code, ready)
    assert list(tmp_path.iterdir()) == [tmp_path / "setup.json"]


def test_the_worst_of_several_decides() -> None:
    assert exit_for_setups([True, None, False]) is Exit.REPLACE
    assert exit_for_setups([True, None]) is Exit.INCONCLUSIVE
    assert exit_for_setups([True]) is Exit.DONE
    assert exit_for_setups([]) is Exit.DONE


def test_a_refused_request_names_every_field_and_the_others_are_still_checked(tmp_path: Path) -> None:
    bad = written(tmp_path, "bad.json", unti="mm", readings=[{"turned": 9999}])
    large = tmp_path / "large.json"
    large.write_text(" " * 300_000, encoding="utf-8")
    good = written(tmp_path, "good.json", readings=mount(0.008))
    ran = turnrule("setup-check", bad, "large.json", good, folder=tmp_path)
    assert ran.code == 3
    assert "/unti" in ran.err
    assert "/readings/0/turned" in ran.err
    assert "large.json: refused: the body has 300000 bytes" in ran.err
    assert json.loads(ran.out)["readings"]["mounted"] == "right"


def test_a_request_is_read_from_standard_input_on_a_day(tmp_path: Path) -> None:
    gauge = {"resolution": 0.001, "calibration_due": "2030-01-01"}
    document = json.dumps(REQUEST | {"readings": mount(0.008), "instrument": gauge})
    before = turnrule("setup-check", "--on", "2029-12-31", "-", folder=tmp_path, text=document)
    after = turnrule("setup-check", "--on", "2030-01-02", "-", folder=tmp_path, text=document)
    assert "calibration_overdue" not in before.out
    assert "calibration_overdue" in after.out


def test_a_table_shows_what_was_told_and_stays_within_its_width(tmp_path: Path) -> None:
    """A long, ugly request: many angles, digits to the last, every block that a rotor has."""
    whole = written(
        tmp_path,
        "whole.json",
        readings=[
            *mount(0.06),
            {"turned": 90.123456789, "scratch": {"depth": 0.0123456789, "covered": 0.333333333333}},
        ],
        faces={"outboard": [0.0123456789] * 100, "inboard": [0] * 100, "thickness": [25.0123456789] * 100},
        hub={
            "studs": 60,
            "readings": [{"turned": 0, "runout": 0.1, "high_spot": 0}, {"turned": 180, "runout": 0.01, "high_spot": 0}],
        },
    )
    ran = turnrule("setup-check", "--table", whole, folder=tmp_path)
    assert ran.code == 4
    assert "whole.json: NOT READY (lengths in mm)" in ran.out
    for block in ("readings", "affordance", "hub", "faces"):
        assert f"\n\n{block}\n" in ran.out
    assert re.search(r"mount +0\.06 +0 +0\.0\d+", ran.out)
    assert re.search(r"90\.1234568 +0\.0493827 +- +0\.333333 +0\.0370371 +1", ran.out)
    assert "look at 1: the seats" in ran.out
    assert "... and 64 more" in ran.out
    assert "service data" in ran.out
    assert max(len(line) for line in ran.out.splitlines()) <= 88


def test_a_table_of_a_drum_and_of_what_cannot_be_told(tmp_path: Path) -> None:
    tracks = [{"distance": 10, "diameters": [200.3]}, {"distance": 40, "diameters": [200.1], "trace": [0, 1, 0.5]}]
    readings = [{"scratch": {"depth": 0.1, "covered": 0.5}}, {"turned": 180, "scratch": {"depth": 0.1, "covered": 0.4}}]
    drum = {"unit": "mm", "kind": "drum", "tracks": tracks, "readings": readings}
    hub = {"unit": "mm", "kind": "rotor", "hub": {"studs": 5, "readings": [{"turned": 0, "trace": [0, 1, 0]}]}}
    faces = {"unit": "mm", "kind": "rotor", "faces": {"inboard": [0, 1, 0]}}
    for name, body in (("drum", drum), ("hub", hub), ("faces", faces)):
        (tmp_path / f"{name}.json").write_text(json.dumps(body), encoding="utf-8")
    ran = turnrule("setup-check", "--table", "drum.json", "hub.json", "faces.json", folder=tmp_path)
    assert ran.code == 5
    assert ran.out.count("CANNOT TELL YET") == 3
    assert "bell-mouth 0.2, taper 0.2, barrel -" in ran.out
    assert re.search(r"each between 0(\.\d+)? and \d", ran.out)
    assert "missing: Loosen the part, turn it" in ran.out
    assert re.search(r"120 +0 +-", ran.out)


def test_help_tells_the_exit_codes(tmp_path: Path) -> None:
    ran = turnrule("setup-check", "-h", folder=tmp_path)
    assert ran.code == 0
    assert "Exit code 3 where a request was refused, else 4 where a part must be mounted again" in " ".join(
        ran.out.split()
    )
