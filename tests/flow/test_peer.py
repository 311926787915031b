"""Pressure drop of one bore on one mesh against an independent finite-element library."""

import numpy as np
import pytest

from borestudy.flow.boundary import boundary_values, inlet_profile
from borestudy.flow.branch import follow_branch
from borestudy.flow.discretisation import discretise
from borestudy.flow.levels import rim_radius
from borestudy.flow.measures import bore_sections, section_tables
from borestudy.flow.newton import problem

REYNOLDS = [200.0, 1000.0, 3000.0]


def drawn_bore(x):
    """Cup as a funnel, straight throat and a wide backbore with corners between."""
    return np.interp(x, [0, 3, 4.4, 12], [2.2, 0.5, 0.5, 1.2])


@pytest.fixture
def mesh(strip, grade, join):
    positions = join(3 - grade(0, 3, 14, 2), 3 + grade(0, 1.4, 14), 4.4 + grade(0, 7.6, 30, 1.3))
    return strip(drawn_bore, positions, 1 - grade(0, 1, 12)[::-1])


def test_pressure_drop_agrees_with_an_independent_library_within_0_2_percent(mesh, peer):
    space = discretise(mesh, 1.0)
    values = boundary_values(space, inlet_profile("developed", rim_radius(space)))
    task = problem(space, values)
    branch = follow_branch(task, REYNOLDS)
    sections = section_tables(space)
    ours = []
    for state in branch.states:
        assert state is not None
        measures = bore_sections(task, state, sections)
        ours.append(measures["rim_plane"].pressure - measures["shank_end"].pressure)
    theirs = peer.solve_peer(mesh, REYNOLDS, residual_norm=1e-10)
    np.testing.assert_allclose(ours, theirs.drops, rtol=2e-3)
