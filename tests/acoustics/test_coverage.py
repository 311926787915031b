"""Uncertainties against the same bores on meshes three levels finer."""

from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

from borestudy.acoustics.solve import acoustic_result
from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import solve_two_port
from borestudy.fem.uncertainty import grid_uncertainty
from borestudy.results.case import CaseResults
from borestudy.results.changes import resonance_change
from borestudy.study import load_study

CONFIGS = Path(__file__).parents[2] / "configs"
LADDER, REFERENCE = (-1, 0, 1), 4
#: Where the finer mesh still differs from its own limit, and the reduced bases of both.
LEFT = 1e-7
#: A sharp edge, a rounded one, another backbore, another cup.
BORES = {
    "square": ("entry-rounding", 0),
    "rounded": ("entry-rounding", -1),
    "open": ("overall-length", 0),
    "bowl": ("cup-shape", -1),
}
QUANTITIES = ("frequency", "Q", "impedance_peak")
KINDS = ("closed", "anechoic pipe")


class Solved(NamedTuple):
    """Results with one end on the ladder of a study and on the finer mesh."""

    ladder: CaseResults
    finer: CaseResults


@pytest.fixture(scope="module")
def solved(meshed):
    found = {}
    for name, (study, place) in BORES.items():
        case = load_study(CONFIGS / f"{study}.yaml").cases()[place]
        # one air, so that bores of different studies can be compared
        bore, air = case.build_bore(), load_study(CONFIGS / "entry-rounding.yaml").cases()[0]
        ladder = [meshed(bore, level) for level in LADDER]
        ports = [
            solve_two_port(meshes, air.build_air(), 50, 5000)
            for meshes in (ladder, [meshed(bore, REFERENCE)])
        ]
        for kind in KINDS:
            termination = build_termination(kind, bore.shank_radius)
            results = [
                CaseResults(name, acoustics=acoustic_result(port, termination)) for port in ports
            ]
            found[name, kind] = Solved(*results)
    return found


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("bore", BORES)
def test_mesh_uncertainty_reaches_to_the_finer_mesh(solved, bore, kind):
    ladder, finer = solved[bore, kind]
    assert len(ladder.resonances) == len(finer.resonances) > 0
    for found, known in zip(ladder.resonances, finer.resonances, strict=True):
        for name in QUANTITIES:
            ours, theirs = getattr(found, name), getattr(known, name).value
            error = abs(ours.value - theirs)
            assert error <= float(grid_uncertainty(ours.levels)) + LEFT * theirs
            # what is told in the tables has the wall condition's share as well
            assert error <= ours.uncertainty < 2e-3 * ours.value


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("quantity", QUANTITIES)
def test_uncertainty_of_a_change_reaches_to_the_finer_meshes(solved, kind, quantity):
    first = solved["square", kind]
    for bore in ("rounded", "open", "bowl"):
        case = solved[bore, kind]
        for peak in range(len(first.ladder.resonances)):
            change = resonance_change(case.ladder, first.ladder, peak, quantity)
            known = resonance_change(case.finer, first.finer, peak, quantity)
            assert abs(change.value - known.value) <= change.uncertainty
            assert np.isfinite(change.uncertainty)
            assert change.is_beyond
