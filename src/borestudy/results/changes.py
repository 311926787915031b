r"""What changes between two cases, with an uncertainty of its own.

Both cases are solved on meshes of the same fineness, so that much of the mesh error is common to
both and leaves their difference.  The change is therefore computed on every mesh level and the
grid convergence index (Roache 1994) is taken of the series of changes.  How much of the error
really is common is not known from theory: the meshes of two bores differ.  So the change's
uncertainty is never taken below a share of what independent errors of the two would give,

.. math:: u \ge \sqrt{u_A^2 + u_B^2}\,/\,k,

with k = 4 where two levels are all there is, since one step of each can agree by chance, and
k = 10 where a third level shows the cancelling twice.  No order above that of a re-entrant edge,
4/3, is trusted: on the square throat edge three coarse levels were seen to suggest 2.9 where finer
ones settle at 4/3 (computed, first resonance).  Errors of the solvers (Newton's residual,
the reduced basis) are added, since they do not cancel.

A change of a pressure drop has a model error besides, of what the best estimate may be off by
differently in the two bores (`borestudy.results.model_error`).  The two errors are independent, so
the one uncertainty of the change is the square root of the sum of their squares.  So is what the
errors of measured stations make of it (`borestudy.results.measured`), of which two bores made from
the same stations have most in common.
"""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from math import hypot
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from borestudy.fem.uncertainty import grid_uncertainty
from borestudy.intervals import cents
from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.estimate import DROPS, WHOLE
from borestudy.results.measured import Effects, of_change, of_peak, of_rate
from borestudy.results.model_error import change_error

LOWER, HIGHER = "lower", "higher"
#: The change is within its numerical uncertainty; or beyond that, and within all errors together.
NO_DIFFERENCE = "no difference beyond the numerical uncertainty"
NO_DIFFERENCE_OF_MODEL = "no difference beyond the uncertainty"
NO_RESULT = "not known: no result"
NO_UNCERTAINTY = "not known: no numerical uncertainty"
NOT_PAIRED = "not known: the lowest resonance of one case is outside the range"

#: How much cancelling of mesh errors is believed, by the number of levels that show it.
BELIEVED_CANCELLING = {2: 4.0, 3: 10.0}
#: Fewer peaks than these are paired by their number alone.
PEAKS_TO_SHIFT = 4

Scale = Literal["percent", "cents"]


@dataclass(frozen=True)
class Change:
    """A change against another case, with its errors in the same unit.

    ``unknown`` says why there is no value, where there is none.  ``measurement`` is what the errors
    of measured stations make of it, None where that is not known or no bore was measured.
    """

    value: float | None = None
    numerical: float | None = None
    unknown: str = NO_RESULT
    model: float = 0.0
    measurement: float | None = None

    @property
    def uncertainty(self) -> float | None:
        """All errors together; None where the numerical one is not known."""
        if self.numerical is None:
            return None
        return hypot(self.numerical, self.model, self.measurement or 0.0)

    @property
    def verdict(self) -> str:
        """The plain word: lower, higher, no difference, or that it is not known."""
        if self.value is None:
            return self.unknown
        if self.numerical is None:
            return NO_UNCERTAINTY
        if abs(self.value) <= self.numerical:
            return NO_DIFFERENCE
        if abs(self.value) <= hypot(self.numerical, self.model, self.measurement or 0.0):
            return NO_DIFFERENCE_OF_MODEL
        return HIGHER if self.value > 0 else LOWER

    @property
    def is_known(self) -> bool:
        """Whether value and uncertainty are both there."""
        return self.value is not None and self.numerical is not None

    @property
    def is_beyond(self) -> bool:
        """Whether the change is larger than its uncertainty."""
        return self.verdict in (LOWER, HIGHER)


UNKNOWN = Change()
ITSELF = Change(0.0, 0.0)


def _scaled(ratio: NDArray[np.float64], scale: Scale) -> NDArray[np.float64]:
    return cents(ratio) if scale == "cents" else np.asarray(100 * (ratio - 1))


def change_of_levels(
    values: Sequence[float | None],
    references: Sequence[float | None],
    scale: Scale = "percent",
    solver_error: float = 0.0,
    stated: tuple[float, float] = (0.0, 0.0),
) -> Change:
    """Change of a positive figure against another case's, from both on every mesh level.

    Parameters
    ----------
    values, references : sequence of float
        The figure on each mesh level, coarsest first; where one case has more levels than the
        other, the finest ones are compared.  None where a level has no figure.
    scale : {"percent", "cents"}
        Unit of the change.
    solver_error : float
        Relative error of the ratio from anything but the mesh.
    stated : (float, float)
        Uncertainties that the two figures carry themselves, in their unit: counted in place of
        those of the levels where they are larger.

    Returns
    -------
    Change
        Without a value unless both finest figures are there and the reference is positive;
        without an uncertainty where fewer than two levels can be compared.
    """
    count = min(len(values), len(references))
    last = np.array(values[len(values) - count :], dtype=float)
    base = np.array(references[len(references) - count :], dtype=float)
    if count == 0 or not (np.isfinite(last[-1]) and np.isfinite(base[-1])):
        return UNKNOWN
    if base[-1] <= 0 or (scale == "cents" and last[-1] <= 0):
        return UNKNOWN
    ratio = last[-1] / base[-1]
    value = float(_scaled(np.asarray(ratio), scale))
    usable = np.isfinite(last) & np.isfinite(base) & (base > 0) & (last > 0)
    usable_from = count - int(np.argmin(usable[::-1])) if not usable.all() else 0
    last, base = last[usable_from:], base[usable_from:]
    if len(last) < 2:
        return Change(value)
    together = float(grid_uncertainty(_scaled(last / base, scale)))
    own, other = (
        max(float(grid_uncertainty(each)), error)
        for each, error in zip((last, base), stated, strict=True)
    )
    apart = float(np.hypot(own / last[-1], other / base[-1]))
    believed = BELIEVED_CANCELLING[min(len(last), max(BELIEVED_CANCELLING))]
    independent, solvers = (
        abs(float(_scaled(ratio * (1 + share), scale)) - value)
        for share in (apart / believed, solver_error)
    )
    return Change(value, max(together, independent) + solvers)


