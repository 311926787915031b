"""The table of developing pipe flow against a marching solution of the boundary-layer equations.

In the limit of high Reynolds numbers, with X = x/(D Re), radius in diameters, u in mean velocities
and p in ρU²:

    u u_X + v u_r = −p_X + (r u_r)_r / r,    u_X + (r v)_r / r = 0,    u(X = 0) = 1,  u(r = ½) = 0.

Finite volumes over the radius, implicit steps in X that grow from the inlet on, the pressure from
the flux that every section carries: no finite element and no pressure equation.
"""

from itertools import pairwise

import numpy as np
import pytest
from scipy.linalg import solve_banded

from borestudy.closed_form.pipe_flow import DEVELOPING_CENTRE_TABLE, DEVELOPING_FLOW_TABLE

STATIONS = sorted({*DEVELOPING_FLOW_TABLE, *DEVELOPING_CENTRE_TABLE})


def march(cells, steps):
    """Pressure drop over q and axial velocity on the axis at every station."""
    faces = 0.5 * np.tanh(1.8 * np.linspace(0, 1, cells + 1)) / np.tanh(1.8)
    centres, area = 0.5 * (faces[1:] + faces[:-1]), 0.5 * np.diff(faces**2)
    # r u_r at inner faces, and at the wall from half a cell away
    conduct = np.append(faces[1:-1] / np.diff(centres), faces[-1] / (faces[-1] - centres[-1]))
    positions = np.concatenate([[0.0], np.geomspace(1e-7, STATIONS[-1], steps)])
    for place in STATIONS:
        positions[np.argmin(np.abs(positions - place))] = place
    u, drop, found = np.ones(cells), 0.0, {}
    for before, here in pairwise(positions):
        step, old = here - before, u
        for _ in range(60):
            carried = -np.cumsum((u - old) * area)[:-1] / step  # r v at inner faces
            diagonal = area * u / step
            diagonal[:-1] += 0.5 * carried + conduct[:-1]
            diagonal[1:] += -0.5 * carried + conduct[:-1]
            diagonal[-1] += conduct[-1]
            bands = np.zeros((3, cells))
            bands[0, 1:] = 0.5 * carried - conduct[:-1]
            bands[1] = diagonal
            bands[2, :-1] = -0.5 * carried - conduct[:-1]
            right = np.column_stack([area * old**2 / step, area])
            with_old, with_gradient = solve_banded((1, 1), bands, right).T
            gradient = (0.125 - area @ with_old) / (area @ with_gradient)
            new = with_old + gradient * with_gradient
            change, u = np.abs(new - u).max(), new
            if change < 1e-7:
                break
        assert change < 1e-7
        drop += gradient * step
        if here in STATIONS:
            found[here] = (2 * drop, u[0])
    return found


@pytest.fixture(scope="module")
def marched():
    """Steps are of first order: the finer march has half of the other's error.

    What is left, with the cells' own, is below 1e-3, as twice as many of each show.
    """
    coarse, fine = march(160, 250), march(160, 500)
    return {place: 2 * np.array(fine[place]) - coarse[place] for place in STATIONS}


def test_pressure_of_the_table_is_that_of_the_boundary_layer_equations(marched):
    for place, drop in DEVELOPING_FLOW_TABLE.items():
        assert drop == pytest.approx(marched[place][0], rel=1e-3)


def test_centre_velocity_of_the_table_is_that_of_the_boundary_layer_equations(marched):
    for place, velocity in DEVELOPING_CENTRE_TABLE.items():
        assert velocity == pytest.approx(marched[place][1], rel=1e-3)
