"""What the model error of the steady pressure drop leaves of a change of threshold."""

from dataclasses import replace

import pytest

from borestudy.quantity import Quantity
from borestudy.results.case import CaseResults
from borestudy.results.changes import NO_DIFFERENCE_OF_MODEL, flow_change
from borestudy.results.onset import OnsetResult
from borestudy.results.onset_changes import onset_changes
from borestudy.results.onset_error import change_error

from .invented import LOUD, invented_cases
from .played import register

FIRST, OTHER = invented_cases()
#: Index of the loud rate.
AT = 1


def drop(case: CaseResults) -> float:
    found = case.rates[AT].quantity("pressure_drop")
    assert found is not None
    return found.value


def share(case: CaseResults) -> float:
    """The model error of the drop, as a share of it."""
    error = case.rates[AT].model_error
    assert error is not None
    return error.drops["pressure_drop"].mean / drop(case)


def blown(case: CaseResults, pressure: float, still: float, rate: float = LOUD) -> CaseResults:
    """The case with one register, whose threshold is so much with and without the stream [Pa]."""
    one = register(
        1,
        pressure,
        400.0,
        mouth_pressure_without_stream=Quantity(still, 0.0, "Pa"),
        flow_rate=Quantity(rate, 0.0, "L_per_s"),
    )
    # at the value that the pressure says, without the error of a mesh
    one = replace(one, mouth_pressure=Quantity(pressure, 0.0, "Pa"))
    return replace(case, onset=OnsetResult(registers=(one,)))


def error(ours: CaseResults, theirs: CaseResults) -> float:
    assert ours.onset is not None
    assert theirs.onset is not None
    return change_error(ours, theirs, ours.onset.registers[0], theirs.onset.registers[0])


def test_a_threshold_that_is_all_stream_errs_as_the_pressure_drop_does() -> None:
    ours, theirs = blown(OTHER, drop(OTHER), 0.0), blown(FIRST, drop(FIRST), 0.0)
    of_flow = flow_change(OTHER, FIRST, AT).model
    assert of_flow > 0.1
    assert error(ours, theirs) == pytest.approx(of_flow, rel=1e-9)


def test_a_threshold_without_a_stream_has_no_error_of_it() -> None:
    assert error(blown(OTHER, 1900.0, 1900.0), blown(FIRST, 2000.0, 2000.0)) == 0.0


def test_of_one_drop_the_error_goes_with_what_the_stream_does_more_in_one() -> None:
    ours, theirs = blown(FIRST, 1000.0, 700.0), blown(FIRST, 1000.0, 900.0)
    assert error(ours, theirs) == pytest.approx(100 * (0.3 - 0.1) * share(FIRST), rel=1e-9)


def test_the_error_is_of_the_rate_nearest_to_the_threshold() -> None:
    loud = error(blown(OTHER, 1000.0, 700.0), blown(FIRST, 1000.0, 700.0))
    soft = error(blown(OTHER, 1000.0, 700.0, 0.06), blown(FIRST, 1000.0, 700.0, 0.06))
    around = error(blown(OTHER, 1000.0, 700.0, 0.2), blown(FIRST, 1000.0, 700.0, 0.4))
    assert loud == pytest.approx(around)
    assert soft != pytest.approx(loud, rel=1e-3)


def test_the_model_error_decides_where_the_stream_is_what_tells_the_bores_apart() -> None:
    ours, theirs = blown(OTHER, 1000.5, 500.0), blown(FIRST, 1000.0, 500.0)
    (change,) = onset_changes(ours, theirs)
    assert change.threshold.own.model == error(ours, theirs) > 0.05
    assert change.threshold.own.verdict == NO_DIFFERENCE_OF_MODEL
    assert change.threshold.verdict == NO_DIFFERENCE_OF_MODEL
    assert onset_changes(theirs, theirs)[0].threshold.own.model == 0.0


def test_without_a_threshold_there_is_no_error_of_it() -> None:
    ours, theirs = blown(OTHER, 1000.0, 700.0), blown(FIRST, 1000.0, 700.0)
    assert ours.onset is not None
    assert error(ours, theirs) > 0
    for lost in ("mouth_pressure", "mouth_pressure_without_stream", "flow_rate"):
        one = replace(ours.onset.registers[0], **{lost: None})
        assert error(replace(ours, onset=OnsetResult(registers=(one,))), theirs) == 0.0


def test_without_a_flow_there_is_no_error_of_it() -> None:
    bare = blown(CaseResults("bare"), 1000.0, 500.0)
    assert error(bare, blown(FIRST, 1000.0, 700.0)) == 0.0
