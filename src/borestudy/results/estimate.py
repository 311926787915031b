r"""The flow of a case as one answer: the best estimate at each rate, with both of its errors.

The answer at every rate is the best estimate's pressure drop with its numerical uncertainty and
its model error (`borestudy.results.model_error`).  The two are independent, so the truth is
believed to lie between

.. math:: \Delta p - \sqrt{u^2 + m_-^2} \quad\text{and}\quad \Delta p + \sqrt{u^2 + m_+^2}.

The extremes, wholly laminar and wholly turbulent flow, stand beside it where a study asks for
them; the handbooks stand beside it too.  Neither is ever part of the answer.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from math import hypot

from borestudy.bore import Passage
from borestudy.closed_form.handbook import Span
from borestudy.flow.regime import LOWEST_TURBULENT, Regime, regime
from borestudy.flow.result import FlowAtRate, FlowResult
from borestudy.quantity import Quantity
from borestudy.results.model_error import ModelError, model_error

ESTIMATE, LAMINAR, TURBULENT = SOLUTIONS = ("estimate", "laminar", "turbulent")
EXTREMES = (LAMINAR, TURBULENT)
#: The pressure drops that have a model error: whole, and its two halves.
WHOLE, TO_THROAT_END, BACKBORE = DROPS = (
    "pressure_drop", "pressure_drop_to_throat_end", "backbore_pressure_drop",
)  # fmt: skip
HALVES = DROPS[1:]
#: What is known of a rate whatever the solution.
SCALES = (
    "flow_rate_L_per_s", "throat_reynolds", "throat_velocity_m_per_s", "dynamic_pressure_Pa",
    "mach_number",
)  # fmt: skip
NO_NUMBER = "no number: "
NOT_MESHED = "not meshed: "
#: What the handbooks say at a throat Reynolds number and dynamic pressure [Pa], by drop [Pa].
HandbookAt = Callable[[float, float], Mapping[str, Span]]


@dataclass(frozen=True)
class Interval:
    """The ends of what a pressure drop is believed to be [Pa], with both errors."""

    low: float
    high: float


@dataclass(frozen=True, kw_only=True)
class EstimatedRate:
    """One flow rate: the best estimate, and the extremes where the study asks for them.

    A solution is None where it was not sought.  The last converged flow rate is the greatest one
    with an estimate, where this one has none.
    """

    flow_rate_L_per_s: float
    throat_reynolds: float
    throat_velocity_m_per_s: float
    dynamic_pressure_Pa: float
    mach_number: float
    estimate: FlowAtRate | None = None
    laminar: FlowAtRate | None = None
    turbulent: FlowAtRate | None = None
    model_error: ModelError | None = None
    handbook: Mapping[str, Span] = field(default_factory=dict)
    last_converged_flow_rate_L_per_s: float | None = None

    @property
    def regime(self) -> Regime:
        """Regime by the throat's Reynolds number, of which laminar is laminar in the whole bore."""
        word, figures = regime(self.throat_reynolds), self.figures
        turns = figures is not None and figures.transition_position_mm is not None
        return "transitional" if word == "laminar" and turns else word

    @property
    def converged(self) -> bool:
        """Whether there is an estimate."""
        return self.figures is not None

    @property
    def figures(self) -> FlowAtRate | None:
        """The estimate's figures; None where it did not converge."""
        return self.of()

    def of(self, solution: str = ESTIMATE) -> FlowAtRate | None:
        """The figures of one of `SOLUTIONS`; None where it did not converge."""
        found = self.sought(solution)
        return found if found is not None and found.converged else None

    def sought(self, solution: str) -> FlowAtRate | None:
        """One of `SOLUTIONS`, converged or not; None where it was not sought."""
        return {ESTIMATE: self.estimate, LAMINAR: self.laminar, TURBULENT: self.turbulent}[solution]

    def quantity(self, name: str, solution: str = ESTIMATE) -> Quantity | None:
        """A figure by its field's name in `FlowAtRate`, None where it is not known."""
        figures = self.of(solution)
        return None if figures is None else getattr(figures, name)

    def interval(self, drop: str = WHOLE) -> Interval | None:
        """What one of `DROPS` is believed to lie between; None without a model error."""
        found, error = self.quantity(drop), self.model_error
        if found is None or error is None or drop not in error.drops:
            return None
        sides, numerical = error.drops[drop], found.uncertainty or 0.0
        return Interval(
            found.value - hypot(numerical, sides.low), found.value + hypot(numerical, sides.high)
        )

    @property
    def note(self) -> str:
        """Why there is no number; empty where there is one."""
        if self.converged:
            return ""
        if self.estimate is not None and self.estimate.not_meshed is not None:
            return f"{NO_NUMBER}{NOT_MESHED}{self.estimate.not_meshed}"
        return f"{NO_NUMBER}the solution did not converge"


