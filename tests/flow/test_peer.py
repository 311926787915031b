"""Pressure drop of one bore on one mesh against an independent finite-element library."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from skfem import MeshTri, MeshTri2

from borestudy.flow.boundary import boundary_values, inlet_profile
from borestudy.flow.discretisation import discretise
from borestudy.flow.models.laminar import Laminar
from borestudy.flow.observables.sections import RIM_PLANE, bore_sections, section_tables
from borestudy.flow.sensitivity.form import OF_MODEL
from borestudy.flow.sensitivity.goals import DROP, goals
from borestudy.flow.solver import follow, rim_radius
from borestudy.mesh import LAMINAR, read_mesh, write_mesh
from borestudy.study import load_study

CONFIGS = Path(__file__).parents[2] / "configs"
REYNOLDS = [200.0, 1000.0, 3000.0]


@pytest.fixture
def drawn(strip, grade, join):
    """The mesh of a bore by its throat's radius, with straight sides.

    Cup as a funnel, straight throat and a wide backbore with corners between.
    """
    positions = join(3 - grade(0, 3, 14, 2), 3 + grade(0, 1.4, 14), 4.4 + grade(0, 7.6, 30, 1.3))

    def mesh(throat):
        def radius(x):
            return np.interp(x, [0, 3, 4.4, 12], [2.2, throat, throat, 1.2])

        return straightened(strip(radius, positions, 1 - grade(0, 1, 12)[::-1]))

    return mesh


@pytest.fixture
def mesh(drawn):
    return drawn(0.5)


def test_pressure_drop_agrees_with_an_independent_library_within_0_2_percent(mesh, peer):
    theirs = peer.solve_peer(mesh, REYNOLDS, residual_norm=1e-10)
    np.testing.assert_allclose(drops(mesh), theirs.drops, rtol=2e-3)


def problem(mesh):
    """The equations on a mesh, with a free outlet as the peer's."""
    space = discretise(mesh, 1.0)
    values = boundary_values(space, inlet_profile("developed", rim_radius(space)))
    return replace(Laminar(grad_div=0.0).problem(space, values), outlet=None)


def drops(mesh):
    """Scaled pressure drop at each Reynolds number."""
    task = problem(mesh)
    space = task.space
    branch = follow(Laminar(), task, REYNOLDS)
    sections = section_tables(space)
    found = []
    for state in branch.points:
        assert state is not None
        measures = bore_sections(task, state, sections)
        found.append(measures["rim_plane"].pressure - measures["shank_end"].pressure)
    return np.array(found)


#: Change of the drawn bore's throat radius either way: of a fourth power, differences err by five
#: times the square of the change's share, 2e-5.
CHANGE = 1e-3


def test_pressure_drop_changes_with_the_throat_as_by_symbolic_shape_derivatives(drawn, peer):
    mesh, wider, narrower = (drawn(0.5 + change) for change in (0, CHANGE, -CHANGE))
    count = int(mesh.t[:3].max()) + 1
    velocity = (wider.doflocs - narrower.doflocs)[:, :count] / (2 * CHANGE)
    theirs = peer.solve_peer(mesh, REYNOLDS, residual_norm=1e-10, velocities=[velocity])
    slopes = np.ravel(theirs.slopes)
    task = problem(mesh)
    aims = goals(task, section_tables(task.space)[RIM_PLANE])
    branch = follow(Laminar(), task, REYNOLDS, adjoint=True, goals=aims)
    motion = (wider.doflocs - narrower.doflocs) / (2 * CHANGE)
    along = np.concatenate([motion.ravel(), np.zeros(OF_MODEL)])
    ours = [along @ state.by_shape[DROP] for state in branch.points]
    # The drops agree to 3e-4, and go with the fourth power of the throat at most.
    np.testing.assert_allclose(ours, slopes, rtol=1e-3)
    np.testing.assert_allclose((drops(wider) - drops(narrower)) / (2 * CHANGE), slopes, rtol=1e-3)
    # These are of the same equations; Newton's steps end at 1e-10, which is 1e-7 of a difference.
    anew, before = (
        np.array(peer.solve_peer(one, REYNOLDS, residual_norm=1e-10).drops)
        for one in (wider, narrower)
    )
    np.testing.assert_allclose((anew - before) / (2 * CHANGE), slopes, rtol=1e-4)


def straightened(mesh):
    """The same triangles with straight sides, which is what the independent library is handed."""
    count = int(mesh.t.max()) + 1
    flat = MeshTri2.from_mesh(MeshTri(mesh.doflocs[:, :count], mesh.t))
    return replace(flat, _boundaries=mesh.boundaries, _subdomains=mesh.subdomains)


def test_pressure_drop_of_a_shipped_study_agrees_with_an_independent_library_at_three_rates(
    peer, tmp_path
):
    case = load_study(CONFIGS / "entry-rounding.yaml").cases()[0]
    bore, air = case.build_bore(), case.build_air()
    write_mesh(bore, tmp_path / "flow.msh", LAMINAR, -1)
    diameter = 2 * bore.throat_radius
    space = discretise(straightened(read_mesh(tmp_path / "flow.msh")), diameter)
    reynolds = [
        4 * rate / (np.pi * diameter * air.kinematic_viscosity) for rate in (2e-5, 5e-5, 1e-4)
    ]
    values = boundary_values(space, inlet_profile("developed", rim_radius(space)))
    # the peer's outlet is free of traction where air comes back, too
    task = replace(Laminar(grad_div=0.0).problem(space, values), outlet=None)
    branch = follow(Laminar(), task, reynolds)
    sections = section_tables(space)
    ours = [bore_sections(task, state, sections)["rim_plane"].pressure for state in branch.points]
    theirs = peer.solve_peer(space.mesh, reynolds, residual_norm=1e-10)
    np.testing.assert_allclose(ours, theirs.drops, rtol=2e-3)
