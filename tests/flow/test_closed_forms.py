"""Flows with a closed form: developed pipe flow and creeping flow in a cone."""

import numpy as np
import pytest

from borestudy.closed_form.cone_flow import CreepingCone
from borestudy.flow.boundary import boundary_values, inlet_profile, section_flux
from borestudy.flow.discretisation import discretise
from borestudy.flow.models.laminar import Laminar, creeping_flow
from borestudy.flow.observables.energy import dissipation
from borestudy.flow.observables.lines import wall_line, wall_shear
from borestudy.flow.observables.sections import bore_sections, pressure_work
from borestudy.flow.problem import State
from borestudy.flow.solver import solve_levels


@pytest.fixture
def pipe(strip, grade):
    return strip(lambda x: 0.5 + 0 * x, np.linspace(0, 4.0, 9), grade(0, 1, 4))


@pytest.mark.parametrize("reynolds", [1.0, 100.0, 1000.0])
def test_developed_pipe_flow_has_the_pressure_drop_of_hagen_and_poiseuille(pipe, reynolds):
    level = solve_levels(Laminar(), [pipe], 1.0, "developed", [reynolds])[0]
    sections = bore_sections(level.problem, level.states[0], level.sections)
    drop = 2 * (sections["rim_plane"].pressure - sections["shank_end"].pressure)
    assert drop == pytest.approx(64 / reynolds * 4.0, rel=1e-8)


def test_developed_pipe_flow_has_wall_shear_eight_over_reynolds(pipe):
    level = solve_levels(Laminar(), [pipe], 1.0, "developed", [200.0])[0]
    space = level.problem.space
    shear = wall_shear(space, level.states[0], wall_line(space))
    np.testing.assert_allclose(shear, 8 / 200.0, rtol=1e-7)


def test_kinetic_energy_factor_of_a_parabola_is_two(pipe):
    level = solve_levels(Laminar(), [pipe], 1.0, "developed", [200.0])[0]
    sections = bore_sections(level.problem, level.states[0], level.sections)
    assert sections["shank_end"].kinetic_factor == pytest.approx(2.0, rel=1e-8)


def creeping_cone(strip, cells):
    """Error of the drop of flow work [share], and of the dissipation, in a 23 degree cone."""
    angle, first, last = 0.2, 0.5, 1.0
    length = (last - first) / np.tan(angle)
    positions, shares = np.linspace(0, length, 3 * cells + 1), np.linspace(0, 1, cells + 1)
    mesh = strip(lambda x: first + x * np.tan(angle), positions, shares)
    exact = CreepingCone(angle, -first / np.tan(angle), np.pi / 4, viscosity=1.0)
    space = discretise(mesh, 1.0)
    values = boundary_values(space, exact.velocity, exact.velocity)
    task = Laminar().problem(space, values)
    unknowns = creeping_flow(task, 1.0)
    state = State(1.0, unknowns, unknowns, 1, 1)
    residual = space.residual(unknowns, 1.0, task.equations.stabilisation, inertia=0.0)
    works = [pressure_work(task, residual, state, end) for end in ("rim_plane", "shank_end")]
    # by energy conservation the exact work is the exact dissipation
    reference = exact.dissipation(0.0, length) / (np.pi / 4)
    shares_of_error = sum(works) / reference - 1, dissipation(task, state).sum()
    return shares_of_error[0], shares_of_error[1] / reference - 1


def test_pressure_work_of_the_creeping_cone_converges_with_order_above_2_8(strip):
    errors = [abs(creeping_cone(strip, cells)[0]) for cells in (4, 8, 16)]
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert np.all(orders > 2.8)


def test_dissipation_of_the_creeping_cone_converges_with_order_above_2_8(strip):
    errors = [abs(creeping_cone(strip, cells)[1]) for cells in (4, 8, 16)]
    orders = np.log2(np.array(errors[:-1]) / errors[1:])
    assert np.all(orders > 2.8)


@pytest.mark.parametrize("inlet", ["uniform", "developed"])
def test_inlet_brings_exactly_the_wanted_flux(pipe, inlet):
    space = discretise(pipe, 1.0)
    values = boundary_values(space, inlet_profile(inlet, 0.5)).values
    assert section_flux(space, space.velocity(values)[0], "rim_plane") == pytest.approx(1 / 8)


def test_pressure_drop_of_a_smooth_constriction_converges_with_order_above_2_8(strip):
    def radius(x):
        return 1 - 0.5 * np.sin(np.pi * np.clip((x - 1) / 4, 0, 1)) ** 4

    drops = []
    for cells in (4, 8, 16):
        mesh = strip(radius, np.linspace(0, 8, 8 * cells + 1), np.linspace(0, 1, cells + 1))
        level = solve_levels(Laminar(), [mesh], 1.0, "developed", [50.0])[0]
        sections = bore_sections(level.problem, level.states[0], level.sections)
        drops.append(sections["rim_plane"].pressure - sections["shank_end"].pressure)
    first, last = np.abs(np.diff(drops))
    assert np.log2(first / last) > 2.8
