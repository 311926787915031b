"""What a formula worked out by hand says of a bore, beside what was computed, and why they differ.

No reason is chosen by the size of a difference alone: what a formula leaves out is known, and its
size is taken from the bore and from what was computed.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from borestudy.air import Air
from borestudy.bore import BoreDescription
from borestudy.closed_form import by_hand
from borestudy.closed_form.pipe_flow import developed_flow_drop
from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.estimate import TO_THROAT_END, WHOLE, EstimatedRate
from borestudy.results.reported import NOT_COMPUTED, RESONANCE, at_rate, unreported
from borestudy.results.tables.files import Row, frame_of

#: Relative difference of two exact volumes that is rounding.
SAME = 1e-6
#: Length over diameter and Reynolds number from which a pipe's flow is developed, to a few
#: percent (Shah & London, Laminar Flow Forced Convection in Ducts, 1978: 0.056, from memory).
DEVELOPED = 0.056
THROAT_FRICTION = "friction in the throat"


@dataclass(frozen=True)
class HandFormula:
    """A quantity by hand and as computed; ``computed`` is None where there is no number."""

    quantity: str
    formula: str
    hand_value: float
    unit: str
    computed: Quantity | None
    reason: str
    flow_rate_L_per_s: float | None = None

    @property
    def difference_percent(self) -> float | None:
        """Hand value less computed value, in percent of the computed one's size."""
        if self.computed is None or self.computed.value == 0:
            return None
        return 100 * (self.hand_value - self.computed.value) / abs(self.computed.value)


def hand_formulas(case: CaseResults, air: Air) -> list[HandFormula]:
    """All hand formulas of a case that has a bore with cup, throat and backbore.

    Parameters
    ----------
    case : CaseResults
        The case with its bore, resonances and flow; what it lacks has no computed value.
    air : Air
        The case's air.

    Returns
    -------
    list of HandFormula
        Volumes, then the resonance, then pressures rate by rate; none of a bore without a throat.
    """
    bore = case.geometry
    if bore is None or "throat" not in bore.parts:
        return []
    found = [*_volumes(bore), *_resonance(case, bore, air)]
    for rate in case.rates:
        found += _pressures(bore, air, rate)
    return found


def hand_formula_table(cases: Sequence[CaseResults], airs: Sequence[Air]) -> pd.DataFrame:
    """One row a case, quantity and formula, with each case's own air."""
    pairs = zip(cases, airs, strict=True)
    return frame_of([row for case, air in pairs for row in hand_formula_rows(case, air)])


def hand_formula_rows(case: CaseResults, air: Air) -> list[Row]:
    """A case's rows, one a formula."""
    return [
        {
            "case": case.name,
            "quantity": one.quantity,
            "flow_rate_L_per_s": one.flow_rate_L_per_s,
            "formula": one.formula,
            "hand_value": one.hand_value,
            "unit": one.unit,
            "computed": None if one.computed is None else one.computed.value,
            "uncertainty": None if one.computed is None else one.computed.uncertainty,
            "difference_percent": one.difference_percent,
            "reason": one.reason,
        }
        for one in hand_formulas(case, air)
    ]


def _volumes(bore: BoreDescription) -> Iterator[HandFormula]:
    rim, throat, end = (
        0.5e-3 * each
        for each in (bore.rim_diameter_mm, bore.throat_diameter_mm, bore.end_diameter_mm)
    )
    start, stop = (1e-3 * each for each in bore.parts["throat"])
    rest = 1e-3 * bore.length_mm - stop
    cup = "cup volume", bore.cup_volume_cm3
    if start > 0:
        cone = by_hand.cone_volume(rim, throat, start)
        yield _volume(*cup, "π/3 L (R² + R r + r²), a cone from rim to throat", cone, "cup", "cone")
        bowl = by_hand.bowl_volume(rim, throat, start)
        words = "π L (r² + π/2 r (R − r) + 2/3 (R − r)²), a bowl: a quarter of an ellipse turned"
        yield _volume(*cup, words, bowl, "cup", "bowl")
    tube = by_hand.cone_volume(throat, throat, stop - start)
    words = "π r² l, a cylinder"
    yield _volume(
        "throat volume",
        bore.throat_volume_cm3,
        words,
        tube,
        "throat",
        "cylinder of its least width",
    )
    if rest > 0:
        cone = by_hand.cone_volume(throat, end, rest)
        words = "π/3 L (R² + R r + r²), a cone from throat to shank end"
        yield _volume("backbore volume", bore.backbore_volume_cm3, words, cone, "backbore", "cone")


def _volume(
    name: str, computed: float, formula: str, hand: float, part: str, shape: str
) -> HandFormula:
    off = 1e6 * hand - computed
    if abs(off) <= SAME * computed:
        reason = f"the {part} is a {shape}, and the formula is exact"
    elif off < 0:
        reason = f"the wall of the {part} lies outside that of a {shape}"
    else:
        reason = f"the wall of the {part} lies inside that of a {shape}"
    return HandFormula(name, formula, 1e6 * hand, "cm3", Quantity(computed, 0.0, "cm3"), reason)


