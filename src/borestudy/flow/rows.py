"""One flow rate's results as plain numbers: each with its uncertainty, its span, its balances."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from borestudy.air import Air

from .balances import balances_of
from .measures import bore_sections, pressure_drop_slope
from .problem import State
from .regime import REFINED_TO, regime
from .solver import Level
from .uncertainty import judge_pressure_drop, ladder_uncertainty

THROAT_END = "throat_end"
#: What a solution's mechanical energy may be off by, as a share of what is dissipated.
ENERGY_LIMIT = 0.01


@dataclass(frozen=True)
class Scale:
    """One flow rate in SI, and what scaled results are multiplied with."""

    flow_rate: float
    velocity: float
    reynolds: float
    mach: float
    pressure: float
    length: float


def rate_scale(air: Air, rate: float, diameter: float) -> Scale:
    """Scales of a flow rate [m³/s] through a throat of a diameter [m]."""
    velocity = rate / (np.pi / 4 * diameter**2)
    return Scale(
        flow_rate=rate,
        velocity=velocity,
        reynolds=velocity * diameter / air.kinematic_viscosity,
        mach=velocity / air.sound_speed,
        pressure=air.density * velocity**2,
        length=diameter,
    )


def scaled_figures(level: Level, state: State) -> dict[str, float]:
    """The figures of one state on one mesh that carry a numerical uncertainty, scaled by q or Q/q.

    `slope` is the pressure drop's derivative by the flow rate, from the branch's tangent: with
    Δp = ρU² p(Re) and U and Re both proportional to Q it is (ρU²/Q)(2p + Re dp/dRe).
    """
    sections = bore_sections(level.problem, state, level.sections)
    rim, end = sections["rim_plane"], sections["shank_end"]
    drop = rim.pressure - end.pressure
    turn = pressure_drop_slope(level.problem, state, level.sections["rim_plane"])
    figures = {
        "pressure_drop": 2 * drop,
        "loss": 2 * (rim.head - end.head),
        "slope": 2 * (2 * drop + state.reynolds * turn),
    }
    if THROAT_END in sections:
        to_throat = 2 * (rim.pressure - sections[THROAT_END].pressure)
        area_ratio = 1 / rim.area
        figures["to_throat_end"] = to_throat
        figures["backbore"] = 2 * drop - to_throat
        figures["discharge"] = float(np.sqrt((1 - area_ratio**2) / max(to_throat, 1e-30)))
    return figures


def rate_row(
    scale: Scale,
    levels: Sequence[Level],
    index: int,
    ratio: float,
    tolerance: float,
) -> dict[str, Any]:
    """Everything integral about one flow rate, on levels that all have the state of that index."""
    dynamic = 0.5 * scale.pressure
    found = [level.states[index] for level in levels]
    states = [state for state in found if state is not None]
    of_levels = [scaled_figures(level, state) for level, state in zip(levels, states, strict=True)]
    values = {name: [figures[name] for figures in of_levels] for name in of_levels[0]}
    finest = states[-1]
    row: dict[str, Any] = {
        "flow_rate_L_per_s": 1e3 * scale.flow_rate,
        "throat_reynolds": scale.reynolds,
        "throat_velocity_m_per_s": scale.velocity,
        "dynamic_pressure_Pa": dynamic,
        "mach_number": scale.mach,
        "regime": regime(scale.reynolds),
        "converged": True,
        "residual": finest.residual,
        "levels": {},
    }
    slope_unit = dynamic / scale.flow_rate * 1e-6
    for key, name, unit in (
        ("pressure_drop_Pa", "pressure_drop", dynamic),
        ("loss_coefficient", "loss", 1.0),
        ("differential_resistance_kPa_s_per_L", "slope", slope_unit),
        ("pressure_drop_to_throat_end_Pa", "to_throat_end", dynamic),
        ("backbore_pressure_drop_Pa", "backbore", dynamic),
        ("discharge_coefficient", "discharge", 1.0),
    ):
        if name not in values:
            row[key] = row[f"{key}_uncertainty"] = None
            continue
        ladder = unit * np.array(values[name])
        row[key] = float(ladder[-1])
        row[f"{key}_uncertainty"] = ladder_uncertainty(ladder, ratio) if len(ladder) > 1 else None
        row["levels"][key] = ladder.tolist()
    balances = balances_of(levels, states, dynamic, ratio)
    missing = [
        2 * dynamic * level.goal_error.estimate(state)
        for level, state in zip(levels, states, strict=True)
    ]
    energy = abs(balances["energy_balance"] * balances["budget"]["dissipation_Pa"])
    judge_pressure_drop(row, missing, energy, tolerance)
    return row | balances


def neighbouring_levels(levels: Sequence[Level], index: int, least: int) -> list[int]:
    """Numbers of the finest run of neighbouring levels with a state, none if it is shorter.

    A rate that fails on a coarse mesh may well have an answer on finer ones.
    """
    run: list[int] = []
    for number in reversed(range(len(levels))):
        if levels[number].states[index] is not None:
            run.insert(0, number)
        elif len(run) >= least:
            break
        else:
            run = []
    return run if len(run) >= least else []


def wants_refinement(row: dict[str, Any]) -> bool:
    """Whether a rate needs a finer mesh: no solution, not to the tolerance, energy not balanced."""
    if not row["converged"] or abs(row["energy_balance"]) > ENERGY_LIMIT:
        return True
    return row["throat_reynolds"] <= REFINED_TO and not row.get("tolerance_reached", True)


def missing_row(
    scale: Scale, scales: Sequence[Scale], levels: Sequence[Level], least: int
) -> dict[str, Any]:
    """A rate whose solution was not reached on every mesh: says so, holds no number."""
    last = 0.0
    for index, other in enumerate(scales):
        if neighbouring_levels(levels, index, least):
            last = max(last, other.flow_rate)
    keys = (
        "pressure_drop_Pa",
        "pressure_drop_Pa_uncertainty",
        "loss_coefficient",
        "loss_coefficient_uncertainty",
        "differential_resistance_kPa_s_per_L",
        "differential_resistance_kPa_s_per_L_uncertainty",
        "mass_balance",
        "section_mass_flux",
        "energy_balance",
        "residual",
    )
    return {
        "flow_rate_L_per_s": 1e3 * scale.flow_rate,
        "throat_reynolds": scale.reynolds,
        "throat_velocity_m_per_s": scale.velocity,
        "mach_number": scale.mach,
        "regime": regime(scale.reynolds),
        "converged": False,
        "last_converged_flow_rate_L_per_s": 1e3 * last if last else None,
        **dict.fromkeys(keys),
        "levels": {},
    }
