"""The laminar and the turbulent solution of a case put together, rate by rate.

Which solution the air follows no steady model knows, so the answer is a span wherever the throat's
Reynolds number allows both.  Up to 2000 the laminar solution alone is the answer.  From 2500 on,
where the turbulent one is solved as well, the span reaches from the least to the greatest of the
two, each less or plus its own numerical uncertainty; the handbooks stand beside it.  Where one of
the two did not converge, and between 2000 and 2500, the handbooks are the other end
(`borestudy.results.spans`).  The same holds up to the throat's end and in the backbore.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from typing import Literal

from borestudy.air import Air
from borestudy.closed_form.handbook import Dimensions
from borestudy.flow.regime import LOWEST_TURBULENT, rate_scale, regime
from borestudy.flow.result import FlowAtRate, FlowResult
from borestudy.quantity import Quantity
from borestudy.results.spans import (
    HANDBOOK,
    LAMINAR,
    TURBULENT,
    WHOLE,
    DropSpan,
    Handbook,
    handbook_at,
    spans_of_laminar,
    spans_of_solutions,
)

Mode = Literal["laminar", "turbulent", "both"]
SOLUTIONS = (LAMINAR, TURBULENT)
REFUSED = (
    f"no number: below a throat Reynolds number of {LOWEST_TURBULENT:g} the turbulent solution "
    "would not turn laminar again as the air does"
)
BOTH_SOLUTIONS = "between both solutions"


@dataclass(frozen=True, kw_only=True)
class KnownRate:
    """What is known of a flow rate before it is solved.

    Attributes
    ----------
    flow_rate_L_per_s, throat_reynolds, throat_velocity_m_per_s, dynamic_pressure_Pa, mach_number
        The rate, and what follows from it in the throat.
    handbook : Handbook or None
        What the handbooks say.
    """

    flow_rate_L_per_s: float
    throat_reynolds: float
    throat_velocity_m_per_s: float
    dynamic_pressure_Pa: float
    mach_number: float
    handbook: Handbook | None = None

    @property
    def regime(self) -> str:
        """Regime by the throat's Reynolds number."""
        return regime(self.throat_reynolds)


@dataclass(frozen=True, kw_only=True)
class MergedRate(KnownRate):
    """One flow rate by every solution that the study asks for.

    Attributes
    ----------
    laminar, turbulent : FlowAtRate or None
        Each solution, converged or not; None where it was not sought.
    spans : mapping of str to DropSpan
        What each pressure drop of `borestudy.results.spans.DROPS` is believed to lie between.
    note : str
        What the spans are from, or why there is no number.
    last_converged_flow_rate_L_per_s : float or None
        Of a rate without a solution, the greatest one that has one.
    """

    laminar: FlowAtRate | None = None
    turbulent: FlowAtRate | None = None
    spans: Mapping[str, DropSpan] = field(default_factory=dict)
    note: str = ""
    last_converged_flow_rate_L_per_s: float | None = None

    @property
    def solution(self) -> str | None:
        """The solution that the rate's figures are from: the laminar one where it converged."""
        return next((word for word in SOLUTIONS if self.of(word) is not None), None)

    @property
    def converged(self) -> bool:
        """Whether there is a solution."""
        return self.solution is not None

    @property
    def figures(self) -> FlowAtRate | None:
        """The figures of `solution`."""
        return self.of()

    @property
    def is_judged_by_both(self) -> bool:
        """Whether the rate was to be solved both ways, so that nothing is claimed by one alone."""
        return self.laminar is not None and self.turbulent is not None

    def of(self, solution: str | None = None) -> FlowAtRate | None:
        """The figures of a solution, by default of `solution`; None where it did not converge."""
        for word, found in ((LAMINAR, self.laminar), (TURBULENT, self.turbulent)):
            if found is not None and found.converged and solution in (None, word):
                return found
        return None

    def quantity(self, name: str, solution: str | None = None) -> Quantity | None:
        """A figure by its field's name in `FlowAtRate`, None where it is not known."""
        figures = self.of(solution)
        return None if figures is None else getattr(figures, name)

    def sought(self, solution: str) -> FlowAtRate | None:
        """A solution, converged or not; None where it was not sought."""
        return self.laminar if solution == LAMINAR else self.turbulent


@dataclass(frozen=True, kw_only=True)
class MergedFlow:
    """A case's flow by every solution that the study asks for.

    Attributes
    ----------
    rates : tuple of MergedRate
        One for each rate of the study, in its order; none where nothing was computed.
    tolerance : float or None
        Numerical uncertainty wanted of a pressure drop, as a share of it.
    warnings : tuple of str
    not_meshed : mapping of str to str
        Why a solution has no mesh.
    pipe_behind_mm : float
        Length of the straight pipe that the flow goes on through after the shank.
    """

    rates: tuple[MergedRate, ...] = ()
    tolerance: float | None = None
    warnings: tuple[str, ...] = ()
    not_meshed: Mapping[str, str] = field(default_factory=dict)
    pipe_behind_mm: float = 0.0