def _resonance(case: CaseResults, bore: BoreDescription, air: Air) -> Iterator[HandFormula]:
    computed = case.resonances[0].frequency if case.resonances else None
    throat, end = 0.5e-3 * bore.throat_diameter_mm, 0.5e-3 * bore.end_diameter_mm
    start, stop = (1e-3 * each for each in bore.parts["throat"])
    rest, volume, speed = 1e-3 * bore.length_mm - stop, 1e-6 * bore.cup_volume_cm3, air.sound_speed
    behind = unreported(case).get(RESONANCE) or _behind(case)

    def row(formula: str, value: float, left_out: str) -> HandFormula:
        reason = behind or left_out
        return HandFormula(RESONANCE, formula, value, "Hz", computed, reason)

    if volume > 0 and rest > 0:
        bare = by_hand.neck_inertance(throat, stop - start)
        ended = by_hand.neck_inertance(throat, stop - start, ends=2)
        backbore = by_hand.cone_inertance(throat, end, rest)
        times = (
            f"the air in the backbore, {backbore / bare:.2g} times as heavy to move as that in the"
        )
        times += " throat"
        yield row(
            "c/2π √(S/(V l)), a resonator of cup and throat",
            by_hand.resonator_frequency(volume, bare, speed),
            f"the formula leaves out {times}, and the air that moves along beyond its ends",
        )
        yield row(
            "c/2π √(S/(V (l + 16 r/3π))), a resonator of cup and throat with end corrections",
            by_hand.resonator_frequency(volume, ended, speed),
            f"the formula leaves out {times}",
        )
        yield row(
            "c/2π √(1/(V (l/S + L/(π r R)))), a resonator of cup, throat and backbore",
            by_hand.resonator_frequency(volume, bare + backbore, speed),
            "the formula takes the air in the cup for a spring and the rest for a weight; each is a"
            " little of both, and behind the shank there is air that moves too",
        )
    yield row(
        "c/(4 L), a quarter wave in a tube as long as the bore",
        by_hand.quarter_wave(1e-3 * bore.length_mm, speed),
        "the bore is no tube of one width: a wide cup behind a narrow throat makes it resonate as a"
        " resonator of cup and throat does",
    )


def _behind(case: CaseResults) -> str:
    """Why no formula for the bore alone can hold, by what is behind its shank; else empty."""
    kind = "" if case.acoustics is None else case.acoustics.termination
    if case.has_air_column:
        return (
            "this is the lowest resonance of the whole instrument, of which the bore is a small"
            " part; the formula knows the bore alone"
        )
    if kind.startswith("closed"):
        return "the shank end is closed here; the formula has it open"
    return ""


def _pressures(bore: BoreDescription, air: Air, rate: EstimatedRate) -> Iterator[HandFormula]:
    litres = rate.flow_rate_L_per_s
    radius, flow = 0.5e-3 * bore.throat_diameter_mm, 1e-3 * litres
    start, stop = bore.parts["throat"]
    dynamic = by_hand.dynamic_pressure(air, radius, flow)
    for name, field, reason in (
        ("pressure drop to throat end", TO_THROAT_END, _to_throat_end(rate, dynamic)),
        ("pressure drop", WHOLE, _whole(rate, dynamic)),
    ):
        drop, formula = rate.quantity(field), "½ ρ U², the throat’s dynamic pressure"
        yield HandFormula(at_rate(name, litres), formula, dynamic, "Pa", drop, reason, litres)
    friction, budget = None, None if rate.figures is None else rate.figures.budget
    if budget is not None and budget.dissipation_by_part is not None:
        friction = budget.dissipation_by_part.get("throat")
    yield HandFormula(
        at_rate(THROAT_FRICTION, litres),
        "8 μ l Q/(π r⁴), developed laminar flow (Poiseuille)",
        developed_flow_drop(air, radius, 1e-3 * (stop - start), flow),
        "Pa",
        friction,
        _friction(bore, rate),
        litres,
    )


def _to_throat_end(rate: EstimatedRate, dynamic: float) -> str:
    found = rate.quantity(TO_THROAT_END)
    if found is None:
        return rate.note
    if found.value < dynamic:
        return "the air is fast already where the drop begins, or part of the speed is given back"
    rest = 100 * (found.value - dynamic) / found.value
    return (
        f"speeding the air up takes that much; the other {rest:.0f} % are friction, the edge, and a"
        " speed that is greater in the middle than the mean"
    )


def _whole(rate: EstimatedRate, dynamic: float) -> str:
    whole, front = rate.quantity(WHOLE), rate.quantity(TO_THROAT_END)
    if whole is None or front is None:
        return rate.note
    behind = whole.value - front.value
    words = f"up to the throat’s end it takes {front.value / dynamic:.2f} times that; the backbore "
    words += "gives back" if behind < 0 else "takes another"
    return f"{words} {abs(behind) / dynamic:.2f} times"


def _friction(bore: BoreDescription, rate: EstimatedRate) -> str:
    if rate.figures is None or rate.figures.budget is None:
        return rate.note or NOT_COMPUTED
    start, stop = bore.parts["throat"]
    place = rate.figures.transition_position_mm
    if place is not None and place < stop:
        where = (
            "everywhere" if place <= start else f"from {place - start:.1f} mm into the throat on"
        )
        return f"the flow is turbulent {where}, which rubs more than laminar flow"
    run = DEVELOPED * rate.throat_reynolds * bore.throat_diameter_mm
    if stop - start < run:
        return (
            f"the flow would need {run:.0f} mm to take its final form; in a throat of"
            f" {np.round(stop - start, 2):g} mm it changes most in a thin layer along the wall"
        )
    return "nearly all of the throat has developed laminar flow; its first part rubs more"
