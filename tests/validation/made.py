"""Made-up results of each family of flows, and the nozzle as it was measured."""

import numpy as np

from borestudy.closed_form.long_orifice import pressure_drop
from borestudy.closed_form.nozzle_taps import JET_VELOCITY
from borestudy.validation.entry import EntryLoss, EntryLosses
from borestudy.validation.ladder import Curve, curve, quantity_of
from borestudy.validation.nozzle import NozzleAtRate, NozzleFlow
from borestudy.validation.orifices import AREA_RATIO, OrificeDrop, OrificeDrops
from borestudy.validation.pipe import PipeFlow
from borestudy.validation.playing import BY_RULE, PlayingDrop, PlayingDrops
from borestudy.validation.reversed_nozzle import JetAtRate, JetFlow
from borestudy.validation.widening import CONES, Widening, Widenings

#: Taps at -32, 2.03, 10, 40 and 90 mm: drop from the first, q.
MEASURED = {
    2000.0: (2.093, 1.685, 2.129, 2.14),
    3500.0: (2.375, 1.603, 2.024, 1.618),
    5000.0: (2.473, 1.553, 1.967, 1.410),
}
AXIS_500 = {0.0: 0.95, 4.0: 1.36, 32.0: 1.83, 40.0: 1.87, 72.0: 1.49, 100.0: 1.29}
PLACES = (2.03, 10.0, 40.0, 90.0)


def losses(*ladders, reynolds=1e4):
    """Entries of rising radius with these losses on the meshes."""
    return EntryLosses(
        tuple(
            EntryLoss(0.1 * index, reynolds, quantity_of(ladder))
            for index, ladder in enumerate(ladders)
        )
    )


PIPE = PipeFlow(
    {"5000": quantity_of([0.037, 0.0380]), "10000": quantity_of([0.0309, 0.0309 * 1.0245])},
    {"5000": Curve((1.0, 200.0), (1.0, 18.0)),
     "10000": curve(np.geomspace(1, 300, 40), 2.5 * np.log(np.geomspace(1, 300, 40)) + 5.5)},
)  # fmt: skip
ENTRIES = losses([0.5, 0.51], [0.3, 0.31], [0.1, 0.11])
WALL = Curve((-5.0, 0.0, 30.0), (0.1, 0.0, 0.38))
WIDENINGS = Widenings(
    Widening(quantity_of([0.53, 0.52], "q"), WALL),
    tuple(Widening(quantity_of([0.11, 0.10], "q"), WALL) for _ in CONES),
)


def made_flow(shift=0.0, faster=1.0, step=0.0, model="estimate"):
    """A flow with the measured pressures and speeds, taps up to 10 mm lower by `shift`.

    The coarser mesh has drops from the first tap that are greater by `step`.
    """
    axis = Curve(tuple(AXIS_500), tuple(faster * speed for speed in AXIS_500.values()))
    rates = [NozzleAtRate(500.0, (), (axis,))]
    for reynolds, drops in MEASURED.items():
        walls = tuple(
            Curve((-32.0, *PLACES), (0.0, *(-(drop + shift + more) for drop in drops)))
            for more in (step, 0.0)
        )
        rates.append(NozzleAtRate(reynolds, walls, ()))
    return NozzleFlow(model, tuple(rates))


def made_orifices(factor=1.0):
    """The drops that were measured, times a factor."""
    drops = (
        (length, reynolds, factor * pressure_drop(reynolds, length, AREA_RATIO)[0])
        for length in (2.0, 10.0)
        for reynolds in (500.0, 5e3)
    )
    return OrificeDrops(
        tuple(OrificeDrop(length, at, quantity_of([drop, drop], "q")) for length, at, drop in drops)
    )


def made_jet(factor=1.0):
    """The measured velocities times a factor, the jet at 3500 half broken up at 11.5 diameters."""
    rates = []
    for reynolds, places in JET_VELOCITY.items():
        line = {place: factor * speed[0] for place, speed in places.items()}
        rates.append(JetAtRate(reynolds, (Curve(tuple(line), tuple(line.values())),)))
    return JetFlow(tuple(rates))


def made_playing(by_place=0.1):
    """The simulation's drops, and two solutions with another place at 2000."""
    simulated = {"rounded 1 mm": {1116.0: 1.07, 2000.0: 0.69}, "square": {6697.0: 0.54}}

    def drop(entry, place, reynolds, ladder):
        drops = quantity_of(ladder, "q"), quantity_of([1.4] * len(ladder), "q")
        return PlayingDrop(entry, place, reynolds, *drops, (by_place,) * len(ladder))

    rule = [
        drop(entry, BY_RULE, reynolds, [total + 0.02, total + 0.01, total])
        for entry, totals in simulated.items()
        for reynolds, total in totals.items()
    ]
    farther = drop("rounded 1 mm", "1.4 of the rule", 2000.0, [0.75])
    rim = drop("square", "rim plane", 6697.0, [0.53, 0.52])
    return PlayingDrops((*rule, farther, rim))
