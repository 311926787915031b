"""A small made-up study: two tubes with a step, whose fields are closed forms."""

from pathlib import Path
from typing import Any

import meshio
import numpy as np
import pandas as pd
import pytest

from borestudy.drawing.bore import Outline
from borestudy.report.figures.case import CaseView
from borestudy.report.figures.collection import PicturedStudy

RATES = (0.05, 0.2)


def tube_field(path: Path, radius_mm: float, length_mm: float, reverse: bool = False) -> None:
    """Write a parabolic velocity profile in a tube, turned back near the wall if asked."""
    x, share = np.meshgrid(np.linspace(0, length_mm, 41), np.linspace(0, 1, 21), indexing="ij")
    number = np.arange(x.size).reshape(x.shape)
    first, second = number[:-1, :-1].ravel(), number[1:, :-1].ravel()
    third, fourth = number[1:, 1:].ravel(), number[:-1, 1:].ravel()
    triangles = np.concatenate(
        [np.column_stack([first, second, third]), np.column_stack([first, third, fourth])]
    )
    axial = (2 * (1 - share**2)).ravel()
    if reverse:
        axial = np.where((share.ravel() > 0.8) & (share.ravel() < 1), -0.5, axial)
    velocity = np.column_stack([axial, 0 * axial, 0 * axial])
    turn = np.radians(x.ravel())
    points = 1e-3 * np.column_stack([x.ravel(), radius_mm * share.ravel(), 0 * axial])
    meshio.Mesh(
        points,
        [("triangle", triangles)],
        point_data={
            "velocity_m_per_s": velocity,
            "speed_m_per_s": abs(axial),
            # a quarter wave whose phase turns by a degree a millimetre
            "pressure_real_Pa": np.cos(np.pi / 2 * x.ravel() / length_mm) * np.cos(turn),
            "pressure_imag_Pa": -np.cos(np.pi / 2 * x.ravel() / length_mm) * np.sin(turn),
        },
    ).write(path)


def two_triangles(path: Path) -> None:
    """Write a mesh of two triangles with a common side."""
    points = 1e-3 * np.array([[0.0, 0, 0], [20, 0, 0], [20, 2, 0], [0, 2, 0]])
    meshio.Mesh(points, [("triangle", np.array([[0, 1, 2], [0, 2, 3]]))]).write(path)


def both_solutions(laminar: float, turbulent: float | None, index: int) -> dict[str, Any]:
    """The flow table's columns that a second solution fills, of case number `index`."""
    closed = np.nan if turbulent is None else turbulent
    row: dict[str, Any] = {
        "solution": "laminar",
        "laminar_converged": bool(np.isfinite(laminar)),
        "turbulent_converged": None if turbulent is None else True,
        "span_note": "between both solutions",
        "solutions_apart_to_throat_end_percent": np.nan if turbulent is None else 0.2,
        "handbook_pressure_drop_low_Pa": 0.8 * laminar,
        "handbook_pressure_drop_high_Pa": 1.2 * laminar,
        "handbook_pressure_drop_change_low_percent": -9.0 * index,
        "handbook_pressure_drop_change_high_percent": -1.0 * index,
    }
    for part, share in (("_to_throat_end", 1.2), ("", 1.0)):
        row[f"pressure_drop{part}_Pa"] = share * laminar
        row[f"turbulent_pressure_drop{part}_Pa"] = share * closed
    row["backbore_pressure_drop_Pa"] = -0.2 * laminar
    row["turbulent_backbore_pressure_drop_Pa"] = -0.2 * closed
    row |= {f"{name}_uncertainty": 0.01 * abs(row[name]) for name in list(row)
            if name.endswith("drop_Pa") or name.endswith("end_Pa")}  # fmt: skip
    for word, change in (("laminar", -5.0), ("turbulent", -8.0)):
        known = np.isfinite(laminar if word == "laminar" else closed)
        name = f"pressure_drop_change_{word}_percent"
        row[name] = change * index if known else np.nan
        row[f"{name}_uncertainty"] = 0.5 * index if known else np.nan
    return row


