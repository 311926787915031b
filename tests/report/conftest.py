"""A small made-up study: two tubes with a step, whose fields are closed forms."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import meshio
import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure

from borestudy.acoustics.result import AcousticResult, Curves, Resonance
from borestudy.drawing import style
from borestudy.drawing.bore import Outline
from borestudy.drawing.looks import Look, using
from borestudy.flow.result import AxisLine, FlowAtRate
from borestudy.quantity import Quantity
from borestudy.report.figures.case import CaseView, PicturedStudy
from borestudy.results.case import CaseResults
from borestudy.results.estimate import EstimatedFlow, EstimatedRate

RATES = (0.05, 0.2)
#: Indices of the rates.
SOFT, LOUD = range(2)


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


def both_errors(drop: float, loud: bool, index: int) -> dict[str, Any]:
    """The flow table's columns of the errors and of the extremes, of case number `index`."""
    row: dict[str, Any] = {
        "note": "",
        "transition_position_mm": 12.0 if loud else np.nan,
        "model_words": "cone angle below those measured" if loud else "",
        "pressure_drop_to_throat_end_Pa": 1.2 * drop,
        "backbore_pressure_drop_Pa": -0.2 * drop,
    }
    for part in ("pressure_drop", "pressure_drop_to_throat_end", "backbore_pressure_drop"):
        value = row.get(f"{part}_Pa", drop)
        row[f"{part}_Pa_uncertainty"] = 0.01 * abs(value)
        row[f"{part}_model_error_low_Pa"] = 0.1 * abs(value)
        row[f"{part}_model_error_high_Pa"] = 0.2 * abs(value) if loud else 0.1 * abs(value)
    solved = bool(np.isfinite(drop))
    row |= {"laminar_converged": solved, "turbulent_converged": solved if loud else None}
    row |= {"laminar_pressure_drop_Pa": 1.5 * drop}
    row |= {"turbulent_pressure_drop_Pa": 0.8 * drop if loud else np.nan}
    for word in ("laminar", "turbulent"):
        name = f"{word}_pressure_drop_Pa"
        row[f"{name}_uncertainty"] = 0.01 * row[name]
    row["pressure_drop_change_percent"] = (-8.0 if loud else -5.0) * index if solved else np.nan
    row["pressure_drop_change_percent_uncertainty"] = 0.5 * index if solved else np.nan
    row["pressure_drop_change_verdict"] = "lower" if solved else "not known: no result"
    return row


def made_up_rate(rate: float, drop: float, converged: bool = True) -> EstimatedRate:
    """A flow rate with an estimate, of which the pressure on the axis is known."""
    axis = AxisLine(position_mm=(0, 5, 20), pressure_Pa=(drop, 0, 0), velocity_m_per_s=(1, 2, 3))
    loud = rate == RATES[-1]
    return EstimatedRate(
        flow_rate_L_per_s=rate,
        throat_reynolds=23000 * rate,
        throat_velocity_m_per_s=90 * rate,
        dynamic_pressure_Pa=drop,
        mach_number=0.3 * rate,
        estimate=FlowAtRate(
            flow_rate_L_per_s=rate,
            converged=converged,
            axis=axis,
            transition_position_mm=12.0 if loud else None,
        ),
    )


def a_peak(frequency: float, height: float, field: str | None = None) -> Resonance:
    """A resonance that is known by its frequency [Hz] and its height, and may have a field."""
    return Resonance(
        frequency=Quantity(frequency, None, "Hz"),
        impedance_peak=Quantity(height, None, "Pa_s_per_m3"),
        field=field,
    )


def at_rate(study: PicturedStudy, index: int) -> PicturedStudy:
    """The study with its comparison at another of its rates."""
    return replace(study, comparison=study.comparison.assign(flow_rate_L_per_s=RATES[index]))


def with_acoustics(case: CaseView, **changes: Any) -> CaseView:
    """The case with other acoustic results."""
    assert case.results.acoustics is not None
    acoustics = replace(case.results.acoustics, **changes)
    return replace(case, results=replace(case.results, acoustics=acoustics))


