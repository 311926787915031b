"""One flow rate's turbulent results as plain numbers, each with its uncertainty."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from borestudy.flow.lines import WallLine, places
from borestudy.flow.measures import bore_sections
from borestudy.flow.problem import State
from borestudy.flow.resolution import GREATEST_Y_PLUS, away_from_edges, wall_units
from borestudy.flow.rows import Scale, scaled_figures
from borestudy.flow.solver import Level
from borestudy.flow.uncertainty import (
    ladder_uncertainty,
    places_with_uncertainties,
    scatter_of_difference,
)

#: Figures of one rate with their name among a level's figures; there those in Pa are in units of q,
#: and the slope is in units of q over the flow rate.
QUANTITIES = {
    "pressure_drop_Pa": "pressure_drop",
    "loss_coefficient": "loss",
    "pressure_drop_to_throat_end_Pa": "to_throat_end",
    "backbore_pressure_drop_Pa": "backbore",
    "differential_resistance_kPa_s_per_L": "slope",
    "discharge_coefficient": "discharge",
}

#: Share of the neighbouring rates' uncertainty that a rate has at least.
CHANCE_SHARE = 0.5


def closure_row(
    scale: Scale,
    levels: Sequence[Level],
    found: Sequence[State | None],
    lines: Sequence[WallLine],
    throat: tuple[float, float] | None,
    ratio: float,
) -> dict[str, Any]:
    """One rate's figures, each with its uncertainty; without figures where it did not converge."""
    dynamic = 0.5 * scale.pressure
    states = [state for state in found if state is not None]
    row: dict[str, Any] = {
        "flow_rate_L_per_s": 1e3 * scale.flow_rate,
        "throat_reynolds": scale.reynolds,
        "throat_velocity_m_per_s": scale.velocity,
        "dynamic_pressure_Pa": dynamic,
        "mach_number": scale.mach,
        "solution": "turbulent",
        "converged": len(states) == len(levels),
        "residual": states[-1].residual if states else None,
        "levels": {},
    }
    if not row["converged"]:
        keys = [key for name in QUANTITIES for key in (name, f"{name}_uncertainty")]
        return row | dict.fromkeys([*keys, "mass_balance", "section_mass_flux", "y_plus"])
    figures = [scaled_figures(level, state) for level, state in zip(levels, states, strict=True)]
    for key, name in QUANTITIES.items():
        if name not in figures[0]:
            row[key] = row[f"{key}_uncertainty"] = None
            continue
        ladder = unit_of(key, row) * np.array([level[name] for level in figures])
        row[key] = float(ladder[-1])
        row[f"{key}_uncertainty"] = ladder_uncertainty(ladder, ratio) if len(ladder) > 1 else None
        row["levels"][key] = ladder.tolist()
    scatter_of_difference(row)
    balances = [
        _balance(scale, level, state, line, throat)
        for level, state, line in zip(levels, states, lines, strict=True)
    ]
    return row | places_with_uncertainties(balances, ratio)


def unit_of(key: str, row: Mapping[str, Any]) -> float:
    """What a figure of one rate is a multiple of: q, q over the flow rate, or 1."""
    dynamic = float(row["dynamic_pressure_Pa"])
    if key.endswith("_Pa"):
        return dynamic
    return 1e-3 * dynamic / row["flow_rate_L_per_s"] if key.endswith("kPa_s_per_L") else 1.0


def guard_against_chance(rows: Sequence[dict[str, Any]]) -> None:
    """Widen the uncertainty of a rate at which two meshes agree better than beside it.

    Where the difference between them changes its sign from rate to rate it passes through zero,
    which says nothing of either: no rate is taken as surer than half of what its neighbours are.
    Each row keeps what its own meshes say under `uncertainty_by_itself`, so that rows may be put
    beside others and guarded again.
    """
    for row in rows:
        own = {f"{name}_uncertainty": row[f"{name}_uncertainty"] for name in QUANTITIES}
        row.update(row.setdefault("uncertainty_by_itself", own))
    for key in (f"{name}_uncertainty" for name in QUANTITIES):
        figure = key.removesuffix("_uncertainty")
        known = [row for row in rows if row[key] is not None]
        shares = [row[key] / unit_of(figure, row) for row in known]
        for index, row in enumerate(known):
            beside = max([*shares[max(index - 1, 0) : index], *shares[index + 1 : index + 2], 0.0])
            row[key] = max(row[key], CHANCE_SHARE * beside * unit_of(figure, row))


def _balance(
    scale: Scale,
    level: Level,
    state: State,
    line: WallLine,
    throat: tuple[float, float] | None,
) -> dict[str, Any]:
    """Mass balance, resolution of the wall, and where the flow leaves it."""
    problem = level.problem
    sections = bore_sections(problem, state, level.sections)
    rim = sections["rim_plane"]
    fluxes = {name: section.flux / rim.flux - 1 for name, section in sections.items()}
    inner = [abs(error) for name, error in fluxes.items() if name not in ("rim_plane", "shank_end")]
    shear, y_plus = wall_units(problem, state, line)
    greatest = float(y_plus[away_from_edges(line)].max())
    return {
        "mass_balance": fluxes["shank_end"],
        "section_mass_flux": max(inner) if inner else None,
        "y_plus": greatest,
        "wall_resolution": "resolved" if greatest <= GREATEST_Y_PLUS else "y+ too large",
        "greatest_eddy_viscosity_ratio": float(state.unknowns[problem.space.unknowns :].max()),
        **places(problem.space, state, scale.length, line, shear, throat),
    }
