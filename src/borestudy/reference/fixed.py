"""Figures without a mesher: of the air, of a bore's shape, and of fields on meshes by formula."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from skfem import MeshTri, MeshTri2

from borestudy.acoustics.two_port import solve_two_port, two_port_matrix
from borestudy.air import Air, humid_air
from borestudy.bore import Bore
from borestudy.flow.model import Model
from borestudy.flow.models.laminar import Laminar
from borestudy.flow.models.spalart_allmaras import SpalartAllmaras
from borestudy.flow.observables.sections import scaled_figures, section_tables
from borestudy.flow.solver import follow, prepare
from borestudy.reference.table import Figure

#: Sums of some thousand terms, each rounded to 1e-16 of its size.
ROUNDING = 1e-9, "rounding"
#: The air's entropy is inverted iteratively to 1e-7 or so.
INVERSION = 1e-6, "end of an iteration, 1e-7"
#: Two reduced bases that rounding made different, each with its own tolerance of 3e-7.
BASES = 6e-7, "twice the reduced basis' tolerance"
#: A drop is off by as large a share as the residual that is left, times what the equations make of
#: it; a hundred is allowed for that.
LAMINAR_STEPS = 1e-7, "a hundred times the residual left, 1e-9"
TURBULENT_STEPS = 1e-6, "a hundred times the residual left, 1e-8"

THROAT_RADIUS, LENGTH = 1.83e-3, 0.08
LOWEST, HIGHEST = 100.0, 5000.0
FREQUENCIES = (200.0, 1000.0, 4000.0)


def relative(name: str, unit: str, value: float, error: tuple[float, str]) -> Figure:
    """A figure whose tolerance is a share of it."""
    return Figure(name, unit, value, abs(value) * error[0], error[1])


def fixed_figures(bore: Bore) -> list[Figure]:
    """All of them; the bore is one whose shape is measured."""
    air = humid_air(298.15, 0.5)
    return [*air_figures(air), *bore_figures(bore), *sound_figures(air), *flow_figures()]


def air_figures(air: Air) -> list[Figure]:
    """Constants of moist air at 25 degC."""
    return [
        relative("air at 25 degC and 50 %, density", "kg_per_m3", air.density, ROUNDING),
        relative("air at 25 degC and 50 %, viscosity", "Pa_s", air.viscosity, ROUNDING),
        relative("air at 25 degC and 50 %, speed of sound", "m_per_s", air.sound_speed, INVERSION),
    ]


def bore_figures(bore: Bore) -> list[Figure]:
    """Volumes of a bore's parts."""
    return [
        relative(f"volume of the {part}", "cm3", 1e6 * bore.volume(part), ROUNDING)
        for part in ("cup", "throat", "backbore")
    ]


def hourglass(positions: NDArray[np.float64], shares: NDArray[np.float64]) -> MeshTri2:
    """A mesh of a bore that is narrowest in its middle, by products and sums alone.

    Parameters
    ----------
    positions, shares : ndarray
        Rising from 0 to 1: along the bore, and from the axis to the wall.
    """
    flat = MeshTri.init_tensor(positions, shares)
    curved = MeshTri2.from_mesh(flat)
    x, r = curved.doflocs
    places = np.array([LENGTH * x, THROAT_RADIUS * r * (1 + 8 * (x - 0.5) ** 2)])
    middles = flat.p[:, flat.facets].mean(axis=1)
    outer = np.zeros(flat.nfacets, dtype=bool)
    outer[flat.boundary_facets()] = True
    near = 1e-9
    sides = {
        "rim_plane": middles[0] < near,
        "shank_end": middles[0] > 1 - near,
        "axis": middles[1] < near,
        "wall": middles[1] > 1 - near,
    }
    boundaries = {name: np.flatnonzero(outer & side) for name, side in sides.items()}
    return replace(MeshTri2(places, curved.t), _boundaries=boundaries)


def sound_figures(air: Air) -> list[Figure]:
    """Input impedance of the closed hourglass with wall losses, by its two-port."""
    mesh = hourglass(np.linspace(0, 1, 49), np.linspace(0, 1, 7))
    matrix = two_port_matrix(solve_two_port([mesh], air, LOWEST, HIGHEST), np.array(FREQUENCIES))
    return [
        relative(
            f"impedance of a closed bore at {frequency:.0f} Hz",
            "Pa_s_per_m3",
            float(abs(value)),
            BASES,
        )
        for frequency, value in zip(FREQUENCIES, matrix[:, 0, 0], strict=True)
    ]


def flow_figures() -> list[Figure]:
    """Pressure drop through the hourglass in dynamic pressures of its throat."""
    even = hourglass(np.linspace(0, 1, 49), np.linspace(0, 1, 13))
    # A parabola gathers the rows at the wall.
    rows = 1 - (1 - np.linspace(0, 1, 25)) ** 2
    layered = hourglass(np.linspace(0, 1, 49), rows)
    laminar = drops(Laminar(), even, [100.0, 500.0])
    (turbulent,) = drops(SpalartAllmaras(), layered, [1e4])
    return [
        *(
            relative(f"pressure drop of laminar flow at Re {number}", "q", drop, LAMINAR_STEPS)
            for number, drop in zip((100, 500), laminar, strict=True)
        ),
        relative("pressure drop of turbulent flow at Re 10000", "q", turbulent, TURBULENT_STEPS),
    ]


def drops(model: Model, mesh: MeshTri2, reynolds: Sequence[float]) -> list[float]:
    """Pressure drop [q] at each Reynolds number, NaN where there is no solution."""
    problem = prepare(model, mesh, 2 * THROAT_RADIUS, "developed")
    sections = section_tables(problem.space)
    return [
        scaled_figures(problem, state, sections)["pressure_drop"] if state else float("nan")
        for state in follow(model, problem, reynolds).points
    ]
