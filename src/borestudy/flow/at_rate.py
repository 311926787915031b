"""One flow rate's record from its solutions on a ladder of meshes, the same for every model."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, cast

import numpy as np

from borestudy.quantity import Quantity

from .edges import EdgeTables
from .observables.energy import ScaledBudget, energy_budget
from .observables.lines import (
    GREATEST_Y_PLUS,
    RESOLVED,
    TOO_COARSE,
    Wall,
    axis_line,
    greatest_y_plus,
    wall_shear,
    wall_values,
)
from .observables.sections import (
    RIM_PLANE,
    SHANK_END,
    SectionMeasures,
    bore_sections,
    scaled_figures,
)
from .observables.separation import Bubble, bubbles, jet_contraction
from .problem import Problem, State
from .regime import Scale, regime
from .result import EnergyBudget, FlowAtRate, Section, Separation
from .uncertainty import WHOLE, from_ladder, judge_pressure_drop


@dataclass(frozen=True)
class Solution:
    """A state on a mesh, with the tables that sections and wall are read by.

    `estimate` is the dual-weighted residual estimate of the scaled pressure drop's error, None
    there is no adjoint solution; `by_transition` the derivative of that drop by the logarithm of
    the distance to transition, and `transition` its scaled distance from the rim plane, None where
    the flow has none inside the bore.
    """

    task: Problem
    state: State
    sections: Mapping[str, EdgeTables]
    wall: Wall
    estimate: float | None = None
    by_transition: float | None = None
    transition: float | None = None


#: Unit of each figure that follows from the pressures and heads of sections.
FIGURES = {
    one.name: one.metadata["unit"]
    for one in fields(FlowAtRate)
    if "unit" in one.metadata and not one.name.startswith("jet")
}


def rate_without_solution(scale: Scale, reason: str | None) -> FlowAtRate:
    """What is known of a rate without a solution, and in words why there is none."""
    return FlowAtRate(
        flow_rate_L_per_s=1e3 * scale.flow_rate,
        throat_reynolds=scale.reynolds,
        throat_velocity_m_per_s=scale.velocity,
        dynamic_pressure_Pa=0.5 * scale.pressure,
        mach_number=scale.mach,
        regime=regime(scale.reynolds),
        converged=False,
        reason=reason,
    )


def flow_at_rate(
    scale: Scale,
    solutions: Sequence[Solution],
    throat: tuple[float, float] | None,
    ratio: float,
    tolerance: float,
    parts: Mapping[str, tuple[float, float]] | None = None,
) -> FlowAtRate:
    """All observables of one flow rate.

    Parameters
    ----------
    scale : Scale
        Scales of the rate.
    solutions : sequence of Solution
        Solutions on neighbouring meshes, coarsest first.
    throat : (float, float) or None
        Axial start and end of the straight throat [m]; without it no jet contraction is sought.
    ratio : float
        How many times smaller the elements are from one mesh to the next.
    tolerance : float
        Wanted numerical uncertainty of the pressure drop, as a share of it.
    parts : mapping of str to (float, float), optional
        Axial start and end of each part [m]; by default those that the mesh names.
    """
    dynamic = 0.5 * scale.pressure
    measures = [bore_sections(one.task, one.state, one.sections) for one in solutions]
    scaled = [
        scaled_figures(one.task, one.state, one.sections, of)
        for one, of in zip(solutions, measures, strict=True)
    ]
    ladders = {name: [of.get(name) for of in scaled] for name in FIGURES}
    known = {
        name: from_ladder(ladder, ratio, FIGURES[name], scale.factor(FIGURES[name]))
        for name, ladder in ladders.items()
    }
    figures = {name: figure for name, figure in known.items() if figure is not None}
    scaled_parts = parts and {
        name: (start / scale.length, stop / scale.length) for name, (start, stop) in parts.items()
    }
    budgets = [
        energy_budget(one.task, one.state, of, scaled_parts)
        for one, of in zip(solutions, measures, strict=True)
    ]
    estimated = [one.estimate for one in solutions if one.estimate is not None]
    estimates = [2 * dynamic * value for value in estimated] or None
    unbalanced = 2 * dynamic * abs(budgets[-1].loss - budgets[-1].dissipation)
    factors = {name: dynamic / scale.factor(FIGURES[name]) for name in FIGURES}
    consistent = judge_pressure_drop(figures, estimates, unbalanced, factors)
    found = replace(
        rate_without_solution(scale, None),
        converged=True,
        residual=solutions[-1].state.residual,
        pressure_drop_estimated_error_Pa=estimates[-1] if estimates else None,
        error_estimator_consistent=consistent,
        tolerance_reached=within(figures[WHOLE], tolerance),
        energy_balance=budgets[-1].imbalance,
        budget=_budget(budgets, 2 * dynamic, ratio),
        **cast(Any, _transition(scale, solutions[-1])),
    )
    found = _with_sections(with_figures(found, figures), measures[-1], 2 * dynamic)
    return _with_lines(_with_places(found, solutions, throat, ratio), scale, solutions[-1])


def _transition(scale: Scale, finest: Solution) -> dict[str, float | None]:
    """Where the flow turns turbulent, and what the pressure drop does if that is elsewhere."""
    if finest.transition is None:
        return {}
    slope = finest.by_transition
    return {
        "transition_position_mm": 1e3 * scale.length * finest.transition,
        "pressure_drop_by_transition_Pa": None if slope is None else scale.pressure * slope,
    }


def with_figures(rate: FlowAtRate, figures: Mapping[str, Quantity]) -> FlowAtRate:
    """Set quantities of a rate by the names of `FIGURES`."""
    return replace(rate, **cast(Any, figures))


def within(drop: Quantity | None, tolerance: float) -> bool | None:
    if drop is None or drop.uncertainty is None:
        return None
    return bool(drop.uncertainty <= tolerance * abs(drop.value))


def _budget(budgets: Sequence[ScaledBudget], unit: float, ratio: float) -> EnergyBudget:
    def quantity(ladder: Sequence[float]) -> Quantity | None:
        return from_ladder(ladder, ratio, "Pa", unit)

    parts = {part: quantity([of.by_part[part] for of in budgets]) for part in budgets[-1].by_part}
    return EnergyBudget(
        loss=quantity([of.loss for of in budgets]),
        dissipation=quantity([of.dissipation for of in budgets]),
        dissipation_by_part={part: share for part, share in parts.items() if share is not None},
        kinetic_energy_rise=quantity([of.kinetic_rise for of in budgets]),
    )


def _with_sections(
    rate: FlowAtRate, measures: Mapping[str, SectionMeasures], unit: float
) -> FlowAtRate:
    """Set the finest mesh's sections, and how well mass is conserved between them."""
    flux = measures[RIM_PLANE].flux
    errors = {name: section.flux / flux - 1 for name, section in measures.items()}
    inner = [abs(errors[name]) for name in errors if name not in (RIM_PLANE, SHANK_END)]
    sections = {
        name: Section(
            pressure_Pa=unit * section.pressure,
            mechanical_energy_head_Pa=unit * section.head,
            kinetic_energy_factor=section.kinetic_factor,
            mass_flux_error=errors[name],
        )
        for name, section in measures.items()
    }
    return replace(
        rate,
        sections=sections,
        mass_balance=errors[SHANK_END],
        section_mass_flux=max(inner, default=None),
    )


