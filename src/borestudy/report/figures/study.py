"""All figures of a study in one call."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pandas as pd

from borestudy.drawing.style import FigureRecord
from borestudy.report.figures.bores import draw_bores
from borestudy.report.figures.case import CaseView, reference_rate
from borestudy.report.figures.fields import draw_throat_entries
from borestudy.report.figures.impedance import draw_impedance
from borestudy.report.figures.instrument import (
    draw_mouthpiece,
    draw_peaks,
    has_curves,
    has_instrument,
)
from borestudy.report.figures.meshes import draw_mesh
from borestudy.report.figures.pressure import draw_axis_pressure, draw_pressure_drop
from borestudy.report.figures.resistance_change import CHANGE, draw_resistance_change
from borestudy.report.figures.sound_field import draw_resonance_field
from borestudy.report.figures.trends import (
    column_of,
    converged_column,
    draw_resistance,
    draw_resonance,
)
from borestudy.report.figures.walls import draw_wall
from borestudy.report.topic import FLOW, RESONANCE, Topic
from borestudy.results.merged_flow import SOLUTIONS


def write_all(
    directory: Path,
    *,
    cases: Sequence[CaseView],
    comparison: pd.DataFrame,
    flow: pd.DataFrame,
    impedance: pd.DataFrame,
    varied: Sequence[str],
    topic: Topic = FLOW,
) -> list[FigureRecord]:
    """Draw every figure the results allow, as SVG and PNG.

    Parameters
    ----------
    directory : Path
        Made if it does not exist.
    cases : sequence of CaseView
        In the study's order.
    comparison, flow, impedance : DataFrame
        The tables of the same names.
    varied : sequence of str
        The columns of `comparison` that hold the varied dimensions; empty for a single case.
    topic : {"resonance", "flow"}
        Which figures come first.

    Returns
    -------
    list of FigureRecord
        In the report's order.
    """
    comparison = comparison.copy().assign(
        label=comparison["case"].map({case.name: case.label for case in cases})
    )
    groups = {
        RESONANCE: _sounding(directory, cases, comparison, impedance, varied),
        FLOW: _flowing(directory, cases, comparison, flow, varied),
    }
    figures = [draw_bores(cases, directory), *groups.pop(topic)]
    figures += [record for group in groups.values() for record in group]
    meshed = next((case for case in cases if case.mesh_path), None)
    if meshed is not None:
        figures.append(draw_mesh(meshed, directory))
    return figures


def _sounding(
    directory: Path,
    cases: Sequence[CaseView],
    comparison: pd.DataFrame,
    impedance: pd.DataFrame,
    varied: Sequence[str],
) -> list[FigureRecord]:
    """The figures of the resonance that the results allow."""
    if len(impedance) == 0:
        return []
    figures = []
    if len(comparison) > 1:
        if has_instrument(comparison):
            figures.append(draw_peaks(comparison, cases, directory))
        if has_numbers(comparison, "resonance_Hz"):
            figures.append(draw_resonance(comparison, varied, directory))
    figures.append(draw_impedance(impedance, cases, directory))
    if any(has_curves(case) for case in cases):
        figures.append(draw_mouthpiece(cases, directory))
    pictured = next((case for case in cases if case.acoustic_field), None)
    if pictured is not None:
        figures.append(draw_resonance_field(pictured, directory))
    return figures


def _flowing(
    directory: Path,
    cases: Sequence[CaseView],
    comparison: pd.DataFrame,
    flow: pd.DataFrame,
    varied: Sequence[str],
) -> list[FigureRecord]:
    """The figures of the flow that the results allow."""
    if not np.isfinite(converged_column(flow, "pressure_drop_Pa")).any():
        return []
    figures = []
    if len(comparison) > 1:
        figures.append(draw_resistance(comparison, flow, varied, directory))
        if any(has_numbers(flow, f"{CHANGE}_{word}_percent") for word in SOLUTIONS):
            figures.append(draw_resistance_change(comparison, flow, varied, directory))
    figures.append(draw_pressure_drop(flow, cases, directory))
    rate = reference_rate(comparison, flow)
    if any(case.flow_field(rate) for case in cases):
        figures.append(draw_throat_entries(cases, rate, directory))
    if any(case.rate(rate).get("axis") for case in cases):
        figures.append(draw_axis_pressure(cases, rate, directory))
    if any(case.rate(rate).get("wall") for case in cases):
        figures.append(draw_wall(cases, rate, directory))
    return figures


def has_numbers(table: pd.DataFrame, name: str) -> bool:
    """Tell whether a table has a number in a column of that name."""
    return bool(np.isfinite(column_of(table, name)).any())
