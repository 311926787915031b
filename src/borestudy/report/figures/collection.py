"""All figures of a study in one call."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd

from borestudy.drawing.style import FigureRecord
from borestudy.report.figures import along, instrument, positions, trends
from borestudy.report.figures.bores import draw_bores
from borestudy.report.figures.case import CaseView, reference_rate
from borestudy.report.figures.impedance import draw_impedance
from borestudy.report.figures.meshes import draw_mesh
from borestudy.report.figures.pressure import draw_pressure_drop
from borestudy.report.figures.resistance_change import CHANGE, draw_resistance_change
from borestudy.report.figures.sound_field import draw_resonance_field
from borestudy.report.figures.throat_entries import draw_throat_entries
from borestudy.report.topic import FLOW, RESONANCE, Topic
from borestudy.results.merged_flow import SOLUTIONS


@dataclass(frozen=True, kw_only=True)
class PicturedStudy:
    """What the figures of a study are drawn from.

    Attributes
    ----------
    cases : sequence of CaseView
        In the study's order.
    comparison, flow, impedance : DataFrame
        The tables of the same names.
    varied : sequence of str
        The columns of `comparison` that hold the varied dimensions; empty for a single case.
    """

    cases: Sequence[CaseView]
    comparison: pd.DataFrame
    flow: pd.DataFrame
    impedance: pd.DataFrame
    varied: Sequence[str]

    @property
    def reference(self) -> int:
        """Index of the flow rate that the comparison is about."""
        rates = list(self.flow["flow_rate_L_per_s"].unique())
        return rates.index(reference_rate(self.comparison, self.flow))


def draw_all(directory: Path, study: PicturedStudy, topic: Topic = FLOW) -> list[FigureRecord]:
    """Draw every figure the results allow as SVG and PNG, in the report's order.

    Parameters
    ----------
    directory : Path
        Made if it does not exist.
    study : PicturedStudy
        Cases and tables.
    topic : {"resonance", "flow"}
        Which figures come first.
    """
    labels = {case.name: case.label for case in study.cases}
    table = study.comparison.assign(label=study.comparison["case"].map(labels))
    study = replace(study, comparison=table)
    groups = {RESONANCE: _sounding, FLOW: _flowing}
    figures = [draw_bores(study.cases, directory), *groups.pop(topic)(directory, study)]
    figures += [record for draw in groups.values() for record in draw(directory, study)]
    meshed = next((case for case in study.cases if case.mesh_path), None)
    if meshed is not None:
        figures.append(draw_mesh(meshed, directory))
    return figures


def _sounding(directory: Path, study: PicturedStudy) -> list[FigureRecord]:
    """The figures of the resonance that the results allow."""
    if study.impedance.empty:
        return []
    cases, comparison, figures = study.cases, study.comparison, []
    if len(comparison) > 1:
        if instrument.has_instrument(comparison):
            figures.append(instrument.draw_peaks(comparison, cases, directory))
        if positions.has_numbers(comparison, "resonance_Hz"):
            figures.append(trends.draw_resonance(comparison, study.varied, directory))
    figures.append(draw_impedance(study.impedance, cases, directory))
    if any(instrument.has_curves(case) for case in cases):
        figures.append(instrument.draw_mouthpiece(cases, directory))
    pictured = next((case for case in cases if case.acoustic_field), None)
    if pictured is not None:
        figures.append(draw_resonance_field(pictured, directory))
    return figures


def _flowing(directory: Path, study: PicturedStudy) -> list[FigureRecord]:
    """The figures of the flow that the results allow."""
    cases, comparison, flow, figures = study.cases, study.comparison, study.flow, []
    if not np.isfinite(positions.converged_column(flow, "pressure_drop_Pa")).any():
        return []
    if len(comparison) > 1:
        figures.append(trends.draw_resistance(comparison, flow, study.varied, directory))
        if any(positions.has_numbers(flow, f"{CHANGE}_{word}_percent") for word in SOLUTIONS):
            figures.append(draw_resistance_change(comparison, flow, study.varied, directory))
    figures.append(draw_pressure_drop(flow, cases, directory))
    rate = study.reference
    if any(rate in case.flow_fields for case in cases):
        figures.append(draw_throat_entries(cases, rate, directory))
    if along.with_line(cases, rate, "axis"):
        figures.append(along.draw_axis_pressure(cases, rate, directory))
    if along.with_line(cases, rate, "wall"):
        figures.append(along.draw_wall(cases, rate, directory))
    return figures
