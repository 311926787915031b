"""A case's results without what only its own rows of the tables are made from.

Sentences compare all cases of a study with one another, so all must be there at once: of ten
thousand cases with their curves and derivatives that were ten gigabytes.
"""

from dataclasses import replace

from borestudy.acoustics.result import Resonance
from borestudy.flow.result import DropSlope, FlowAtRate
from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.estimate import EstimatedRate
from borestudy.results.onset import OnsetResult
from borestudy.results.tone import ToneResult


def without_details(case: CaseResults) -> CaseResults:
    """The same results for sentences that go through all cases.

    Pressure drops, resonances, what limits them, and of a measured bore their derivatives are
    there; curves, fields' names, parts of the energy, what the stream does, and other derivatives
    are not.  Of the onset there are the thresholds of all lips, of the tone what its table has.
    """
    measured = case.measurement is not None
    acoustics, stream = case.acoustics, case.stream
    if acoustics is not None:
        peaks = tuple(_resonance(one, measured) for one in acoustics.resonances)
        acoustics = replace(
            acoustics, resonances=peaks, curves=None, transfer=None, gain=None, peak_centroid=None,
            wall_share={}, truncation_share={}, level_unknowns=(), provenance=None,
        )  # fmt: skip
    rates = tuple(_rate(one, measured) for one in case.rates)
    return replace(
        case,
        acoustics=acoustics,
        flow=replace(case.flow, rates=rates),
        stream=None if stream is None else replace(stream, rates=(), provenance=None),
        dimensions=(),
        onset=None if case.onset is None else _onset(case.onset),
        tone=None if case.tone is None else _tone(case.tone),
    )


def _onset(found: OnsetResult) -> OnsetResult:
    """The thresholds without their curves against the lips' resonance."""
    registers = tuple(
        replace(
            one,
            curve_lips_frequency_Hz=(),
            curve_mouth_pressure_Pa=(),
            curve_sounding_frequency_Hz=(),
        )
        for one in found.registers
    )
    return replace(found, registers=registers, provenance=None)


def _tone(found: ToneResult) -> ToneResult:
    """The tone without its course up and down."""
    return replace(
        found,
        rising_mouth_pressure_Pa=(), rising_cup_pressure_Pa=(), rising_frequency_Hz=(),
        falling_mouth_pressure_Pa=(), falling_cup_pressure_Pa=(), falling_frequency_Hz=(),
        provenance=None,
    )  # fmt: skip


def _resonance(peak: Resonance, measured: bool) -> Resonance:
    slopes = peak.by_dimension if measured else {}
    return replace(peak, by_dimension=slopes, equivalent_length=None, field=None)


def _rate(rate: EstimatedRate, measured: bool) -> EstimatedRate:
    error = rate.model_error
    return replace(
        rate,
        estimate=_figures(rate.estimate, measured),
        laminar=_figures(rate.laminar, measured),
        turbulent=_figures(rate.turbulent, measured),
        model_error=None if error is None else replace(error, sources={}),
        handbook={},
    )


def _figures(found: FlowAtRate | None, measured: bool) -> FlowAtRate | None:
    """What is said of one rate: whether it was solved, its pressure drops, and its errors."""
    if found is None:
        return None
    slopes = {}
    if measured:
        slopes = {
            key: DropSlope(pressure_drop=one.pressure_drop)
            for key, one in found.by_dimension.items()
        }
    return replace(
        found,
        pressure_drop_to_throat_end=_bare(found.pressure_drop_to_throat_end),
        backbore_pressure_drop=_bare(found.backbore_pressure_drop),
        loss_coefficient=None, differential_resistance=None, discharge_coefficient=None,
        jet_contraction=None, jet_contraction_position=None, budget=None, sections={}, axis=None,
        wall=None, separations=(), by_dimension=slopes, field=None,
    )  # fmt: skip


def _bare(found: Quantity | None) -> Quantity | None:
    return None if found is None else replace(found, levels=())
