"""The results of cases from their folders, the flow's solutions put together as the study asks."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from borestudy.air import Air
from borestudy.closed_form.handbook import (
    Dimensions,
    backbore_by_handbook,
    to_throat_end_by_handbook,
)
from borestudy.flow.rows import rate_scale
from borestudy.provenance import read_json
from borestudy.results.case import CaseResults, read_results
from borestudy.results.merged_flow import DROPS
from borestudy.results.spans import DropSpan, handbook_span
from borestudy.stages.air import read_air
from borestudy.stages.flow import handbook_dimensions
from borestudy.stages.geometry import bore_of
from borestudy.stages.plan import air_name
from borestudy.study import Case, Study
from borestudy.units import parse_share


def results_of_cases(study: Study, folder: Path | str) -> list[CaseResults]:
    """Results of every case, in the study's order, from a study's folder."""
    return [_results(study, case, Path(folder)) for case in study.cases()]


def _results(study: Study, case: Case, folder: Path) -> CaseResults:
    home = folder / "cases" / case.name
    air = read_air(folder / "air" / f"{air_name(case)}.json")
    bore = bore_of(read_json(home / "bore.json"))
    given = {
        "tolerance": parse_share(study.flow.tolerance),
        "rates": rates_before_solving(
            handbook_dimensions(bore, float(study.pipe_behind())),
            air,
            [float(rate) for rate in study.flow_rates()],
        ),
    }
    return read_results(home, case.name, case.varied_columns(), study.flow.closure, given)


def rates_before_solving(
    dimensions: Dimensions, air: Air, rates: Sequence[float]
) -> list[dict[str, Any]]:
    """What is known of each flow rate without any solution: its scales, and the handbooks' spans.

    Parameters
    ----------
    dimensions : Dimensions
        Of the bore; its throat gives the scales.
    air : Air
        Its density, viscosity and speed of sound.
    rates : sequence of float [m³/s]
        Of the study.
    """
    rows = []
    for rate in rates:
        scale = rate_scale(air, rate, dimensions.throat_diameter)
        dynamic = 0.5 * scale.pressure
        rows.append(
            {
                "flow_rate_L_per_s": 1e3 * scale.flow_rate,
                "throat_reynolds": scale.reynolds,
                "throat_velocity_m_per_s": scale.velocity,
                "dynamic_pressure_Pa": dynamic,
                "mach_number": scale.mach,
                "handbook": _in_pascals(handbook_span(dimensions, scale.reynolds), dynamic)
                | _by_handbook(dimensions, scale.reynolds, dynamic),
            }
        )
    return rows


def _in_pascals(spans: DropSpan, dynamic: float) -> dict[str, float]:
    return {
        f"{drop}_{end}_Pa": dynamic * getattr(span, end)
        for drop, span in zip(
            DROPS, (spans.whole, spans.to_throat_end, spans.backbore), strict=True
        )
        for end in ("low", "high")
    }


def _by_handbook(
    dimensions: Dimensions, reynolds: float, dynamic: float
) -> dict[str, dict[str, float]]:
    """Both halves' pressure drops [Pa] by each handbook, its low and its high end."""
    halves = (to_throat_end_by_handbook, backbore_by_handbook)
    return {
        f"{drop}_by_handbook_Pa": {
            f"{name}, {end}": dynamic * getattr(span, end)
            for name, span in half(dimensions, reynolds).items()
            for end in ("low", "high")
        }
        for drop, half in zip(DROPS[1:], halves, strict=True)
    }