def with_lines(case: CaseView, **lines: Any) -> CaseView:
    """The case with further lines of its flow, at all rates."""
    rates = []
    for row in case.results.rates:
        assert row.estimate is not None
        rates.append(replace(row, estimate=replace(row.estimate, **lines)))
    flow = replace(case.results.flow, rates=tuple(rates))
    return replace(case, results=replace(case.results, flow=flow))


def curves(offset: float = 0.0) -> Curves:
    """A mouthpiece's own curves in closed forms."""
    frequency = np.geomspace(50, 2000, 30)
    nothing = tuple(0 * frequency)
    return Curves(
        frequency_Hz=tuple(frequency),
        equivalent_length_mm=tuple(60 + 0.05 * frequency + offset),
        equivalent_length_mm_uncertainty=nothing,
        pressure_gain=tuple(1 + frequency / 2000),
        pressure_gain_uncertainty=nothing,
        pressure_transfer=tuple(1 / (1 + frequency / 500)),
        pressure_transfer_uncertainty=nothing,
    )


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
        drop = {rate: 2e4 * rate**2 * (1 - 0.06 * index) for rate in RATES}
        rates = []
        for rate in RATES:
            missing = bad and rate == RATES[-1]
            loud = rate == RATES[-1]
            solved = np.nan if missing else drop[rate]
            flow.append(
                {
                    "case": name,
                    "flow_rate_L_per_s": rate,
                    "throat_reynolds": 23000 * rate,
                    "pressure_drop_Pa": solved,
                    "loss_coefficient": 1.25,
                    "regime": "turbulent" if loud else "laminar",
                    "pressure_drop_low_Pa": solved * 0.9,
                    "pressure_drop_high_Pa": solved * (1.2 if loud else 1.1),
                    "converged": not missing,
                }
                | both_errors(solved, loud, index)
            )
            rates.append(made_up_rate(rate, drop[rate], converged=not missing))
        field = directory / f"{index}.vtu"
        if fields:
            tube_field(field, 2.0, 20.0, reverse=index == 1)
            two_triangles(directory / f"{index}.vtk")
        results = CaseResults(
            name,
            acoustics=AcousticResult(
                resonances=(a_peak(resonance, 3e6 * quality, field.name if fields else None),)
            ),
            flow=EstimatedFlow(rates=tuple(rates)),
        )
        cases.append(
            CaseView(
                label=word,
                outline=outline,
                results=results,
                flow_fields={LOUD: field} if fields and not bad else {},
                acoustic_field=field if fields else None,
                mesh_path=directory / f"{index}.vtk" if fields else None,
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
                "resonance_change_cents": 2.0 * index,
                "resonance_change_cents_uncertainty": 0.4 * index,
                "resonance_Q_change_percent": -0.7 * index,
                "resonance_Q_change_percent_uncertainty": 0.1 * index,
                "impedance_peak_change_percent": -0.6 * index,
                "impedance_peak_change_percent_uncertainty": 0.2 * index,
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


#: For a page, and for a column of a thesis.
LOOKS = (Look(), Look(84.0, 9.0, "serif"))


@pytest.fixture(params=LOOKS, ids=lambda look: f"{look.width_mm:g} mm")
def look(request: pytest.FixtureRequest) -> Iterator[Look]:
    """Figures of either look are drawn meanwhile."""
    with using(request.param):
        yield request.param


@pytest.fixture
def study(tmp_path: Path) -> PicturedStudy:
    """Two cases, the second with a separated region, both solved."""
    return make_study(tmp_path)


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> list[Figure]:
    """The drawings themselves, in the order they were saved."""
    kept: list[Figure] = []
    save = style.save

    def keep(drawing: Figure, *arguments: Any, **keywords: Any) -> Any:
        kept.append(drawing)
        return save(drawing, *arguments, **keywords)

    monkeypatch.setattr(style, "save", keep)
    return kept
