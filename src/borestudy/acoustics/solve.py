"""A solved bore with a termination: resonances, input impedance, power balance, pressure field."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike
from skfem import MeshTri2

from borestudy.acoustics import operator as operators
from borestudy.acoustics import resonances as peaks_of
from borestudy.acoustics import uncertainty
from borestudy.acoustics.assembly import assemble
from borestudy.acoustics.mouthpiece import equivalent_lengths, mouthpiece_figures
from borestudy.acoustics.result import AcousticResult, ReducedBasis, Resonance
from borestudy.acoustics.sensitivity import slopes_by_dimension
from borestudy.acoustics.termination import Termination, frequency_cautions
from borestudy.acoustics.two_port import TwoPort, driven_at_rim, input_impedance, two_port_matrix
from borestudy.acoustics.uncertainty import QUANTITIES, WALL_SHARE, levels_quantity
from borestudy.acoustics.walls import Complex, Real, Walls, layer_validity
from borestudy.air import Air
from borestudy.closed_form.cavity import cut_on_frequencies
from borestudy.fem.uncertainty import grid_uncertainty
from borestudy.fem.vtu import write_vtu
from borestudy.quantity import Quantity

CHECK_POINTS = 25
_IMPEDANCE = ("impedance_real_Pa_s_per_m3", "impedance_imag_Pa_s_per_m3")
IMPEDANCE_COLUMNS = (*_IMPEDANCE, *(f"{name}_uncertainty" for name in _IMPEDANCE))
MATCHING_SHARE = 0.05
RIGID_ENDS = ("closed", "pressure node", "air column, closed")


def acoustic_result(
    two_port: TwoPort, termination: Termination, fundamental: float | None = None
) -> AcousticResult:
    """Everything that is known of a solved bore with a termination, which solves nothing anew.

    Parameters
    ----------
    two_port : TwoPort
        The bore, on every mesh level.
    termination : Termination
        What the shank end leads into.
    fundamental : float, optional
        Frequency [Hz] of which every resonance says its cents above the nearest harmonic.
    """
    finest, air = two_port.finest, two_port.air
    peaks = [_peaks(two_port, termination, level) for level in two_port.levels]
    frequencies = peaks[-1][:, 0]
    basis_error = max(model.reduction.held_out_error for model in two_port.models)
    wall_share = {} if two_port.walls == "lossless" else WALL_SHARE
    truncation = [
        uncertainty.truncation_shares(two_port, termination, each) for each in frequencies
    ]
    shares = [
        {name: basis_error + wall_share.get(name, 0.0) + left[name] for name in QUANTITIES}
        for left in truncation
    ]
    levels = np.stack([_matched(level, frequencies) for level in peaks])
    resonances = _resonances(levels, shares, equivalent_lengths(two_port, frequencies))
    if two_port.dimensions:
        slopes = slopes_by_dimension(two_port, termination, levels)
        resonances = [
            replace(peak, by_dimension=each) for peak, each in zip(resonances, slopes, strict=True)
        ]
    if fundamental is not None:
        harmonics = zip(*peaks_of.nearest_harmonics(frequencies, fundamental), strict=True)
        resonances = [
            replace(peak, nearest_harmonic=int(number), cents_above_harmonic=float(cents))
            for peak, (number, cents) in zip(resonances, harmonics, strict=True)
        ]
    checked = np.geomspace(*two_port.range_Hz, CHECK_POINTS)
    sideways, axisymmetric = cut_on_frequencies(finest.widest_radius, air.sound_speed)
    trusted = termination.trusted_below(air)
    transfer, gain, curves = mouthpiece_figures(two_port)
    return AcousticResult(
        termination=termination.kind,
        termination_note=termination.note,
        walls=two_port.walls,
        sound_speed_m_per_s=air.sound_speed,
        range_Hz=two_port.range_Hz,
        resonances=tuple(resonances),
        peak_centroid=_centroid(peaks),
        transfer=transfer,
        gain=gain,
        curves=curves,
        power_balance=float(np.max(np.abs(power_balance(two_port, termination, checked)))),
        reciprocity=float(np.max(reciprocity(two_port, checked))),
        cut_on_Hz=sideways,
        cut_on_axisymmetric_Hz=axisymmetric,
        termination_trusted_below_Hz=float(trusted) if np.isfinite(trusted) else None,
        validity=_validity(two_port, termination),
        unknowns=finest.unknowns,
        level_unknowns=tuple(model.unknowns for model in two_port.models),
        wall_share=wall_share,
        truncation_share=truncation[0] if truncation else {},
        max_residual=finest.reduction.solve_residual,
        reduced_basis=ReducedBasis(
            snapshots=len(finest.reduction.snapshots),
            held_out_error=basis_error,
            largest_residual=float(finest.reduction.residuals[-1]),
            direct=any(model.reduction.direct for model in two_port.models),
        ),
    )


def impedance_columns(
    two_port: TwoPort, termination: Termination, frequencies: ArrayLike
) -> dict[str, Real]:
    """The input impedance at frequencies [Hz].

    Returns
    -------
    dict of ndarray, each of shape (n_frequencies,)
        ``frequency_Hz`` and `IMPEDANCE_COLUMNS` [Pa·s/m³]; an uncertainty is NaN with one mesh.
    """
    frequencies = np.atleast_1d(np.asarray(frequencies, dtype=float))
    levels = np.stack(
        [input_impedance(two_port, termination, frequencies, level) for level in two_port.levels]
    )
    share = two_port.finest.reduction.held_out_error
    share += 0.0 if two_port.walls == "lossless" else uncertainty.WALL_SHARE_OF_CURVE
    errors = [
        (grid_uncertainty(part) if len(part) > 1 else np.nan) + share * np.abs(levels[-1])
        for part in (levels.real, levels.imag)
    ]
    columns = (levels[-1].real, levels[-1].imag, *errors)
    found = dict(zip(IMPEDANCE_COLUMNS, columns, strict=True))
    return {"frequency_Hz": frequencies, **found}


def _peaks(two_port: TwoPort, termination: Termination, level: int) -> Real:
    """Frequency, Q and height of every peak on one level, shape (n_peaks, 3)."""

    def impedance(frequencies: Real) -> Complex:
        return input_impedance(two_port, termination, frequencies, level)

    if two_port.walls == "lossless" and termination.kind in RIGID_ENDS:
        frequency = peaks_of.lossless_resonances(impedance, *two_port.range_Hz)
        unknown = np.full(len(frequency), np.nan)  # nothing limits either
        return np.column_stack([frequency, unknown, unknown])
    return peaks_of.resonance_figures(impedance, *two_port.range_Hz)


def _matched(peaks: Real, frequencies: Real) -> Real:
    """A level's peak nearest to each frequency, shape (n, 3); NaN where there is none near."""
    if len(peaks) == 0:
        return np.full((len(frequencies), len(QUANTITIES)), np.nan)
    nearest = peaks[np.argmin(np.abs(peaks[:, :1] - frequencies), axis=0)]
    near = np.abs(nearest[:, 0] / frequencies - 1) <= MATCHING_SHARE
    return np.where(near[:, None], nearest, np.nan)


