r"""Wrong values of the flow: without losses, by turbulent handbooks, by developed flow.

Without losses (Bernoulli), with the areas of rim plane, throat and shank end :math:`A_c, A, A_o`,

.. math:: \Delta p = q\,[(A/A_o)^2 - (A/A_c)^2], \qquad \Delta p_{throat} = q\,[1 - (A/A_c)^2].

By a handbook: the loss of the throat's edge, Blasius' friction in the throat and the loss of a
conical diffuser, each at a Reynolds number where handbooks hold, are added to that.
"""

from collections.abc import Iterator

from fluids.friction import Blasius

from borestudy.claim import Claim
from borestudy.claims.bench import Bench
from borestudy.claims.trial import DEVELOPED, HANDBOOK, LOSSLESS, Trial
from borestudy.closed_form import handbook as books
from borestudy.closed_form.handbook import FULL_RECOVERY
from borestudy.closed_form.pipe_flow import developed_flow_drop
from borestudy.results.estimate import EstimatedRate

FRONT, BACK = "pressure drop to throat end", "backbore pressure drop"
WHOLE, RESISTANCE, SLOPE = "pressure drop", "flow resistance", "slope of pressure drop"


def flow_trials(claim: Claim, bench: Bench) -> Iterator[Trial]:
    """Trials of a claim about the flow at one rate; none of any other."""
    rate = bench.rate(claim.rate_L_per_s)
    if rate is None or claim.is_change:
        return
    figure = claim.figure
    front, back = _speeding_up(bench)
    bernoulli = {FRONT: front, BACK: back, "loss": 0.0}
    yield from _as_figure(figure, LOSSLESS, "Bernoulli’s equation", bernoulli, rate)
    if figure == "discharge coefficient":
        yield Trial(LOSSLESS, "1, by definition", 1.0)
    if figure == "friction in the throat":
        yield from _developed(bench, rate)
    if rate.regime == "laminar":
        for name, halves in _handbooks(bench, rate):
            yield from _as_figure(figure, HANDBOOK, name, halves, rate)
        if figure == "friction in the throat":
            friction = _blasius(bench, rate) * rate.dynamic_pressure_Pa
            yield Trial(HANDBOOK, "Blasius’ friction factor", friction)


def _as_figure(
    figure: str, cause: str, how: str, halves: dict[str, float], rate: EstimatedRate
) -> Iterator[Trial]:
    """A trial of a figure from the drop's two halves, in dynamic pressures of the throat."""
    dynamic, litres = rate.dynamic_pressure_Pa, rate.flow_rate_L_per_s
    whole = halves[FRONT] + halves[BACK]
    values = {
        FRONT: dynamic * halves[FRONT],
        BACK: dynamic * halves[BACK],
        WHOLE: dynamic * whole,
        RESISTANCE: 1e-3 * dynamic * whole / litres,
        # Such a drop grows with the square of the flow rate.
        SLOPE: 2e-3 * dynamic * whole / litres,
        "loss coefficient": halves["loss"],
    }
    if figure in values:
        yield Trial(cause, how, values[figure])


def _speeding_up(bench: Bench) -> tuple[float, float]:
    """Drop to the throat's end and on to the shank end that speeding up and slowing down take."""
    sizes = bench.handbook
    cup, end = (
        (sizes.throat_diameter / wide) ** 4 for wide in (sizes.cup_diameter, sizes.outlet_diameter)
    )
    return 1 - cup, end - 1


def _blasius(bench: Bench, rate: EstimatedRate) -> float:
    sizes = bench.handbook
    return float(Blasius(rate.throat_reynolds)) * sizes.throat_length / sizes.throat_diameter


def _handbooks(bench: Bench, rate: EstimatedRate) -> Iterator[tuple[str, dict[str, float]]]:
    """By each handbook, both halves of the drop and the loss, in dynamic pressures.

    The cone of one that has none is Rennels'; of an edge that is not known both ends are tried.
    """
    front, back = _speeding_up(bench)
    friction = _blasius(bench, rate)
    cones = books.backbore_losses(bench.handbook, max(rate.throat_reynolds, FULL_RECOVERY))
    for name, edge in books.edge_losses(bench.handbook).items():
        cone = cones.get(name, cones.get("Rennels", min(cones.values())))
        for entry in sorted({edge.low, edge.high}):
            yield (
                f"{name}: loss of the edge and of the cone, with Blasius’ friction",
                {
                    FRONT: front + entry + friction,
                    BACK: back + cone,
                    "loss": entry + friction + cone,
                },
            )


def _developed(bench: Bench, rate: EstimatedRate) -> Iterator[Trial]:
    sizes = bench.handbook
    radius, flow = sizes.throat_diameter / 2, 1e-3 * rate.flow_rate_L_per_s
    drop = developed_flow_drop(bench.air, radius, sizes.throat_length, flow)
    yield Trial(DEVELOPED, "8 μ l Q/(π r⁴), Poiseuille’s formula", drop)
