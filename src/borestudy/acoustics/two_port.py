"""The bore as a two-port between rim plane and shank end, one reduced model per mesh level."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike
from skfem import MeshTri2

from borestudy.acoustics.assembly import assemble
from borestudy.acoustics.operator import AffineOperator, impedance_matrix
from borestudy.acoustics.reduced_basis import Reduction, reduce_operator
from borestudy.acoustics.shape import operator_derivatives
from borestudy.acoustics.termination import Ratio, Termination
from borestudy.acoustics.walls import Complex, Real, Walls
from borestudy.air import Air
from borestudy.bore import Bore, Dimension
from borestudy.fem.motion import node_velocities


@dataclass(frozen=True)
class ReducedModel:
    """One mesh level's two-port, without its mesh."""

    #: Small and dense (sparse where the reduced basis failed).
    operator: AffineOperator
    #: Number of snapshots of the basis, and the error that remains.
    reduction: Reduction
    #: Size of the finite-element problem, and the bore's largest radius [m].
    unknowns: int
    widest_radius: float
    #: Derivative of every matrix and port by each dimension of the two-port, per SI unit.
    derivatives: tuple[AffineOperator, ...] = ()


@dataclass(frozen=True)
class TwoPort:
    """Reduced models of one bore, coarsest mesh first, in one air, over one frequency range."""

    models: tuple[ReducedModel, ...]
    air: Air
    lowest_frequency: float
    highest_frequency: float
    #: Dimensions by which there are derivatives: keys, units that people are told them in, and
    #: values [m, rad, or 1].
    dimensions: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    values: tuple[float, ...] = ()

    @property
    def range_Hz(self) -> tuple[float, float]:
        return self.lowest_frequency, self.highest_frequency

    @property
    def finest(self) -> ReducedModel:
        return self.models[-1]

    @property
    def levels(self) -> range:
        return range(len(self.models))

    @property
    def walls(self) -> Walls:
        return self.finest.operator.walls

    @property
    def shank_radius(self) -> float:
        return self.finest.operator.ports[1].edge_radius


def solve_two_port(
    meshes: Sequence[MeshTri2],
    air: Air,
    lowest_frequency: float,
    highest_frequency: float,
    walls: Walls = "curved",
    bore: Bore | None = None,
    dimensions: Sequence[Dimension] = (),
) -> TwoPort:
    r"""Two-port of a bore on every mesh level.

    Parameters
    ----------
    meshes : sequence of MeshTri2
        Coarsest first.
    air : Air
        Air at rest.
    lowest_frequency, highest_frequency : float [Hz]
        Range in which the reduced models meet their tolerance.
    walls : str
        "lossless", "plain" or "curved".
    bore : Bore, optional
        What was meshed; needed for derivatives.
    dimensions : sequence of Dimension, optional
        Dimensions of that bore by which every matrix gets its derivative.

    Raises
    ------
    ValueError
        Unless the range is positive and ascending; if there are dimensions without their bore.

    Notes
    -----
    The derivatives are projected on the basis of the bore as it is.  The derivative of an impedance
    lacks what the basis lacks of a pressure, where the impedance itself lacks its square: against
    the full matrices at most 2e-4 of it by a dimension, 7e-4 by the radius at a station (bores of
    the shipped studies, 50 to 2000 Hz and to 5000 Hz).
    """
    if dimensions and bore is None:
        raise ValueError("derivatives by dimensions need the bore that was meshed")
    found = f"found {lowest_frequency:g} Hz to {highest_frequency:g} Hz (example: 50 Hz to 5000 Hz)"
    if not lowest_frequency > 0:
        raise ValueError(f"resonance.from must be above 0 Hz; {found}")
    if not highest_frequency > lowest_frequency:
        raise ValueError(f"resonance.to must be above resonance.from; {found}")
    ends, models = (lowest_frequency, highest_frequency), []
    for mesh in meshes:
        operator = assemble(mesh, walls)
        reduced, reduction, basis = reduce_operator(operator, air, *ends)
        derivatives: tuple[AffineOperator, ...] = ()
        if bore is not None and dimensions:
            velocities = node_velocities(mesh, bore, dimensions)
            derivatives = operator_derivatives(mesh, walls, velocities, basis)
        sizes = operator.unknowns, float(mesh.p[1].max())
        models.append(ReducedModel(reduced, reduction, *sizes, derivatives))
    return TwoPort(
        tuple(models),
        air,
        *ends,
        dimensions=tuple(one.key for one in dimensions),
        units=tuple(one.unit for one in dimensions),
        values=tuple(one.value for one in dimensions),
    )


def two_port_matrix(two_port: TwoPort, frequencies: ArrayLike, level: int = -1) -> Complex:
    """Impedance matrix, both flows into the bore [Pa·s/m³], shape (n_frequencies, 2, 2)."""
    omega = 2 * np.pi * np.atleast_1d(frequencies)
    return impedance_matrix(two_port.models[level].operator, omega, two_port.air)


def driven_at_rim(
    two_port: TwoPort, termination: Termination, frequencies: ArrayLike, level: int = -1
) -> tuple[Complex, Complex, Complex]:
    """Pressures at rim and shank, and flow *into* the bore at the shank, for unit flow at the rim.

    Each of shape (n_frequencies,); pressures in Pa·s/m³ times the flow.
    """
    matrix = two_port_matrix(two_port, frequencies, level)
    flow = termination.inflow(matrix, 2 * np.pi * np.atleast_1d(frequencies), two_port.air)
    rim, shank = (matrix[:, port, 0] + matrix[:, port, 1] * flow for port in (0, 1))
    return np.asarray(rim), np.asarray(shank), flow


def input_impedance(
    two_port: TwoPort, termination: Termination, frequencies: ArrayLike, level: int = -1
) -> Complex:
    """p/U at the rim plane with a termination [Pa·s/m³], shape (n_frequencies,)."""
    return driven_at_rim(two_port, termination, frequencies, level)[0]


def termination_at_cut(
    back: TwoPort, termination: Termination, resistance: float = 0.0
) -> Termination:
    """Termination of a front half: a resistance, then the back half with its own termination.

    In the middle of a throat at least as long as wide the wave is plane, so that the bore cut there
    is two two-ports in a chain.  A series resistance between them leaves the flow alone and takes
    R U from the pressure: the front half's load is :math:`Z = R + Z_{back}`, with the input
    impedance of the back half and its termination.  With R = 0 the chain is the whole bore again,
    up to what the cut itself takes away: that difference is reported, not assumed.

    Parameters
    ----------
    back : TwoPort
        The bore from the cut to the shank end.
    termination : Termination
        The shank end's.
    resistance : float
        Resistance R in series at the cut [Pa·s/m³].
    """

    def ratio(omega: Real, air: Air) -> Ratio:
        return resistance + input_impedance(back, termination, omega / (2 * np.pi)), 1.0

    note = f"{termination.note}; " if termination.note else ""
    note = f"{note}{resistance:.4g} Pa·s/m³ in series in the throat"
    return replace(termination, ratio=ratio, note=note, rebuilt=None)