def _resonances(
    levels: Real, shares: Sequence[Mapping[str, float]], lengths: Sequence[Quantity | None]
) -> list[Resonance]:
    """The finest level's peaks, from their figures on each level, (n_levels, n_peaks, 3)."""
    found = []
    for figures, share, length in zip(np.moveaxis(levels, 0, -1), shares, lengths, strict=True):
        named = zip(figures, QUANTITIES.items(), strict=True)
        pitch, Q, peak = (levels_quantity(each, unit, share[key]) for each, (key, unit) in named)
        one = Resonance(frequency=pitch, Q=Q, impedance_peak=peak, equivalent_length=length)
        found.append(one)
    return found


def _centroid(peaks: Sequence[Real]) -> Quantity | None:
    """Centroid of the peaks, with an uncertainty where every level has the same number of them."""
    centroids = [peaks_of.peak_centroid(level[:, 0], level[:, 2]) for level in peaks]
    if len({len(level) for level in peaks}) > 1:
        centroids = [np.nan, centroids[-1]]
    return levels_quantity(centroids, "Hz", WALL_SHARE["Q"])


def _validity(two_port: TwoPort, termination: Termination) -> str:
    """``good``, or in words what the range asks too much of."""
    finest, air = two_port.finest, two_port.air
    words = frequency_cautions(two_port.highest_frequency, finest.widest_radius, termination, air)
    layer = layer_validity(finest.operator.largest_curvature, two_port.lowest_frequency, air)
    if two_port.walls != "lossless" and layer != "good":
        words.insert(0, layer)
    return "; ".join(words) or "good"


