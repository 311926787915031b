r"""Every quantity that is reported of a case, by its name, with its derivatives.

The names are those of tables and figures, and the words in which a wish is written.  A frequency
changes in cents, anything else in percent of its magnitude, so that a positive change is always a
larger number.  Of a quantity :math:`v \pm u_v` whose derivative by a dimension is
:math:`v' \pm u'`, the relative derivative :math:`s = 100\,v'/|v|` has the uncertainty

.. math:: u_s = \frac{100}{|v|} \sqrt{u'^2 + (v'\,u_v/v)^2},

the two errors being taken as independent (propagation of uncertainty to first order: JCGM
100:2008, 5.1.2).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from math import hypot

from borestudy.acoustics.result import Resonance
from borestudy.intervals import cents
from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.changes import Scale, peak_shift
from borestudy.results.dimensions import VOLUMES
from borestudy.results.estimate import NO_NUMBER, NOT_MESHED, EstimatedRate

RESONANCE = "resonance"
#: What follows a resonance's name, by the field of its record.
OF_RESONANCE = {"frequency": "", "Q": " Q", "impedance_peak": " impedance"}
RESISTANCE = "flow resistance"
#: Fields of the record behind the flow's figures; the flow resistance is divided by the rate.
OF_FLOW = {
    "pressure drop": "pressure_drop",
    "pressure drop to throat end": "pressure_drop_to_throat_end",
    "backbore pressure drop": "backbore_pressure_drop",
    RESISTANCE: "pressure_drop",
    "slope of pressure drop": "differential_resistance",
}
OF_VOLUME = {name: name.removesuffix("_cm3").replace("_", " ") for name in VOLUMES}
NO_RESONANCE = f"{NO_NUMBER}no resonance in the range"
NOT_COMPUTED = f"{NO_NUMBER}not computed"


@dataclass(frozen=True, kw_only=True)
class Reported:
    """A quantity of a case with its derivatives.

    Attributes
    ----------
    name : str
        Such as ``peak 4`` or ``flow resistance at 0.2 L/s``.
    unit : str
        Of the value.
    value : Quantity
    relative_in : {"cents", "percent"}
        What changes of it are told in.
    slopes : mapping of str to Quantity
        Relative change per mm, per degree or per 1 of each dimension, by the dimension's key; a
        dimension by which the derivative is not known is missing.
    flow_rate_L_per_s : float or None
        The flow rate it is at.
    """

    name: str
    unit: str
    value: Quantity
    relative_in: Scale
    slopes: Mapping[str, Quantity] = field(default_factory=dict)
    flow_rate_L_per_s: float | None = None

    @property
    def noise_floor(self) -> float | None:
        """The quantity's own numerical uncertainty, in cents or percent."""
        error = self.value.uncertainty
        return None if error is None else abs(self.change(self.value, self.value.value + error))

    def change(self, before: float | Quantity, after: float | Quantity) -> float:
        """Change from one value of the quantity to another, in cents or percent.

        Raises
        ------
        ValueError
            If the value before is 0, or a frequency is not positive.
        """
        first, last = float(before), float(after)
        if first == 0 or (self.relative_in == "cents" and min(first, last) <= 0):
            raise ValueError(
                f"{self.name}: found a change from {first:g} to {last:g} {self.unit}; allowed is "
                f"one {'of positive numbers' if self.relative_in == 'cents' else 'from not 0'}, "
                "for example from 800 to 810"
            )
        if self.relative_in == "cents":
            return float(cents(last / first))
        return 100 * (last - first) / abs(first)

    def effect(self, key: str, amount: float) -> Quantity | None:
        """Change in cents or percent that a change of a dimension makes, to first order.

        Parameters
        ----------
        key : str
            Key of the dimension.
        amount : float
            How much larger it is made [mm, degrees or 1].

        Returns
        -------
        Quantity or None
            None where the derivative is not known.
        """
        return self.effect_of({key: amount})

    def effect_of(self, amounts: Mapping[str, float]) -> Quantity | None:
        """Change that changes of several dimensions make together, to first order.

        Their derivatives come from the same meshes, so that their errors may well have one cause:
        the errors' sizes are added.

        Parameters
        ----------
        amounts : mapping of str to float
            How much larger each dimension is made [mm, degrees or 1], by its key.

        Returns
        -------
        Quantity or None
            In cents or percent; None where a derivative is not known, or nothing is changed.
        """
        if not amounts or not amounts.keys() <= self.slopes.keys():
            return None
        value, error = 0.0, 0.0
        known = True
        for key, amount in amounts.items():
            slope = self.slopes[key]
            value += amount * slope.value
            error += abs(amount) * (slope.uncertainty or 0.0)
            known &= slope.uncertainty is not None
        return Quantity(value, error if known else None, self.relative_in)


def reported(case: CaseResults, first: CaseResults | None = None) -> dict[str, Reported]:
    """Every quantity of a case that has a number, by its name.

    Parameters
    ----------
    case : CaseResults
        The case, with the dimensions of its bore.
    first : CaseResults, optional
        The case in which the peaks of an air column are counted, so that a number is the same peak
        in every case; by default the case itself.
    """
    found = (
        _reported(name, value, slopes, rate)
        for name, value, slopes, rate in _values(case, first or case)
        if value is not None
    )
    return {one.name: one for one in found}