@dataclass(frozen=True, kw_only=True)
class EstimatedFlow:
    """A case's flow.

    Attributes
    ----------
    rates : tuple of EstimatedRate
        One for each rate of the study, in its order; none where nothing was computed.
    passage : Passage or None
        The air's way through the bore, by which the model error goes; None without rates.
    tolerance : float or None
        Numerical uncertainty wanted of a pressure drop, as a share of it.
    warnings : tuple of str
    not_meshed : mapping of str to str
        Why a solution has no mesh.
    pipe_behind_mm : float
        Length of the straight pipe that the flow goes on through after the shank.
    extremes : tuple of str
        Which of `EXTREMES` the study asks for.
    """

    rates: tuple[EstimatedRate, ...] = ()
    passage: Passage | None = None
    tolerance: float | None = None
    warnings: tuple[str, ...] = ()
    not_meshed: Mapping[str, str] = field(default_factory=dict)
    pipe_behind_mm: float = 0.0
    extremes: tuple[str, ...] = ()

    def has(self, solution: str) -> bool:
        """Whether one of `SOLUTIONS` was sought at any rate."""
        return any(rate.sought(solution) is not None for rate in self.rates)


def estimated_flow(
    estimate: FlowResult | None,
    passage: Passage,
    handbook: HandbookAt | None = None,
    extremes: Mapping[str, FlowResult] | None = None,
) -> EstimatedFlow:
    """A case's flow from the solutions' results.

    Parameters
    ----------
    estimate : FlowResult or None
        The best estimate; without it nothing was computed, whatever the extremes say.
    passage : Passage
        The air's way through the bore, with the pipe behind it.
    handbook : callable, optional
        What the handbooks say of the bore.
    extremes : mapping of str to FlowResult, optional
        Results of `EXTREMES`, as far as the study asks for them.

    Raises
    ------
    ValueError
        Where the results have not the same number of rates.
    """
    if estimate is None:
        return EstimatedFlow()
    found = {ESTIMATE: estimate, **(extremes or {})}
    counts = {word: len(result.rates) for word, result in found.items()}
    if len(set(counts.values())) > 1:
        listed = ", ".join(f"{count} ({word})" for word, count in counts.items())
        raise ValueError(
            f"flow: found results of different numbers of rates, {listed}; allowed are the "
            "study's in all; delete the files and run again"
        )
    rows = [
        _rate(dict(zip(found, rates, strict=True)), passage, handbook)
        for rates in zip(*(result.rates for result in found.values()), strict=True)
    ]
    last = max((row.flow_rate_L_per_s for row in rows if row.converged), default=None)
    return EstimatedFlow(
        rates=tuple(
            row if row.converged else replace(row, last_converged_flow_rate_L_per_s=last)
            for row in rows
        ),
        passage=passage,
        tolerance=estimate.tolerance,
        warnings=tuple(dict.fromkeys(text for each in found.values() for text in each.warnings)),
        not_meshed={
            word: each.not_meshed for word, each in found.items() if each.not_meshed is not None
        },
        pipe_behind_mm=estimate.pipe_behind_mm,
        extremes=tuple(extremes or ()),
    )


def _rate(
    found: Mapping[str, FlowAtRate], passage: Passage, handbook: HandbookAt | None
) -> EstimatedRate:
    """One rate from each solution's row."""
    estimate = found[ESTIMATE]
    scales = {name: getattr(estimate, name) for name in SCALES}
    reynolds = scales["throat_reynolds"]
    books = {} if handbook is None else handbook(reynolds, scales["dynamic_pressure_Pa"])
    return EstimatedRate(
        estimate=estimate,
        laminar=found.get(LAMINAR),
        # below, the model would not become laminar again as the air does
        turbulent=found.get(TURBULENT) if reynolds >= LOWEST_TURBULENT else None,
        model_error=model_error(passage, estimate) if estimate.converged else None,
        handbook=books,
        **scales,
    )
