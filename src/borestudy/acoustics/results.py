"""The acoustic results of one case, every number with its uncertainty."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from borestudy.acoustics.curves import (
    WALL_SHARE,
    WALL_SHARE_OF_CURVE,
    equivalent_lengths,
    mesh_uncertainty,
    mouthpiece_bands,
    mouthpiece_curves,
    with_uncertainty,
)
from borestudy.acoustics.player import nearest_harmonics, peak_centroid
from borestudy.acoustics.power import power_balance, reciprocity
from borestudy.acoustics.resonances import impedance_peaks, lossless_resonances, quality_factors
from borestudy.acoustics.termination import Behind
from borestudy.acoustics.two_port import TwoPort, input_impedance
from borestudy.acoustics.walls import layer_validity, truncation_share
from borestudy.closed_form.cavity import cut_on_frequencies

CHECK_POINTS = 25
QUANTITIES = ("frequency_Hz", "Q", "impedance_peak_Pa_s_per_m3")
MATCHING_SHARE = 0.05
#: What cutting an air column into slices leaves, as a share of each figure: twice the greatest
#: change that slices ten times finer made to the peaks of the demo's air column.
SLICES_SHARE = {"frequency_Hz": 8e-7, "Q": 5e-5, "impedance_peak_Pa_s_per_m3": 5e-5}
RIGID_ENDS = ("closed", "pressure node", "air column, closed")


def impedance_table(
    two_port: TwoPort, behind: Behind, frequencies: ArrayLike
) -> dict[str, NDArray[np.float64]]:
    """Columns of the impedance curve: frequency, real and imaginary part, their uncertainties."""
    frequencies = np.atleast_1d(frequencies)
    levels = np.stack(
        [input_impedance(two_port, behind, frequencies, n) for n in range(len(two_port.models))]
    )
    columns = {
        "frequency_Hz": frequencies,
        "impedance_real_Pa_s_per_m3": levels[-1].real,
        "impedance_imag_Pa_s_per_m3": levels[-1].imag,
    }
    share = two_port.finest.reduction.held_out_error
    share += 0.0 if two_port.finest.operator.walls == "lossless" else WALL_SHARE_OF_CURVE
    floor = share * np.abs(levels[-1])
    for part, values in (("real", levels.real), ("imag", levels.imag)):
        uncertainty = _grid(values) + floor
        columns[f"impedance_{part}_Pa_s_per_m3_uncertainty"] = uncertainty
    return columns


def _grid(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Grid uncertainty; NaN with one level, where nothing is known."""
    return mesh_uncertainty(values) if len(values) > 1 else np.full(values.shape[1:], np.nan)


def _level_peaks(
    two_port: TwoPort, behind: Behind, lowest: float, highest: float, level: int
) -> NDArray[np.float64]:
    """Frequency, Q and height of every peak on one level, shape (n_peaks, 3)."""

    def impedance(frequencies: NDArray[np.float64]) -> NDArray[np.complex128]:
        return input_impedance(two_port, behind, frequencies, level)

    if two_port.finest.operator.walls == "lossless" and behind.kind in RIGID_ENDS:
        frequency = lossless_resonances(impedance, lowest, highest)
        unknown = np.full(len(frequency), np.nan)  # nothing limits either
        return np.column_stack([frequency, unknown, unknown])
    frequency, height = impedance_peaks(impedance, lowest, highest)
    quality = quality_factors(impedance, frequency, lowest, highest)
    return np.column_stack([frequency, quality, height])


def _matched(peaks: NDArray[np.float64], frequency: float) -> NDArray[np.float64]:
    """The peak of another level nearest to ``frequency``; NaN where there is none near."""
    if len(peaks) == 0:
        return np.full(len(QUANTITIES), np.nan)
    nearest = peaks[np.argmin(np.abs(peaks[:, 0] - frequency))]
    if abs(nearest[0] / frequency - 1) > MATCHING_SHARE:
        return np.full(len(QUANTITIES), np.nan)
    return np.asarray(nearest)


def _resonance(levels: NDArray[np.float64], shares: dict[str, float]) -> dict[str, Any]:
    """One resonance's entry, from its figures on every level, shape (n_levels, 3)."""
    entry: dict[str, Any] = {}
    for index, name in enumerate(QUANTITIES):
        values = levels[:, index]
        known = bool(np.all(np.isfinite(values))) and len(values) > 1
        floor = shares[name] * abs(values[-1])
        entry[name] = float(values[-1]) if np.isfinite(values[-1]) else None
        entry[f"{name}_uncertainty"] = None
        if known:
            entry[f"{name}_uncertainty"] = float(mesh_uncertainty(values) + floor)
    entry["levels"] = {
        name: [float(value) if np.isfinite(value) else None for value in levels[:, index]]
        for index, name in enumerate(QUANTITIES)
    }
    return entry


def _truncation(two_port: TwoPort, behind: Behind, frequency: float) -> dict[str, float]:
    """What ending series and slicing leaves out at a frequency [Hz], as a share of each figure."""
    operator, air = two_port.finest.operator, two_port.air
    omega = 2 * np.pi * frequency
    loss = truncation_share(operator.walls, operator.largest_curvature, omega, air)
    # the layer is a small part of the section, and so is its share in a frequency
    layer = min(1.0, operator.largest_curvature * np.sqrt(air.kinematic_viscosity / omega))
    shares = {"frequency_Hz": loss * layer, "Q": loss, "impedance_peak_Pa_s_per_m3": loss}
    sliced = behind.kind.startswith("air column")
    return {name: shares[name] + (SLICES_SHARE[name] if sliced else 0.0) for name in QUANTITIES}


