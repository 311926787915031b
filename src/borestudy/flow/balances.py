"""Mass and mechanical energy of one flow rate: what balances, and where the energy goes."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from borestudy.fem.uncertainty import EDGE_ORDER, grid_uncertainty

from .levels import Level
from .measures import EnergyBudget, SectionMeasures, bore_sections, energy_budget
from .newton import FlowState

#: Order assumed of a figure from two meshes.  Entries that are square and rounded by 0.25 mm,
#: solved at Reynolds numbers from 1100 to 6700 on four levels: what the second still lacked of the
#: fourth was 0.9 of the step before it at most, where this order with its safety factor says 2.4.
ORDER = 2.0
#: Share of a figure by which meshes scatter where they agree: that of the drop to the throat's end
#: on the same four levels.
SCATTER = 5e-4


def ladder_uncertainty(ladder: NDArray[np.float64], ratio: float) -> float:
    """Numerical uncertainty of the finest of two or more figures."""
    by_grids = grid_uncertainty(ladder, ratio, order=ORDER, highest_order=EDGE_ORDER)
    return max(float(by_grids), SCATTER * abs(float(ladder[-1])))


def guard_against_chance(row: dict[str, Any], balances: dict[str, Any]) -> None:
    """Widen the whole pressure drop's uncertainty where two grids agree by chance only.

    It is no surer than its two halves taken together, nor than the energy that the finest grid's
    discretisation gives or takes.
    """
    key = "pressure_drop_Pa"
    halves = ("pressure_drop_to_throat_end_Pa", "backbore_pressure_drop_Pa")
    if row[f"{key}_uncertainty"] is None:
        return
    least = abs(balances["energy_balance"] * balances["budget"]["dissipation_Pa"])
    first, last = (row[f"{half}_uncertainty"] or 0.0 for half in halves)
    together = float(np.hypot(first, last))
    guarded = max(row[f"{key}_uncertainty"], together, least)
    row[f"{key}_uncertainty"] = guarded
    row["loss_coefficient_uncertainty"] = max(
        row["loss_coefficient_uncertainty"], least / row["dynamic_pressure_Pa"]
    )


def balances_of(
    levels: Sequence[Level], states: Sequence[FlowState], dynamic: float, ratio: float
) -> dict[str, Any]:
    """Mass, energy, and what the sections and the parts contribute."""
    of_levels = [
        bore_sections(level.task, state, level.sections)
        for level, state in zip(levels, states, strict=True)
    ]
    budgets = [
        energy_budget(level.task.space, state, sections)
        for level, state, sections in zip(levels, states, of_levels, strict=True)
    ]
    sections, budget = of_levels[-1], budgets[-1]
    rim, end = sections["rim_plane"], sections["shank_end"]
    inner = [
        abs(section.flux / rim.flux - 1)
        for name, section in sections.items()
        if name not in ("rim_plane", "shank_end")
    ]
    return {
        "mass_balance": end.flux / rim.flux - 1,
        "section_mass_flux": max(inner) if inner else None,
        "energy_balance": budget.imbalance,
        "budget": _with_uncertainties(of_levels, budgets, 2 * dynamic, ratio),
        "sections": {
            name: {
                "pressure_Pa": 2 * dynamic * section.pressure,
                "mechanical_energy_head_Pa": 2 * dynamic * section.head,
                "kinetic_energy_factor": section.kinetic_factor,
                "mass_flux_error": section.flux / rim.flux - 1,
            }
            for name, section in sections.items()
        },
    }


def _with_uncertainties(
    of_levels: Sequence[dict[str, SectionMeasures]],
    budgets: Sequence[EnergyBudget],
    unit: float,
    ratio: float,
) -> dict[str, Any]:
    """Where the mechanical energy goes [Pa], each share with its numerical uncertainty."""
    found: dict[str, Any] = {}

    def enter(key: str, ladder: list[float]) -> None:
        values = unit * np.array(ladder)
        found[key] = float(values[-1])
        found[f"{key}_uncertainty"] = ladder_uncertainty(values, ratio) if len(values) > 1 else None

    enter("loss_Pa", [budget.loss for budget in budgets])
    enter("dissipation_Pa", [budget.dissipation for budget in budgets])
    shares = {
        part: unit * np.array([budget.by_part[part] for budget in budgets])
        for part in budgets[-1].by_part
    }
    found["dissipation_by_part_Pa"] = {part: float(share[-1]) for part, share in shares.items()}
    found["dissipation_by_part_Pa_uncertainty"] = {
        part: ladder_uncertainty(share, ratio) if len(share) > 1 else None
        for part, share in shares.items()
    }
    ends = [(sections["rim_plane"], sections["shank_end"]) for sections in of_levels]
    enter(
        "kinetic_energy_rise_Pa",
        [(end.head - end.mixed_pressure) - (rim.head - rim.mixed_pressure) for rim, end in ends],
    )
    return found