def power_balance(
    two_port: TwoPort, termination: Termination, frequencies: Real, level: int = -1
) -> Real:
    r"""(in − lost at the wall − out at the shank) / in at every frequency; rounding only.

    With :math:`p = \sum_j g_j A^{-1} b_j` the inlet's power is
    :math:`\tfrac12\mathrm{Re}\,(p^H b_1 g_1/(i\omega\rho))`, flow in the layer included, and the
    wall's is that of the wall matrices alone, whose factors are not real.  Pressures are weighted
    with the adjoint load; the impedance uses the transpose, which differs where the pressure is not
    uniform over a port (a few 1e-5 of the power of a mouthpiece).
    """
    omega, air = 2 * np.pi * frequencies, two_port.air
    operator = two_port.models[level].operator
    _, _, inflow = driven_at_rim(two_port, termination, frequencies, level)
    flow = np.column_stack([np.ones_like(inflow), inflow])
    scale = 1j * omega * air.density
    drive = scale[:, None] * flow / operators.effective_areas(operator, omega, air)
    field = (operators.pressures(operator, omega, air) @ drive[:, :, None])[:, :, 0]
    load = operators.loads(operator, omega, air)
    weighted = np.einsum("fn,fnj->fj", field.conj(), load) * drive
    through = 0.5 * np.real(weighted / scale[:, None])
    factor = operators.factors(operator, omega, air)
    wall = np.zeros(len(omega), dtype=complex)
    for index, term in enumerate(operator.matrices[2:], start=2):
        wall += factor[:, index] * np.einsum("fn,nf->f", field.conj(), term @ field.T)
    lost = 0.5 * np.real(wall / scale)
    left = through.sum(axis=1) - lost
    inlet = np.abs(through[:, 0])
    # a lossless closed bore takes no power at all: nothing to compare with
    return np.asarray(left / np.where(inlet > 0, inlet, 1.0))


def reciprocity(two_port: TwoPort, frequencies: Real, level: int = -1) -> Real:
    """|Z12 − Z21| / |Z12| at every frequency."""
    matrix = two_port_matrix(two_port, frequencies, level)
    return np.abs(matrix[:, 0, 1] - matrix[:, 1, 0]) / np.abs(matrix[:, 0, 1])


def pressure_field(
    mesh: MeshTri2, air: Air, frequency: float, termination: Termination, walls: Walls = "curved"
) -> Complex:
    """Pressure at the mesh's second-order nodes, scaled to a mean of 1 Pa over the rim plane.

    Parameters
    ----------
    mesh : MeshTri2
        Mesh of the bore in metres.
    air : Air
        Air at rest.
    frequency : float
        Frequency [Hz].
    termination : Termination
        What the shank end leads into.
    walls : {"lossless", "plain", "curved"}
        Losses at the walls.

    Returns
    -------
    ndarray, shape (n_nodes,), complex
        Pressure [Pa] in the order of ``mesh.doflocs``.
    """
    omega = 2 * np.pi * frequency
    operator = assemble(mesh, walls, order=2)
    driven, _ = operators.solve_at_frequency(operator, omega, air)
    matrix = operators.impedance_of(operator, omega, air, driven[None])
    (inflow,) = termination.inflow(matrix, np.array([omega]), air)
    areas = operators.effective_areas(operator, omega, air)[0]
    field = driven @ (np.array([1.0, inflow]) / areas)
    return np.asarray(field / (operator.ports[0].surface @ field / operator.ports[0].area))


def write_field(mesh: MeshTri2, pressure: Complex, path: str | Path) -> None:
    """Write real and imaginary part, magnitude and phase as point data of a ``.vtu``."""
    data = {
        "pressure_real_Pa": pressure.real,
        "pressure_imag_Pa": pressure.imag,
        "pressure_abs_Pa": np.abs(pressure),
        "pressure_phase_deg": np.degrees(np.angle(pressure)),
    }
    write_vtu(path, mesh.doflocs, mesh.dofs.element_dofs, data)
