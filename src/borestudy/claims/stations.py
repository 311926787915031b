"""What the errors of a bore's measured stations make of a claimed quantity."""

from math import hypot

from borestudy.claim import Claim
from borestudy.claims.bench import Bench, split_peak
from borestudy.intervals import ratio_of_cents
from borestudy.results.dimensions import VOLUMES
from borestudy.results.estimate import TO_THROAT_END, WHOLE
from borestudy.results.measured import Effects, of_peak, of_rate, of_volume
from borestudy.results.reported import OF_FLOW

#: Drop that figures without derivatives of their own go with, and how far in proportion.
ALIKE = {
    "loss coefficient": (WHOLE, 1.0),
    "discharge coefficient": (TO_THROAT_END, 0.5),
    "friction in the throat": (TO_THROAT_END, 1.0),
}
#: Powers of the throat's width that figures of the mean velocity go with.
OF_WIDTH = {"throat velocity": 2, "dynamic pressure": 4, "throat Reynolds number": 1}


def stations_error(claim: Claim, bench: Bench, value: float) -> float:
    """Half-width in the unit of results; 0 where the bore was not measured, or nothing is known.

    A change has its own in its uncertainty (`borestudy.results.changes`).

    Parameters
    ----------
    claim : Claim
        What is claimed.
    bench : Bench
        The case that it is about.
    value : float
        The computed value.
    """
    case = bench.case
    if case.measurement is None:
        return 0.0
    volume = f"{claim.figure.replace(' ', '_')}_cm3"
    if volume in VOLUMES:
        return of_volume(case, volume) or 0.0
    if claim.figure in OF_WIDTH:
        return abs(value) * OF_WIDTH[claim.figure] * _share_of_width(bench)
    effects = _effects(claim, bench)
    if effects is None:
        return 0.0
    if split_peak(claim.figure)[1] == "frequency":
        return float(abs(value) * (ratio_of_cents(effects.size) - 1))
    part = ALIKE.get(claim.figure, ("", 1.0))[1]
    return part * abs(value) * effects.size / 100


def _effects(claim: Claim, bench: Bench) -> Effects | None:
    """Effects in cents or percent of the figure, or of the drop that it goes with."""
    case = bench.case
    peak, field = split_peak(claim.figure)
    if field is not None:
        place = bench.place(peak)
        found = case.resonances[place] if 0 <= place < len(case.resonances) else None
        return of_peak(case, found, field)
    name = ALIKE.get(claim.figure, (OF_FLOW.get(claim.figure, WHOLE), 1.0))[0]
    return of_rate(case, bench.rate(claim.rate_L_per_s), name)


def _share_of_width(bench: Bench) -> float:
    """Error of the narrowest station's diameter, over that diameter."""
    measured = bench.case.measurement
    if measured is None:
        return 0.0
    known = [one for one in measured.stations if one.diameter_mm is not None]
    sizes = [(one.diameter_mm or 0.0, one.diameter_mm_uncertainty or 0.0) for one in known]
    width, error = min(sizes, default=(1.0, 0.0))
    return hypot(error, measured.common_mm_uncertainty) / width
