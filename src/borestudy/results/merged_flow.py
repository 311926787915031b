"""The laminar and the turbulent solution of a case put together, rate by rate.

Which solution the air follows no steady model knows, so the answer is a span wherever the throat's
Reynolds number allows both.  Up to 2000 the laminar solution alone is the answer.  From 2500 on,
where the turbulent one is solved as well, the span reaches from the least to the greatest of the
two, each less or plus its own numerical uncertainty; the handbooks stand beside it.  Where one of
the two did not converge, and between 2000 and 2500, the handbooks are the other end
(`borestudy.results.spans`).  The same holds up to the throat's end and in the backbore.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

from borestudy.flow.regime import LOWEST_TURBULENT, Regime, regime
from borestudy.flow.result import FlowAtRate, FlowResult
from borestudy.quantity import Quantity
from borestudy.results import spans as of_drops
from borestudy.results.spans import HANDBOOK, LAMINAR, TURBULENT, WHOLE, DropSpan, Handbook

Mode = Literal["estimate", "laminar", "turbulent", "both"]
SOLUTIONS = (LAMINAR, TURBULENT)
REFUSED = (
    f"no number: below a throat Reynolds number of {LOWEST_TURBULENT:g} the turbulent solution "
    "would not become laminar again as the air does"
)
#: What is known of a rate whatever the solution.
SCALES = (
    "flow_rate_L_per_s", "throat_reynolds", "throat_velocity_m_per_s", "dynamic_pressure_Pa",
    "mach_number",
)  # fmt: skip
BOTH_SOLUTIONS = "between both solutions"


@dataclass(frozen=True, kw_only=True)
class MergedRate:
    """One flow rate by every solution that the study asks for, None where one was not sought.

    The spans, of each of `borestudy.results.spans.DROPS`, say what it is believed to lie between,
    and the note what they are from, or why there is no number; the last converged flow rate is
    the greatest one with a solution, where this one has none.
    """

    flow_rate_L_per_s: float
    throat_reynolds: float
    throat_velocity_m_per_s: float
    dynamic_pressure_Pa: float
    mach_number: float
    laminar: FlowAtRate | None = None
    turbulent: FlowAtRate | None = None
    handbook: Handbook | None = None
    spans: Mapping[str, DropSpan] = field(default_factory=dict)
    note: str = ""
    last_converged_flow_rate_L_per_s: float | None = None

    @property
    def regime(self) -> Regime:
        """Regime by the throat's Reynolds number."""
        return regime(self.throat_reynolds)

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
        for word in SOLUTIONS if solution is None else (solution,):
            found = self.sought(word)
            if found is not None and found.converged:
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


def merged_flow(
    laminar: FlowResult | None,
    turbulent: FlowResult | None,
    handbook: Callable[[float, float], Handbook] | None = None,
    mode: Mode = "both",
) -> MergedFlow:
    """What a case's two solutions at the study's rates say together.

    ``handbook`` is what the handbooks say of the bore at a throat Reynolds number and dynamic
    pressure [Pa].  A solution that the study's mode does not ask for is left out, whatever a former
    run left.

    Raises
    ------
    ValueError
        Where the two results have not the same number of rates.
    """
    found = {
        word: result
        for word, result in zip(SOLUTIONS, (laminar, turbulent), strict=True)
        if result is not None and mode in ("both", word)
    }
    if not found:
        return MergedFlow()
    counts = {word: len(result.rates) for word, result in found.items()}
    if len(set(counts.values())) > 1:
        raise ValueError(
            f"flow: found {counts[LAMINAR]} laminar rates and {counts[TURBULENT]} turbulent ones, "
            "allowed are the study's in both; delete the files and run again"
        )
    whole = next(iter(found.values()))
    rows = [
        _merged(dict(zip(found, pair, strict=True)), handbook, mode)
        for pair in zip(*(result.rates for result in found.values()), strict=True)
    ]
    last = max((row.flow_rate_L_per_s for row in rows if row.converged), default=None)
    return MergedFlow(
        rates=tuple(
            row if row.converged else replace(row, last_converged_flow_rate_L_per_s=last)
            for row in rows
        ),
        tolerance=whole.tolerance,
        warnings=tuple(dict.fromkeys(text for each in found.values() for text in each.warnings)),
        not_meshed={
            word: each.not_meshed for word, each in found.items() if each.not_meshed is not None
        },
        pipe_behind_mm=whole.pipe_behind_mm,
    )


def _merged(
    found: Mapping[str, FlowAtRate],
    handbook: Callable[[float, float], Handbook] | None,
    mode: Mode,
) -> MergedRate:
    """One rate from each solution's row."""
    scales = {name: getattr(next(iter(found.values())), name) for name in SCALES}
    reynolds = scales["throat_reynolds"]
    sought = {
        word: row for word, row in found.items() if word == LAMINAR or reynolds >= LOWEST_TURBULENT
    }
    book = None if handbook is None else handbook(reynolds, scales["dynamic_pressure_Pa"])
    laminar, turbulent = map(sought.get, SOLUTIONS)
    row = MergedRate(laminar=laminar, turbulent=turbulent, handbook=book, **scales)
    solved = {word: figures for word, figures in sought.items() if figures.converged}
    if not solved:
        return replace(row, note="no number: " + _lost(sought) if sought else REFUSED)
    if TURBULENT in sought:
        note = BOTH_SOLUTIONS
        if len(solved) == 1:
            note = f"{next(iter(solved))} solution and handbooks"
            note += f": {_lost(sought)}" if mode == "both" else ""
        return replace(row, spans=of_drops.spans_of_solutions(solved, book), note=note)
    spans = of_drops.spans_of_laminar(solved[LAMINAR], row.regime, reynolds, book)
    notes = {
        frozenset({LAMINAR}): "laminar solution and its numerical uncertainty",
        frozenset({HANDBOOK}): "handbooks",
    }
    sources = frozenset({spans[WHOLE].low_from, spans[WHOLE].high_from})
    return replace(row, spans=spans, note=notes.get(sources, "laminar solution and handbooks"))


def _lost(sought: Mapping[str, FlowAtRate]) -> str:
    """Which solutions did not converge, or why there is no mesh, in words."""
    lost = {word: row for word, row in sought.items() if not row.converged}
    reasons = [row.not_meshed for row in lost.values() if row.not_meshed is not None]
    if reasons:
        return f"not meshed: {reasons[0]}"
    return f"the {' and the '.join(lost)} solution did not converge"
