"""Wrong values of a resonance: without losses, without end correction, lumped, as a plain tube.

The first two are solved: without losses on the case's own meshes, and with a pressure node at the
shank end in place of an open end.  The others are the formulas of `borestudy.closed_form.by_hand`.
"""

from collections.abc import Iterator, Sequence

from borestudy.acoustics.result import Resonance
from borestudy.bore import BoreDescription
from borestudy.claim import Claim
from borestudy.claims.bench import Bench, split_peak
from borestudy.claims.trial import (
    DIAMETER_FOR_RADIUS,
    LOSSLESS,
    LUMPED,
    NO_END_CORRECTION,
    PLAIN_TUBE,
    RADIUS_FOR_DIAMETER,
    Trial,
)
from borestudy.closed_form import by_hand


def sound_trials(claim: Claim, bench: Bench) -> Iterator[Trial]:
    """Trials of a claim about a resonance; none of any other."""
    peak, field = split_peak(claim.figure)
    if field is None:
        return
    place = bench.place(peak)
    yield from _solved(LOSSLESS, "no losses at the walls", bench.lossless(), place, field)
    if bench.termination.startswith("open"):
        how = "no pressure at all at the open shank end"
        yield from _solved(NO_END_CORRECTION, how, bench.pressure_node(), place, field)
    geometry = bench.case.geometry
    if field != "frequency" or place != 0 or geometry is None or "throat" not in geometry.parts:
        return
    how = "c/(4 L), a quarter wave in a tube as long as the bore"
    length = 1e-3 * geometry.length_mm
    yield Trial(PLAIN_TUBE, how, by_hand.quarter_wave(length, bench.air.sound_speed))
    for cause, factor in ((None, 1.0), (DIAMETER_FOR_RADIUS, 2.0), (RADIUS_FOR_DIAMETER, 0.5)):
        for formula, own, value in resonators(geometry, bench.air.sound_speed, factor):
            yield Trial(cause or own, formula, value)


def _solved(
    cause: str, how: str, found: Sequence[Resonance], place: int, field: str
) -> Iterator[Trial]:
    quantity = getattr(found[place], field) if 0 <= place < len(found) else None
    if quantity is not None:
        yield Trial(cause, how, quantity.value, quantity.uncertainty or 0.0)


def resonators(
    bore: BoreDescription, sound_speed: float, factor: float = 1.0
) -> Iterator[tuple[str, str, float]]:
    """Formula, what is wrong with it, and frequency [Hz] of each resonator that the bore may be.

    The radii of throat and shank end are taken so many times as large as they are, the cup's volume
    as it is.
    """
    throat, end = (
        factor * 0.5e-3 * each for each in (bore.throat_diameter_mm, bore.end_diameter_mm)
    )
    start, stop = (1e-3 * each for each in bore.parts["throat"])
    rest, volume = 1e-3 * bore.length_mm - stop, 1e-6 * bore.cup_volume_cm3
    if volume <= 0:
        return
    neck = "a resonator of cup and throat"
    necks = [
        (f"c/2π √(S/(V l)), {neck}", NO_END_CORRECTION, 0),
        (f"c/2π √(S/(V (l + 8 r/3π))), {neck} with one end correction", LUMPED, 1),
        (f"c/2π √(S/(V (l + 16 r/3π))), {neck} with both end corrections", LUMPED, 2),
    ]
    for formula, cause, ends in necks:
        inertance = by_hand.neck_inertance(throat, stop - start, ends)
        yield formula, cause, by_hand.resonator_frequency(volume, inertance, sound_speed)
    if rest > 0:
        inertance = by_hand.neck_inertance(throat, stop - start)
        inertance += by_hand.cone_inertance(throat, end, rest)
        formula = "c/2π √(1/(V (l/S + L/(π r R)))), a resonator of cup, throat and backbore"
        yield formula, LUMPED, by_hand.resonator_frequency(volume, inertance, sound_speed)