def unreported(case: CaseResults, first: CaseResults | None = None) -> dict[str, str]:
    """Why a quantity has no number, by the name of each that has none."""
    return {
        name: _reason(case, name, rate)
        for name, value, _, rate in _values(case, first or case)
        if value is None
    }


def at_rate(figure: str, flow_rate_L_per_s: float) -> str:
    """Name of one of the flow's figures at a rate [L/s]: ``flow resistance at 0.2 L/s``."""
    return f"{figure} at {flow_rate_L_per_s:g} L/s"


def names_at_rate(flow_rate_L_per_s: float) -> list[str]:
    """Names of all of the flow's figures at a rate [L/s]."""
    return [at_rate(figure, flow_rate_L_per_s) for figure in OF_FLOW]


#: Name, value if it has one, absolute derivatives by dimension (of a frequency in cents), and rate.
_Found = tuple[str, Quantity | None, Mapping[str, Quantity], EstimatedRate | None]


def _values(case: CaseResults, first: CaseResults) -> Iterator[_Found]:
    peaks = [(RESONANCE, case.resonances[0] if case.resonances else None)]
    if case.has_air_column:
        shift = peak_shift(first, case)
        peaks += [
            (f"peak {place - shift + 1}", peak)
            for place, peak in enumerate(case.resonances)
            if place >= shift
        ]
    for stem, peak in peaks:
        yield from _of_peak(stem, peak)
    for rate in case.rates:
        yield from _of_rate(rate)
    for field_name, name in OF_VOLUME.items():
        volume = None if case.geometry is None else getattr(case.geometry, field_name)
        if volume == 0:
            continue  # a bore without that part
        value = None if volume is None else Quantity(volume, 0.0, "cm3")
        slopes = {
            one.key: Quantity(one.volumes[field_name], 0.0, "cm3")
            for one in case.dimensions
            if field_name in one.volumes
        }
        yield name, value, slopes, None


def _of_peak(stem: str, peak: Resonance | None) -> Iterator[_Found]:
    slopes = {} if peak is None else peak.by_dimension
    for field_name, ending in OF_RESONANCE.items():
        yield f"{stem}{ending}", getattr(peak, field_name, None), _each(slopes, field_name), None


def _of_rate(rate: EstimatedRate) -> Iterator[_Found]:
    figures = rate.figures
    for figure, field_name in OF_FLOW.items():
        value = rate.quantity(field_name)
        slopes = {} if figures is None else _each(figures.by_dimension, field_name)
        if figure == RESISTANCE:
            per_rate = 1e-3 / rate.flow_rate_L_per_s
            value = None if value is None else _times(value, per_rate, "kPa_s_per_L")
            slopes = {key: _times(one, per_rate, "kPa_s_per_L") for key, one in slopes.items()}
        yield at_rate(figure, rate.flow_rate_L_per_s), value, slopes, rate


def _each(slopes: Mapping[str, object], field_name: str) -> dict[str, Quantity]:
    """One field of the slopes by all dimensions, without those that have none."""
    found = {key: getattr(slope, field_name) for key, slope in slopes.items()}
    return {key: one for key, one in found.items() if one is not None}


def _times(found: Quantity, factor: float, unit: str) -> Quantity:
    error = None if found.uncertainty is None else abs(factor) * found.uncertainty
    levels = tuple(None if each is None else factor * each for each in found.levels)
    return Quantity(factor * found.value, error, unit, levels)


def _reported(
    name: str, value: Quantity, slopes: Mapping[str, Quantity], rate: EstimatedRate | None
) -> Reported:
    scale: Scale = "cents" if value.unit == "Hz" else "percent"
    return Reported(
        name=name,
        unit=value.unit,
        value=value,
        relative_in=scale,
        slopes={
            key: one if scale == "cents" else relative(one, value)
            for key, one in slopes.items()
            if scale == "cents" or value.value != 0
        },
        flow_rate_L_per_s=None if rate is None else rate.flow_rate_L_per_s,
    )


def relative(slope: Quantity, value: Quantity) -> Quantity:
    """A derivative in percent of the magnitude of what it is of, with the errors of both."""
    share = 100 / abs(value.value)
    error = None
    if slope.uncertainty is not None and value.uncertainty is not None:
        of_value = slope.value * value.uncertainty / value.value
        error = share * hypot(slope.uncertainty, of_value)
    common = min(len(slope.levels), len(value.levels))  # the finest meshes, which both have
    levels = tuple(
        None if one is None or not whole else 100 * one / abs(whole)
        for one, whole in zip(
            slope.levels[len(slope.levels) - common :],
            value.levels[len(value.levels) - common :],
            strict=True,
        )
    )
    return Quantity(share * slope.value, error, "percent", levels)


def _reason(case: CaseResults, name: str, rate: EstimatedRate | None) -> str:
    """Why a quantity has no number."""
    if rate is not None:
        return rate.note or NOT_COMPUTED
    if name in OF_VOLUME.values() or case.acoustics is None:
        return NOT_COMPUTED
    if case.acoustics.not_meshed is not None:
        return f"{NO_NUMBER}{NOT_MESHED}{case.acoustics.not_meshed}"
    return NOT_COMPUTED if case.resonances else NO_RESONANCE
