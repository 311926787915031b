"""Mass and mechanical energy of one flow rate: what balances, and where the energy goes."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from .measures import EnergyBudget, SectionMeasures, bore_sections, energy_budget
from .problem import State
from .solver import Level
from .uncertainty import ladder_uncertainty


def balances_of(
    levels: Sequence[Level], states: Sequence[State], dynamic: float, ratio: float
) -> dict[str, Any]:
    """Mass, energy, and what the sections and the parts contribute."""
    of_levels = [
        bore_sections(level.problem, state, level.sections)
        for level, state in zip(levels, states, strict=True)
    ]
    budgets = [
        energy_budget(level.problem.space, state, sections)
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
