"""Which meshes a rate is solved on, and what a pipe behind the shank recovers."""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from borestudy.air import humid_air
from borestudy.bore import Entry, bore_from_dimensions
from borestudy.flow.refinement import wants_refinement
from borestudy.flow.result import FlowAtRate
from borestudy.flow.solve import neighbouring_levels, solve_flow
from borestudy.mesh import LAMINAR, read_mesh, write_mesh

MM = 1e-3


@pytest.fixture(scope="module")
def bore():
    return bore_from_dimensions(
        length=70 * MM,
        cup_diameter=12 * MM,
        cup_depth=9 * MM,
        cup_shape=0.5,
        throat_diameter=4 * MM,
        throat_length=5 * MM,
        entry=Entry("rounded", (1 * MM,), 0.0),
        backbore_end_diameter=8 * MM,
        backbore_taper="straight",
    )


def mesh_of(bore, folder: Path, level: int):
    path = folder / f"{level}.msh"
    write_mesh(bore, path, LAMINAR, level)
    return read_mesh(path)


@pytest.fixture(scope="module")
def meshes(bore, tmp_path_factory):
    folder = tmp_path_factory.mktemp("meshes")
    return [mesh_of(bore, folder, level) for level in (-3, -2, -1)]


def solved(meshes, bore, rates, tolerance):
    return solve_flow(
        meshes, humid_air(), rates, 2 * bore.throat_radius, tolerance=tolerance, least_levels=2
    )


def test_a_rate_known_to_the_tolerance_is_not_solved_on_a_finer_mesh(meshes, bore):
    found = solved(meshes, bore, [3e-5], tolerance=0.2)
    assert len(found.unknowns) == 2
    assert found.rates[0].tolerance_reached
    assert found.rates[0].mesh_levels == (0, 1)


def test_refinement_goes_on_to_the_last_mesh_and_says_that_it_did_not_suffice(meshes, bore):
    found = solved(meshes, bore, [3e-5, 6e-4], tolerance=1e-7)
    slow, fast = found.rates
    assert len(found.unknowns) == 3
    assert slow.mesh_levels == (0, 1, 2)
    assert slow.tolerance_reached is False
    # too fast to be refined for its tolerance, but on these coarse meshes its energy is 1 % off
    assert fast.throat_reynolds > 7000
    assert len(fast.pressure_drop.levels) == len(slow.pressure_drop.levels) == 3
    assert fast.mesh_levels == (0, 1, 2)
    assert fast.tolerance_reached is False


@pytest.mark.parametrize(
    ("has_state", "expected"),
    [
        ([True, True], [0, 1]),
        ([False, True, True], [1, 2]),
        ([True, True, False], [0, 1]),
        ([True, False, True], []),
        ([False, True], []),
    ],
)
def test_uncertainty_is_taken_from_neighbouring_meshes_only(has_state, expected):
    levels = [SimpleNamespace(states=[object() if found else None]) for found in has_state]
    assert neighbouring_levels(levels, 0, 2) == expected


def test_a_rate_that_failed_is_tried_on_a_finer_mesh():
    lost = FlowAtRate(flow_rate_L_per_s=0.4, converged=False, throat_reynolds=9000.0)
    assert wants_refinement(lost)


@pytest.mark.parametrize(("reynolds", "wanted"), [(6900.0, True), (7100.0, False)])
def test_a_rate_short_of_the_tolerance_is_refined_up_to_reynolds_7000(reynolds, wanted):
    rate = FlowAtRate(
        flow_rate_L_per_s=0.3,
        converged=True,
        throat_reynolds=reynolds,
        tolerance_reached=False,
        energy_balance=-5e-3,
    )
    assert wants_refinement(rate) is wanted
    assert not wants_refinement(replace(rate, tolerance_reached=True))
    # at any rate, where energy does not balance
    assert wants_refinement(replace(rate, energy_balance=-0.011))


def test_a_pipe_behind_the_shank_recovers_pressure_at_its_beginning(bore, meshes, tmp_path):
    rate = [5e-5]
    longer = mesh_of(bore.extended(30 * MM), tmp_path, -2)
    row = solve_flow([longer], humid_air(), rate, 2 * bore.throat_radius).rates[0]
    shank = row.sections["backbore_end"].pressure_Pa
    # the jet spreads in the pipe, so that pressure rises towards its end, where it is zero
    assert shank < 0
    friction = row.budget.dissipation_by_part
    assert set(friction) >= {"backbore", "pipe"}
    without = solve_flow([meshes[1]], humid_air(), rate, 2 * bore.throat_radius).rates[0]
    recovered = without.pressure_drop.value - row.pressure_drop.value
    assert recovered == pytest.approx(-shank, rel=0.1)
