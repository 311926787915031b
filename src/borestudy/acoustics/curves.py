"""What belongs to the mouthpiece itself, whatever is behind it, each with its uncertainty.

Transfer and gain are those into an endless pipe of the shank's section, so that they show the
mouthpiece and not the resonances of an instrument; see :mod:`borestudy.acoustics.player` for the
definitions.
"""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from borestudy.acoustics.player import (
    equivalent_length,
    gain_curve,
    gain_figures,
    transfer_curve,
    transfer_figures,
)
from borestudy.acoustics.termination import Behind, termination
from borestudy.acoustics.two_port import TwoPort
from borestudy.fem.uncertainty import grid_uncertainty

#: What the wall condition leaves out, as a share of each figure: the greatest deviation seen in
#: pipes and cones with exact tube functions (1.83 to 4.6 mm, 100 Hz to 5 kHz), which no finer mesh
#: takes away.
WALL_SHARE = {"frequency_Hz": 1e-5, "Q": 6e-4, "impedance_peak_Pa_s_per_m3": 6e-4}
WALL_SHARE_OF_CURVE = 2e-4
#: Points over the range from which bands and equivalent lengths are interpolated, and what that
#: leaves as a share of a figure.
BAND_POINTS, BAND_SHARE = 1001, 1e-5
#: Every so many of these points is kept for drawing.
KEPT = 5
#: Below this many shank radii in half a wave the equivalent length's branch is not known.
HALF_WAVES_OF_LENGTH = 40
Curve = Callable[[TwoPort, Behind, NDArray[np.float64], int], NDArray[np.float64]]
BandFigures = Callable[[TwoPort, Behind, NDArray[np.float64], int], dict[str, Any]]


def _endless_pipe(two_port: TwoPort) -> Behind:
    return termination("anechoic pipe", two_port.shank_radius, two_port.finest.operator.walls)


def mouthpiece_bands(two_port: TwoPort, lowest: float, highest: float) -> dict[str, dict[str, Any]]:
    """Peak and −3 dB band of transfer and gain, each figure with its uncertainty."""
    return {
        "transfer": _band(two_port, transfer_figures, lowest, highest),
        "gain": _band(two_port, gain_figures, lowest, highest),
    }


def _band(two_port: TwoPort, figures: BandFigures, lowest: float, highest: float) -> dict[str, Any]:
    behind, grid = _endless_pipe(two_port), np.geomspace(lowest, highest, BAND_POINTS)
    levels = [figures(two_port, behind, grid, n) for n in range(len(two_port.models))]
    found: dict[str, Any] = {}
    for name in ("peak", "peak_frequency_Hz", "band_low_Hz", "band_high_Hz"):
        share = WALL_SHARE["frequency_Hz" if name.endswith("_Hz") else "Q"]
        found |= with_uncertainty(name, [level[name] for level in levels], share + BAND_SHARE)
    return found | {"peak_at_range_edge": levels[-1]["peak_at_range_edge"]}


def mouthpiece_curves(two_port: TwoPort, lowest: float, highest: float) -> dict[str, list[float]]:
    """Equivalent length, transfer and gain against frequency, each with its uncertainty.

    Returns
    -------
    dict
        Lists of one length: ``frequency_Hz``, ``pressure_transfer``, ``pressure_gain``, their
        ``_uncertainty`` where there are two mesh levels; ``equivalent_length_mm`` where it can be
        followed from below.
    """
    grid = np.geomspace(lowest, highest, BAND_POINTS)
    behind, levels = _endless_pipe(two_port), range(len(two_port.models))
    curves: dict[str, list[NDArray[np.float64]]] = {
        "pressure_transfer": [transfer_curve(two_port, behind, grid, n) for n in levels],
        "pressure_gain": [gain_curve(two_port, behind, grid, n) for n in levels],
    }
    if _is_followed(two_port, lowest):
        curves["equivalent_length_mm"] = [
            1e3 * equivalent_length(two_port, grid, n) for n in levels
        ]
    found = {"frequency_Hz": grid[::KEPT].tolist()}
    for name, values in curves.items():
        kept = np.array(values)[:, ::KEPT]
        found[name] = kept[-1].tolist()
        if len(kept) > 1:
            error = mesh_uncertainty(kept) + WALL_SHARE["Q"] * np.abs(kept[-1])
            found[f"{name}_uncertainty"] = error.tolist()
    return found


def _is_followed(two_port: TwoPort, lowest: float) -> bool:
    """Whether half a wave at the lowest frequency is surely longer than the equivalent length."""
    half_wave = two_port.air.sound_speed / (2 * lowest)
    return half_wave >= HALF_WAVES_OF_LENGTH * two_port.shank_radius


def equivalent_lengths(
    two_port: TwoPort, frequencies: NDArray[np.float64], lowest: float
) -> list[dict[str, Any]]:
    """Equivalent length at each frequency; nothing where it cannot be followed from below."""
    if len(frequencies) == 0 or not _is_followed(two_port, lowest):
        return [{} for _ in frequencies]
    grid = np.geomspace(lowest, frequencies[-1], BAND_POINTS)
    levels = [
        np.interp(frequencies, grid, equivalent_length(two_port, grid, n))
        for n in range(len(two_port.models))
    ]
    return [
        with_uncertainty("equivalent_length_mm", list(1e3 * np.array(values)), WALL_SHARE["Q"])
        for values in zip(*levels, strict=True)
    ]


def mesh_uncertainty(levels: ArrayLike) -> NDArray[np.float64]:
    """Grid convergence index of a figure on every level, coarsest first.

    No order above that of a re-entrant edge is trusted: between three levels the smooth part of
    an error can hide the edge's, which is what finer meshes are left with.
    """
    return grid_uncertainty(levels)


def with_uncertainty(name: str, levels: Sequence[Any], share: float) -> dict[str, float | None]:
    """The finest level's figure, and its uncertainty where every level has one."""
    finest = levels[-1]
    known = len(levels) > 1 and None not in levels
    return {
        name: None if finest is None else float(finest),
        f"{name}_uncertainty": float(mesh_uncertainty(levels) + share * abs(finest))
        if known
        else None,
    }
