"""The checks that every study makes of its acoustics can fail."""

from dataclasses import replace

import pytest

from borestudy.acoustics import operator
from borestudy.acoustics.two_port import solve_two_port
from borestudy.acoustics.walls import layer_thicknesses
from borestudy.air import humid_air
from borestudy.bore import cylinder
from borestudy.mesh import ACOUSTICS, read_mesh, write_mesh
from borestudy.verification.acoustics import (
    HIGHEST,
    LOWEST,
    PIPE_LENGTH,
    SHANK_RADIUS,
    check_lossy_pipe,
)

AIR = humid_air()


@pytest.fixture(scope="module")
def pipe(tmp_path_factory):
    """The study's pipe on its coarsest mesh."""
    path = tmp_path_factory.mktemp("pipe") / "pipe.msh"
    write_mesh(cylinder(SHANK_RADIUS, PIPE_LENGTH), path, ACOUSTICS, 1)
    return solve_two_port([read_mesh(path)], AIR, LOWEST, HIGHEST, "curved")


def test_walls_that_conduct_5_percent_more_heat_fail_the_checks_of_q(pipe, monkeypatch):
    """Heat makes a third of the wall's losses, as √κ: 5 % of κ are 0.8 % of Q, allowed is 0.2 %."""

    def wrong_thicknesses(omega, air):
        conductivity = 1.05 * air.thermal_conductivity
        return layer_thicknesses(omega, replace(air, thermal_conductivity=conductivity))

    monkeypatch.setattr(operator, "layer_thicknesses", wrong_thicknesses)
    checks = check_lossy_pipe(pipe)
    found = {check.check: check for check in checks if check.quantity.startswith("Q")}
    closed, node = (found[f"pipe, {end}, with wall losses"] for end in ("closed", "pressure node"))
    assert closed.verdict == node.verdict == "fail"
    part = (AIR.heat_capacity_ratio - 1) / 0.71**0.5
    expected = -50 * 0.05 * part / (1 + part)
    assert node.deviation_percent == pytest.approx(expected, rel=0.1)


def test_the_same_pipe_with_its_right_walls_passes(pipe):
    assert {check.verdict for check in check_lossy_pipe(pipe)} == {"pass"}
