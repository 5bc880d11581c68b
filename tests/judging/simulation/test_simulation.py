"""Random rotors cut by brute force on a grid agree with the engine within what the grid can tell."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from tests.judging.simulation import synthetic
from tests.judging.simulation.comparing import all_of
from tests.judging.simulation.soak import main
from tests.judging.simulation.warped import COVERED, SHARES, row, table

ROTORS = 2_000
BLOCKS = 8


@pytest.mark.parametrize("block", range(BLOCKS))
def test_the_engine_agrees_with_brute_force(block: int) -> None:
    """Planes, metal, sampling, scratches, passes, mount, hub and matching: 2,000 rotors in all."""
    seeds = range(block * ROTORS // BLOCKS, (block + 1) * ROTORS // BLOCKS)
    assert list(itertools.chain.from_iterable(all_of(seed) for seed in seeds)) == []


def test_a_tool_fed_in_on_the_grid_stops_at_the_first_step_that_leaves_nothing_uncut() -> None:
    face = np.array([0, 25, 4, 17])
    tool, metal = synthetic.cut_clean(face, groove=3, feed=1)
    assert (tool, metal.tolist()) == (-3, [3, 28, 7, 20])
    assert synthetic.cut_clean(face, groove=0, feed=10)[0] == -5


def test_a_scratch_on_the_grid_covers_what_stands_out_beyond_the_tool() -> None:
    marks = synthetic.scratched(np.array([0, 25, 4, 17]), 8)
    assert marks.tolist() == [False, True, False, False]
    assert synthetic.passes_until_clean(np.array([0, 25, 4, 17]), 8, 10) == 2


def test_stretches_on_the_grid_run_through_the_mark() -> None:
    marks = np.zeros(synthetic.ANGLES, dtype=bool)
    marks[:10] = marks[-5:] = marks[1200:1300] = True
    ends = [round(end, 2) for arc in sorted(synthetic.arcs(marks)) for end in arc]
    assert ends == [180.0, 194.85, 359.25, 1.35]


@pytest.mark.parametrize("covered", COVERED)
def test_the_scratch_formulae_hold_for_a_once_per_turn_wobble_and_worsen_with_warp(covered: int) -> None:
    """Errors in percent of the true TIR, worst of 60 faces; the docstring of the scratch names those of a twentieth."""
    rows = [row(share, covered, faces=60) for share in SHARES]
    assert rows[0].runout_worst < 0.2
    assert rows[0].several_arcs == 0
    for milder, worse in itertools.pairwise(rows):
        assert worse.runout_worst > milder.runout_worst
    assert rows[1].runout_worst <= {25: 34.5, 50: 10.1, 75: 6}[covered]


def test_the_table_of_warped_faces_is_printed_whole() -> None:
    assert len(list(table(faces=2))) == 2 + len(SHARES) * len(COVERED)


def test_the_soak_counts_rotors_and_disagreements(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--rotors", "4", "--processes", "1", "--faces", "2"]) == 0
    printed = capsys.readouterr().out
    assert "4 rotors" in printed
    assert " 0 disagreements" in printed
    assert "several arcs" in printed
