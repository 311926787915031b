"""Figures of a solved bore as the search knows them: logarithms of ratios to the start's.

A change of c cents is c; one of p percent is 100 ln(1 + p/100), whose derivative by a dimension is
the relative derivative that is reported.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot, log, nan

import numpy as np

from borestudy.optimisation.aims import Aim, Point
from borestudy.optimisation.least_squares import Real
from borestudy.results.case import CaseResults
from borestudy.results.changes import Change, flow_change, resonance_change
from borestudy.results.estimate import DROPS
from borestudy.results.reported import (
    OF_FLOW,
    OF_RESONANCE,
    OF_VOLUME,
    RESONANCE,
    Reported,
    reported,
)
from borestudy.results.wishes import WishedFor

#: Fields behind the names of the flow's figures and of a resonance's.
_OF_RESONANCE = {ending: name for name, ending in OF_RESONANCE.items()}


@dataclass(frozen=True)
class Compared:
    """A bore's reported quantities beside those of the bore that the search began with."""

    case: CaseResults
    start: CaseResults
    ours: dict[str, Reported]
    theirs: dict[str, Reported]

    @classmethod
    def of(cls, case: CaseResults, start: CaseResults) -> "Compared":
        """Compare what both bores have, at the flow rates that both were solved at."""
        rates = {rate.flow_rate_L_per_s for rate in case.rates}
        same = [rate for rate in start.rates if rate.flow_rate_L_per_s in rates]
        start = replace(start, flow=replace(start.flow, rates=tuple(same)))
        return cls(case, start, reported(case, start), reported(start))

    def change(self, name: str) -> Change:
        """Change of a quantity from the start, with both of its errors."""
        figure, _, at = name.partition(" at ")
        if figure in OF_FLOW:
            rates = [f"{rate.flow_rate_L_per_s:g} L/s" for rate in self.case.rates]
            if at not in rates:
                return Change()
            found = flow_change(self.case, self.start, rates.index(at), OF_FLOW[figure])
            return found if found.value is not None else self._by_values(name)
        if name in OF_VOLUME.values():
            if name not in self.ours or name not in self.theirs:
                return Change()
            ours, theirs = self.ours[name], self.theirs[name].value
            return Change(ours.change(theirs, ours.value), 0.0)
        words = name.split(" ")
        ending = f" {words[-1]}" if f" {words[-1]}" in _OF_RESONANCE else ""
        stem = name.removesuffix(ending)
        place = 0 if stem == RESONANCE else int(stem.removeprefix("peak ")) - 1
        return resonance_change(self.case, self.start, place, _OF_RESONANCE[ending])

    def _by_values(self, name: str) -> Change:
        """Change of a figure that is not above zero, of its magnitude, errors as independent."""
        if name not in self.ours or name not in self.theirs:
            return Change()
        ours, theirs = self.ours[name], self.theirs[name].value
        errors = (ours.value.uncertainty, theirs.uncertainty)
        if theirs.value == 0:
            return Change()
        value = ours.change(theirs, ours.value)
        if None in errors:
            return Change(value)
        return Change(value, 100 * hypot(*(error or 0.0 for error in errors)) / abs(theirs.value))

    def miss(self, wish: WishedFor) -> tuple[float | None, float | None]:
        """How far a quantity is from what is wished, in cents or percent, and its uncertainty."""
        if wish.kind != "reach":
            change = self.change(wish.quantity)
            away = None if change.value is None else change.value - wish.target
            return away, change.uncertainty
        if wish.quantity not in self.ours:
            return None, None
        found = self.ours[wish.quantity]
        numerical = found.noise_floor or 0.0
        return found.change(wish.target, found.value), hypot(numerical, self._model(wish.quantity))

    def _model(self, name: str) -> float:
        """Model error of a pressure drop or of the flow resistance, in percent of it."""
        figure, _, at = name.partition(" at ")
        drop = OF_FLOW.get(figure)
        if drop not in DROPS:
            return 0.0
        for rate in self.case.rates:
            known = rate.quantity(drop)
            drops = rate.model_error.drops if rate.model_error else {}
            if f"{rate.flow_rate_L_per_s:g} L/s" == at and known and drop in drops:
                return 100 * drops[drop].mean / abs(known.value)
        return 0.0


def logarithm(change: float, scale: str) -> float:
    """A change in cents or percent as the search knows it."""
    return change if scale == "cents" else 100 * log(max(1 + change / 100, 1e-9))


def tolerance(wish: WishedFor) -> float:
    """How near a wish must be met, as the search knows it."""
    if wish.scale == "cents":
        return wish.within
    target = wish.target if wish.kind == "change" else 0.0
    share = wish.within / (100 + target)
    # The nearer of the two sides.
    return 100 * log(1 + share)


def aim_of(wish: WishedFor, start: CaseResults) -> Aim:
    """What a wish is to the search, with the start's figures known.

    Raises
    ------
    ValueError
        If the start has no such figure.
    """
    kept = wish.kind == "keep"
    if wish.kind != "reach":
        known = reported(start)
        if wish.quantity not in known:
            raise ValueError(f"{wish.quantity}: the bore that the wish starts from has no number")
        return Aim(wish.quantity, logarithm(wish.target, wish.scale), tolerance(wish), kept)
    away, _ = Compared.of(start, start).miss(wish)
    if away is None:
        raise ValueError(f"{wish.quantity}: the bore that the wish starts from has no number")
    return Aim(wish.quantity, -logarithm(away, wish.scale), tolerance(wish))


def point_of(
    x: Real,
    case: CaseResults | None,
    start: CaseResults,
    wishes: Sequence[WishedFor],
    keys: Sequence[str],
) -> Point:
    """Figures and derivatives of a solved bore; NaN where there is none.

    A quantity that shall reach a value counts as it stands on the finest mesh, one that shall
    change by its change between meshes of the same fineness.
    """
    values = np.full(len(wishes), nan)
    slopes = np.full((len(wishes), len(keys)), nan)
    if case is None:
        return Point(x, values, slopes)
    compared = Compared.of(case, start)
    for number, wish in enumerate(wishes):
        if wish.quantity not in compared.ours:
            continue
        found = compared.ours[wish.quantity]
        if wish.kind == "reach":
            theirs = compared.theirs.get(wish.quantity)
            change = None if theirs is None else found.change(theirs.value, found.value)
        else:
            change = compared.change(wish.quantity).value
        values[number] = nan if change is None else logarithm(change, wish.scale)
        slopes[number] = [found.slopes[key].value if key in found.slopes else nan for key in keys]
    return Point(x, values, slopes)