def _validity(two_port: TwoPort, behind: Behind, highest: float) -> str:
    """``good``, or in words what the range asks too much of."""
    air = two_port.air
    sideways, _ = cut_on_frequencies(two_port.finest.widest_radius, air.sound_speed)
    words = []
    layer = layer_validity(
        two_port.finest.operator.largest_curvature, two_port.lowest_frequency, air
    )
    if two_port.finest.operator.walls != "lossless" and layer != "good":
        words.append(layer)
    if highest > sideways:
        words.append(
            f"above {sideways:.0f} Hz the widest part carries a non-axisymmetric mode that an "
            "axisymmetric model cannot show"
        )
    if highest > behind.trusted_below(air):
        words.append(
            f"above {behind.trusted_below(air):.0f} Hz plane or spherical waves behind the shank "
            "are no longer a good model"
        )
    return "; ".join(words) or "good"


def resonance_results(
    two_port: TwoPort,
    behind: Behind,
    lowest_frequency: float | None = None,
    highest_frequency: float | None = None,
    fundamental: float | None = None,
) -> dict[str, Any]:
    """Everything ``acoustics.json`` says of one case.

    Parameters
    ----------
    two_port : TwoPort
        The bore, on every mesh level.
    behind : Behind
        What is behind the shank; changing it solves nothing anew.
    lowest_frequency, highest_frequency : float, optional [Hz]
        Range in which resonances are looked for; that of the two-port otherwise.
    fundamental : float, optional [Hz]
        With it every resonance says its cents above the nearest harmonic.

    Returns
    -------
    dict
        Ready for JSON; numbers that could not be computed are None.
    """
    lowest = lowest_frequency or two_port.lowest_frequency
    highest = highest_frequency or two_port.highest_frequency
    per_level = [
        _level_peaks(two_port, behind, lowest, highest, n) for n in range(len(two_port.models))
    ]
    finest = per_level[-1]
    basis_error = max(model.reduction.held_out_error for model in two_port.models)
    wall_share = {} if two_port.finest.operator.walls == "lossless" else WALL_SHARE
    resonances = []
    for peak in finest:
        matched = [_matched(peaks, peak[0]) for peaks in per_level[:-1]]
        truncation = _truncation(two_port, behind, peak[0])
        shares = {
            name: basis_error + wall_share.get(name, 0.0) + truncation[name] for name in QUANTITIES
        }
        resonances.append(_resonance(np.array([*matched, peak]), shares))
    if fundamental is not None:
        numbers, cents = nearest_harmonics(finest[:, 0], fundamental)
        for entry, number, deviation in zip(resonances, numbers, cents, strict=True):
            entry["nearest_harmonic"] = int(number)
            entry["cents_above_harmonic"] = float(deviation)
    checked = np.geomspace(lowest, highest, CHECK_POINTS)
    sideways, axisymmetric = cut_on_frequencies(
        two_port.finest.widest_radius, two_port.air.sound_speed
    )
    for entry, length in zip(
        resonances, equivalent_lengths(two_port, finest[:, 0], lowest), strict=True
    ):
        entry |= length
    return {
        "termination": behind.kind,
        "termination_note": behind.note,
        "walls": two_port.finest.operator.walls,
        "sound_speed_m_per_s": two_port.air.sound_speed,
        "range_Hz": [lowest, highest],
        "resonances": resonances,
        "power_balance": float(np.max(np.abs(power_balance(two_port, behind, checked)))),
        "reciprocity": float(np.max(reciprocity(two_port, checked))),
        "cut_on_Hz": sideways,
        "cut_on_axisymmetric_Hz": axisymmetric,
        "termination_trusted_below_Hz": _finite(behind.trusted_below(two_port.air)),
        "validity": _validity(two_port, behind, highest),
        **mouthpiece_bands(two_port, lowest, highest),
        "curves": mouthpiece_curves(two_port, lowest, highest),
        **_centroid(per_level),
        "unknowns": two_port.finest.unknowns,
        "level_unknowns": [model.unknowns for model in two_port.models],
        "wall_share": wall_share,
        "truncation_share": _truncation(two_port, behind, finest[0, 0]) if len(finest) else {},
        "max_residual": two_port.finest.reduction.solve_residual,
        "reduced_basis": {
            "snapshots": len(two_port.finest.reduction.snapshots),
            "held_out_error": basis_error,
            "largest_residual": float(two_port.finest.reduction.residuals[-1]),
            "direct": any(model.reduction.direct for model in two_port.models),
        },
    }


def _centroid(per_level: list[NDArray[np.float64]]) -> dict[str, Any]:
    """Centroid of the peaks, where every level has the same number of them."""
    centroids = [
        peak_centroid(peaks[:, 0], peaks[:, 2]) if np.isfinite(peaks).all() else None
        for peaks in per_level
    ]
    if len({len(peaks) for peaks in per_level}) > 1:
        centroids = [None, centroids[-1]]
    return with_uncertainty("peak_centroid_Hz", centroids, WALL_SHARE["Q"])


def _finite(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