def _basis_error(case: CaseResults) -> float:
    return 0.0 if case.acoustics is None else case.acoustics.reduced_basis.held_out_error


def peak_shift(first: CaseResults, case: CaseResults) -> int:
    """How many places the case's peaks lie after the first case's, since a range can cut one off.

    Few peaks are paired by their number: two shapes of a mouthpiece alone may differ by more than
    one of its resonances from the next.  Of the many peaks of an air column, the pairing with the
    least median distance is taken.
    """
    ours, theirs = (
        [peak.frequency.value for peak in each.resonances if peak.frequency is not None]
        for each in (case, first)
    )
    return shift_between(theirs, ours)


def shift_between(theirs: Sequence[float], ours: Sequence[float]) -> int:
    """How many places later peaks of our frequencies lie than those of theirs [Hz]."""
    if min(len(ours), len(theirs)) < PEAKS_TO_SHIFT:
        return 0

    def distance(shift: int) -> float:
        moved = np.array(ours[max(shift, 0) :]), np.array(theirs[max(-shift, 0) :])
        count = min(map(len, moved))
        return float(np.median(np.abs(np.log(moved[0][:count] / moved[1][:count]))))

    return min((0, 1, -1), key=distance)


def resonance_change(
    case: CaseResults, first: CaseResults, peak: int = 0, quantity: str = "frequency"
) -> Change:
    """Change of one resonance against another case's.

    Parameters
    ----------
    case, first : CaseResults
        The case, and what it is compared with.
    peak : int
        Number of the resonance in ``first``, from 0.
    quantity : {"frequency", "Q", "impedance_peak"}
        Field of `Resonance`.  A frequency changes in cents, the others in percent.
    """
    if case is first and len(case.resonances) > peak:
        return _itself(case)
    place = peak + peak_shift(first, case)
    if place < 0:
        return Change(unknown=NOT_PAIRED)
    if place >= len(case.resonances) or peak >= len(first.resonances):
        return UNKNOWN
    peaks = case.resonances[place], first.resonances[peak]
    ours, theirs = (getattr(each, quantity) for each in peaks)
    scale: Scale = "cents" if quantity == "frequency" else "percent"
    found = _change(ours, theirs, scale, _basis_error(case) + _basis_error(first))
    either = dict(zip((case.name, first.name), peaks, strict=True))
    return _with_measurement(found, case, first, lambda of: of_peak(of, either[of.name], quantity))


def _change(
    ours: Quantity | None, theirs: Quantity | None, scale: Scale, solver_error: float
) -> Change:
    """Change of a quantity against another case's, each with its values on the same meshes."""
    if ours is None or theirs is None:
        return UNKNOWN
    stated = (ours.uncertainty or 0.0, theirs.uncertainty or 0.0)
    return change_of_levels(ours.levels, theirs.levels, scale, solver_error, stated)


def flow_change(case: CaseResults, first: CaseResults, rate: int, quantity: str = WHOLE) -> Change:
    """Change in percent of a figure of the estimate at one rate against another case's.

    The flow rate being the same, a pressure drop and the flow resistance change alike.

    Parameters
    ----------
    case, first : CaseResults
        The case, and what it is compared with.
    rate : int
        Index of the study's flow rate.
    quantity : str
        Field of `FlowAtRate`; a pressure drop's change has a model error.
    """
    rows = case.rate(rate), first.rate(rate)
    ours, theirs = (None if each is None else each.figures for each in rows)
    passage, other = case.flow.passage, first.flow.passage
    if ours is None or theirs is None or passage is None or other is None:
        return UNKNOWN
    quantities = [getattr(each, quantity) for each in (ours, theirs)]
    if None in quantities:
        return UNKNOWN
    if case is first:
        return _itself(case)
    if ours.mesh_levels and theirs.mesh_levels:
        common = set(ours.mesh_levels) & set(theirs.mesh_levels)
        quantities = [
            _on_meshes(each, figures.mesh_levels, common)
            for each, figures in zip(quantities, (ours, theirs), strict=True)
        ]
    residuals = (ours.residual or 0.0) + (theirs.residual or 0.0)
    found = _change(quantities[0], quantities[1], "percent", residuals)
    found = _with_measurement(found, case, first, lambda of: of_rate(of, of.rate(rate), quantity))
    if quantity not in DROPS or found.value is None:
        return found
    return replace(found, model=change_error((passage, ours), (other, theirs), quantity))


def _itself(case: CaseResults) -> Change:
    return ITSELF if case.measurement is None else replace(ITSELF, measurement=0.0)


def _with_measurement(
    found: Change,
    case: CaseResults,
    first: CaseResults,
    effects: Callable[[CaseResults], Effects | None],
) -> Change:
    """The change with what the errors of measured stations make of it."""
    if found.value is None or (case.measurement is None and first.measurement is None):
        return found
    return replace(found, measurement=of_change(case, first, effects))


def _on_meshes(found: Quantity, numbers: Sequence[int], common: Collection[int]) -> Quantity:
    """A quantity with its values on those meshes alone that both cases were solved on."""
    pairs = zip(found.levels, numbers[-len(found.levels) :], strict=True)
    return replace(found, levels=tuple(value for value, number in pairs if number in common))