def known_rates(dimensions: Dimensions, air: Air, rates: Sequence[float]) -> list[KnownRate]:
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
    scales = [rate_scale(air, rate, dimensions.throat_diameter) for rate in rates]
    return [
        KnownRate(
            flow_rate_L_per_s=1e3 * scale.flow_rate,
            throat_reynolds=scale.reynolds,
            throat_velocity_m_per_s=scale.velocity,
            dynamic_pressure_Pa=0.5 * scale.pressure,
            mach_number=scale.mach,
            handbook=handbook_at(dimensions, scale.reynolds, 0.5 * scale.pressure),
        )
        for scale in scales
    ]


def laminar_alone(result: FlowResult) -> MergedFlow:
    """A laminar solution as it stands, beside which no handbook is asked."""
    names = [one.name for one in fields(KnownRate) if one.name != "handbook"]
    rates = [{name: getattr(row, name) for name in names} for row in result.rates]
    return merged_flow(result, None, [KnownRate(**each) for each in rates], "laminar")


def merged_flow(
    laminar: FlowResult | None,
    turbulent: FlowResult | None,
    known: Sequence[KnownRate],
    mode: Mode = "both",
    *,
    tolerance: float | None = None,
    pipe_behind_mm: float = 0.0,
) -> MergedFlow:
    """What a case's two solutions say together.

    Parameters
    ----------
    laminar, turbulent : FlowResult or None
        Each solution, with a row for each known rate; None where there is none.
    known : sequence of KnownRate
        The study's rates.
    mode : {"laminar", "turbulent", "both"}
        Which of them the study asks for; the other is left out, whatever a former run left.
    tolerance : float, optional
        As a share of the pressure drop, for turbulent figures, which were not judged by it.
    pipe_behind_mm : float
        Length of straight pipe after the shank.

    Returns
    -------
    MergedFlow
        Without rates where nothing was computed.

    Raises
    ------
    ValueError
        Where a result has another number of rates than are known.
    """
    found = {
        LAMINAR: laminar if mode != TURBULENT else None,
        TURBULENT: turbulent if mode != LAMINAR else None,
    }
    computed = [result for result in found.values() if result is not None]
    if not computed:
        return MergedFlow()
    for word, result in found.items():
        if result is not None and len(result.rates) != len(known):
            raise ValueError(
                f"{word} flow: found {len(result.rates)} rates, allowed are the study's "
                f"{len(known)}; delete the file and run again"
            )
    rows = []
    for index, rate in enumerate(known):
        one, other = (result.rates[index] if result else None for result in found.values())
        rows.append(_merged(rate, one, other, mode, tolerance))
    solved = [row.flow_rate_L_per_s for row in rows if row.converged]
    last = max(solved, default=None)
    return MergedFlow(
        rates=tuple(
            row if row.converged else replace(row, last_converged_flow_rate_L_per_s=last)
            for row in rows
        ),
        tolerance=tolerance,
        warnings=tuple(dict.fromkeys(text for result in computed for text in result.warnings)),
        not_meshed={
            word: result.not_meshed
            for word, result in found.items()
            if result is not None and result.not_meshed is not None
        },
        pipe_behind_mm=pipe_behind_mm,
    )


def _merged(
    known: KnownRate,
    laminar: FlowAtRate | None,
    turbulent: FlowAtRate | None,
    mode: Mode,
    tolerance: float | None,
) -> MergedRate:
    """One rate from what is known of it before, and from each solution."""
    if turbulent is not None and known.throat_reynolds < LOWEST_TURBULENT:
        turbulent = None
    if turbulent is not None:
        turbulent = _judged(turbulent, tolerance)
    row = MergedRate(**vars(known), laminar=laminar, turbulent=turbulent)
    solved = {word: found for word in SOLUTIONS if (found := row.of(word)) is not None}
    if not solved:
        lost = laminar is not None or turbulent is not None
        return replace(row, note="no number: " + _lost(row) if lost else REFUSED)
    if turbulent is not None:
        note = BOTH_SOLUTIONS
        if len(solved) == 1:
            note = f"{next(iter(solved))} solution and handbooks"
            note += f": {_lost(row)}" if mode == "both" else ""
        return replace(row, spans=spans_of_solutions(solved, row.handbook), note=note)
    spans = spans_of_laminar(solved[LAMINAR], row.regime, row.throat_reynolds, row.handbook)
    notes = {
        frozenset({LAMINAR}): "laminar solution and its numerical uncertainty",
        frozenset({HANDBOOK}): "handbooks",
    }
    sources = frozenset({spans[WHOLE].low_from, spans[WHOLE].high_from})
    return replace(row, spans=spans, note=notes.get(sources, "laminar solution and handbooks"))


def _judged(figures: FlowAtRate, tolerance: float | None) -> FlowAtRate:
    """A solution that knows whether its pressure drop is as certain as was asked for."""
    drop = figures.pressure_drop
    if figures.tolerance_reached is not None or tolerance is None or drop is None:
        return figures
    if drop.uncertainty is None:
        return figures
    return replace(figures, tolerance_reached=drop.uncertainty <= tolerance * abs(drop.value))


def _lost(row: MergedRate) -> str:
    """Which solutions did not converge, or why there is no mesh, in words."""
    found = {word: row.sought(word) for word in SOLUTIONS}
    lost = {word: each for word, each in found.items() if each is not None and not each.converged}
    reasons = [each.not_meshed for each in lost.values() if each.not_meshed is not None]
    if reasons:
        return f"not meshed: {reasons[0]}"
    return f"the {' and the '.join(lost)} solution did not converge"
