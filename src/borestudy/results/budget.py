r"""Where the uncertainty of the first case's figures comes from, and which source dominates.

The numerical part is the tables' own.  A flow resistance's mesh row is the uncertainty that stands
beside it there; a resonance's is what remains of that once the other numerical rows, which it
contains, are taken out.

The air's share follows from scaling alone.  A resonance goes as the speed of sound, hence as
:math:`\sqrt T`.  At a given flow rate :math:`\Delta p = \rho U^2\, \pi(Re)`; with density as
:math:`1/T`, viscosity as :math:`T^m`, :math:`m = 3/2 - T/(T + 110.4\,\mathrm K)` (Sutherland 1893;
the constant for air from memory), and with :math:`n = d\ln\Delta p / d\ln Q` from the computed
slope,

.. math:: d\ln\Delta p = [-1 + (1 + m)(2 - n)]\, d\ln T.
"""

from collections.abc import Mapping, Sequence

from borestudy.bore import Tolerance
from borestudy.intervals import ratio_of_cents
from borestudy.results.case import CaseResults
from borestudy.results.dimensions import IN_SI
from borestudy.results.estimate import WHOLE, EstimatedRate
from borestudy.results.reported import RESISTANCE as OF_FLOW
from borestudy.results.reported import RESONANCE as OF_SOUND
from borestudy.results.reported import Reported, at_rate, reported
from borestudy.results.tables.files import Row

TEMPERATURE_STEP = 1.0
SUTHERLAND = 110.4
MESH, BASIS, SOLVER = "mesh", "reduced basis", "residual of the solve"
TRUNCATION = "truncation: series of the wall condition, slices of an air column"
WALLS = "wall losses: local tube condition"
AIR = "air temperature ± 1 K"
MODEL, WORKSHOP = "model error: ", "workshop error of "
RESONANCE, RESISTANCE = "first resonance, Hz", "flow resistance, kPa·s/L"


def budget_rows(
    case: CaseResults,
    reference_rate: int,
    temperature: float | None = None,
    tolerances: Sequence[Tolerance] = (),
) -> list[Row]:
    """Sources of uncertainty of a case's first resonance and flow resistance.

    Sizes are in the quantity's unit, and the largest of each quantity is the dominant one.  The air
    has a row where its temperature [K] is given.  Of the workshop's errors, that dimension has a
    row whose tolerance does most, to first order.
    """
    known = reported(case)
    sound = _workshop(known.get(OF_SOUND), tolerances)
    rate = case.rate(reference_rate)
    name = "" if rate is None else at_rate(OF_FLOW, rate.flow_rate_L_per_s)
    flow = _workshop(known.get(name), tolerances)
    return [
        *_marked(RESONANCE, *_resonance(case, temperature, sound)),
        *_marked(RESISTANCE, *_resistance(case, reference_rate, temperature, flow)),
    ]


def _marked(quantity: str, value: float | None, sizes: Mapping[str, float]) -> list[Row]:
    if value is None or not sizes:
        return []
    largest = max(sizes.values())
    return [
        {
            "quantity": quantity,
            "source": source,
            "size": size,
            "size_percent": 100 * size / abs(value),
            "dominant": size == largest,
        }
        for source, size in sizes.items()
    ]


def _workshop(found: Reported | None, tolerances: Sequence[Tolerance]) -> dict[str, float]:
    """The error of the workshop that matters most, with what it does in cents or percent."""
    sizes = {}
    for each in tolerances:
        moved = {key: each.limit / IN_SI[each.unit] * share for key, share in each.moves.items()}
        effect = None if found is None else found.effect_of(moved)
        if effect is not None:
            limit = f"{each.limit / IN_SI[each.unit]:.3g} {each.unit}".strip()
            sizes[f"{WORKSHOP}{each.label} ± {limit}"] = abs(effect.value)
    largest = max(sizes, key=lambda source: sizes[source], default=None)
    return {} if largest is None else {largest: sizes[largest]}


def _resonance(
    case: CaseResults, temperature: float | None, workshop: Mapping[str, float]
) -> tuple[float | None, dict[str, float]]:
    sound = case.acoustics
    found = case.resonances[0].frequency if case.resonances else None
    if sound is None or found is None:
        return None, {}
    frequency = found.value
    parts = {
        BASIS: sound.reduced_basis.held_out_error,
        WALLS: sound.wall_share.get("frequency_Hz", 0.0),
    }
    if "frequency_Hz" in sound.truncation_share:
        parts[TRUNCATION] = sound.truncation_share["frequency_Hz"]
    sizes = {source: frequency * float(share) for source, share in parts.items()}
    if found.uncertainty is not None:
        sizes[MESH] = max(found.uncertainty - sum(sizes.values()), 0.0)
    sizes[SOLVER] = frequency * (sound.max_residual or 0.0)
    if temperature is not None:
        sizes[AIR] = frequency * 0.5 * TEMPERATURE_STEP / temperature
    for source, size in workshop.items():
        sizes[source] = frequency * float(ratio_of_cents(size) - 1)
    return frequency, sizes


def _resistance(
    case: CaseResults,
    index: int,
    temperature: float | None,
    workshop: Mapping[str, float],
) -> tuple[float | None, dict[str, float]]:
    row = case.rate(index)
    figures = None if row is None else row.figures
    drop = None if row is None else row.quantity(WHOLE)
    if row is None or figures is None or drop is None:
        return None, {}
    scale = 1e-3 / row.flow_rate_L_per_s
    resistance = scale * drop.value
    sizes: dict[str, float] = {}
    if drop.uncertainty is not None:
        sizes[MESH] = scale * drop.uncertainty
    sizes[SOLVER] = resistance * (figures.residual or 0.0)
    slope = figures.differential_resistance
    if temperature is not None and slope is not None:
        exponent = slope.value / resistance
        viscosity = 1.5 - temperature / (temperature + SUTHERLAND)
        share = -1 + (1 + viscosity) * (2 - exponent)
        sizes[AIR] = abs(resistance * share) * TEMPERATURE_STEP / temperature
    sizes |= _of_model(row, scale)
    for source, size in workshop.items():
        sizes[source] = resistance * size / 100
    return resistance, sizes


def _of_model(row: EstimatedRate, scale: float) -> dict[str, float]:
    """What the model error is from: of each source the larger of its two sides."""
    sources = {} if row.model_error is None else row.model_error.sources
    return {
        f"{MODEL}{source}": scale * max(sides.low, sides.high) for source, sides in sources.items()
    }