def _with_places(
    rate: FlowAtRate,
    solutions: Sequence[Solution],
    throat: tuple[float, float] | None,
    ratio: float,
) -> FlowAtRate:
    """Set where the flow leaves the wall and comes back, and how narrow the throat's jet is.

    A place is known to nothing better than None where the meshes differ in what they found.
    """
    length = solutions[-1].task.space.scale
    found = [
        bubbles(one.wall, wall_shear(one.task.space, one.state, one.wall)) for one in solutions
    ]
    rate = replace(rate, separations=separations(found, ratio, 1e3 * length))
    if throat is None:
        return rate
    scaled = (throat[0] / length, throat[1] / length)
    jets = [jet_contraction(one.task.space, one.state, scaled) for one in solutions]
    shares, positions = zip(*jets, strict=True)
    return replace(
        rate,
        jet_contraction=from_ladder(shares, ratio),
        jet_contraction_position=from_ladder(positions, ratio, "mm", 1e3 * length),
    )


def separations(
    found: Sequence[Sequence[Bubble]], ratio: float, unit: float
) -> tuple[Separation, ...]:
    """The finest mesh's separations [mm], with the scaled ones of each mesh times a unit."""
    alike = len({len(of_mesh) for of_mesh in found}) == 1
    ladders = zip(*found, strict=True) if alike else [(bubble,) for bubble in found[-1]]
    return tuple(
        Separation(
            separation=from_ladder([one.separation for one in ladder], ratio, "mm", unit),
            reattachment=from_ladder([one.reattachment for one in ladder], ratio, "mm", unit),
        )
        for ladder in ladders
    )


def _with_lines(rate: FlowAtRate, scale: Scale, finest: Solution) -> FlowAtRate:
    """Set the lines along axis and wall, and how well a turbulence model's wall is resolved."""
    space, state, wall = finest.task.space, finest.state, finest.wall
    rate = replace(
        rate,
        axis=axis_line(space, state, scale.velocity, scale.pressure),
        wall=wall_values(space, state, wall, scale.pressure),
    )
    equations = finest.task.equations
    ratio = equations.viscosity_ratio(state.unknowns)
    if np.ndim(ratio) == 0:
        return rate
    # where the flow is laminar there is no layer of a turbulent wall to resolve
    height = greatest_y_plus(space, state, wall, equations.turbulent_from(state.reynolds))
    return replace(
        rate,
        y_plus=height,
        wall_resolution=RESOLVED if height <= GREATEST_Y_PLUS else TOO_COARSE,
        greatest_eddy_viscosity_ratio=float(np.max(ratio)) - 1,
    )