def make_study(
    directory: Path,
    words: tuple[str, ...] = ("square", "rounded 1 mm"),
    unsolved: int | None = None,
    fields: bool = True,
) -> PicturedStudy:
    """Make a study; the case number `unsolved` did not converge at the greatest rate."""
    cases, comparison, flow, impedance = [], [], [], []
    frequency = np.linspace(100, 2000, 120)
    for index, word in enumerate(words):
        name = f"throat_entry-{word.replace(' ', '_')}"
        bad = index == unsolved
        outline = Outline(
            np.array([0.0, 5, 5, 20]),
            np.array([4.0, 4, 2, 2]),
            {"cup": (0, 5), "throat": (5, 9), "backbore": (9, 20)},
        )
        resonance, quality = 800.0 + index, 14.0 - 0.1 * index
        ratio = frequency / resonance
        value = 3e6 * 1j * ratio / (1 + 1j * ratio / quality - ratio**2)
        drop = {rate: 2e4 * rate**2 * (1 - 0.05 * index) for rate in RATES}
        rates = []
        for rate in RATES:
            missing = bad and rate == RATES[-1]
            laminar = rate == RATES[0]
            solved = np.nan if missing else drop[rate]
            flow.append(
                {
                    "case": name,
                    "flow_rate_L_per_s": rate,
                    "throat_reynolds": 23000 * rate,
                    "pressure_drop_Pa": solved,
                    "pressure_drop_Pa_uncertainty": 0.01 * solved,
                    "loss_coefficient": 1.25,
                    "regime": "laminar" if laminar else "turbulent",
                    "pressure_drop_low_Pa": solved * (1 if laminar else 0.7),
                    "pressure_drop_high_Pa": solved * (1 if laminar else 1.4),
                    "converged": not missing,
                    "pressure_drop_change_percent": np.nan if missing else -5.0 * index,
                    "pressure_drop_change_percent_uncertainty": np.nan if missing else 0.5 * index,
                    "pressure_drop_change_low_percent": np.nan if missing else -8.0 * index,
                    "pressure_drop_change_high_percent": np.nan if missing else -2.0 * index,
                    "pressure_drop_change_verdict": "lower",
                }
                | both_solutions(solved, None if laminar or missing else 0.7 * solved, index)
            )
            axis = {"position_mm": [0, 5, 20], "pressure_Pa": [drop[rate], 0, 0]}
            rates.append(
                {
                    "flow_rate_L_per_s": rate,
                    "regime": flow[-1]["regime"],
                    "axis": {} if missing else axis,
                }
            )
        field = directory / f"{index}.vtu"
        if fields:
            tube_field(field, 2.0, 20.0, reverse=index == 1)
            two_triangles(directory / f"{index}.vtk")
        peak = {"frequency_Hz": resonance, "impedance_peak_Pa_s_per_m3": 3e6 * quality}
        cases.append(
            CaseView(
                name,
                word,
                outline,
                {"resonances": [peak]},
                {"rates": rates},
                directory / f"{index}.vtk" if fields else None,
                {RATES[-1]: field} if fields and not bad else {},
                field if fields else None,
            )
        )
        solved = np.nan if bad else drop[RATES[-1]]
        comparison.append(
            {
                "case": name,
                "throat.entry": word,
                "cup_volume_cm3": 0.2513,
                "resonance_Hz": resonance,
                "resonance_Hz_uncertainty": 0.3,
                "resonance_Q": quality,
                "resonance_Q_uncertainty": 0.02,
                "impedance_peak_Pa_s_per_m3": 3e6 * quality,
                "impedance_peak_Pa_s_per_m3_uncertainty": 1e5,
                "flow_rate_L_per_s": RATES[-1],
                "throat_reynolds": 23000 * RATES[-1],
                "pressure_drop_Pa": solved,
                "pressure_drop_Pa_uncertainty": 0.01 * solved,
                "flow_resistance_kPa_s_per_L": 1e-3 * solved / RATES[-1],
                "flow_resistance_kPa_s_per_L_uncertainty": 1e-5 * solved / RATES[-1],
                "regime": "turbulent",
            }
        )
        impedance.append(
            pd.DataFrame(
                {
                    "case": name,
                    "frequency_Hz": frequency,
                    "impedance_real_Pa_s_per_m3": value.real,
                    "impedance_imag_Pa_s_per_m3": value.imag,
                }
            )
        )
    return PicturedStudy(
        cases=cases,
        comparison=pd.DataFrame(comparison),
        flow=pd.DataFrame(flow),
        impedance=pd.concat(impedance, ignore_index=True),
        varied=["throat.entry"],
    )


@pytest.fixture
def study(tmp_path: Path) -> PicturedStudy:
    """Two cases, the second with a separated region, both solved."""
    return make_study(tmp_path)
