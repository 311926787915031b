"""Every row of the budget in closed form, from two invented bores."""

from dataclasses import replace

import pytest

from borestudy.acoustics.result import AcousticResult, ReducedBasis, Resonance, ResonanceSlope
from borestudy.air import humid_air
from borestudy.bore import Tolerance
from borestudy.flow.result import DropSlope
from borestudy.quantity import Quantity
from borestudy.results.budget import budget_rows
from borestudy.results.case import CaseResults
from borestudy.results.estimate import EstimatedFlow
from borestudy.results.model_error import ModelError, Sides

from .conftest import altered
from .invented import LOUD, RESONANCES, SOFT, drops, invented_cases

KELVIN, RATES = 293.15, (SOFT, LOUD)
SHARES = {"held_out_error": 3e-6, "wall_share": 1.3e-5, "truncation_share": 1.7e-7,
          "max_residual": 1.9e-9}  # fmt: skip


@pytest.fixture(scope="module")
def case() -> CaseResults:
    first = invented_cases()[0]
    sound = replace(
        first.acoustics,
        reduced_basis=ReducedBasis(held_out_error=SHARES["held_out_error"]),
        max_residual=SHARES["max_residual"],
        wall_share={"frequency_Hz": SHARES["wall_share"], "Q": 0.5},
        truncation_share={"frequency_Hz": SHARES["truncation_share"], "Q": 0.5},
    )
    return replace(first, acoustics=sound)


def sizes(case: CaseResults, index: int, quantity: str, tolerances=()) -> dict[str, float]:
    """Size of each source; its percent and the dominant one are held against it here."""
    rows, rate = budget_rows(case, index, KELVIN, tolerances), RATES[index]
    mine = [row for row in rows if row["quantity"].startswith(quantity)]
    whole = RESONANCES["first"][0][0]
    if quantity != "first resonance":
        whole = 1e-3 * sum(drops("first", "estimate", rate)) / rate
    for row in mine:
        assert row["size_percent"] == pytest.approx(100 * row["size"] / whole)
        assert row["dominant"] == (row["size"] == max(entry["size"] for entry in mine))
    return {row["source"].removeprefix("model error: ").split(":")[0]: row["size"] for row in mine}


def test_the_resonances_sources_add_up_to_its_uncertainty(case: CaseResults) -> None:
    frequency = RESONANCES["first"][0][0]
    found = sizes(case, 0, "first resonance")
    known = {"reduced basis": "held_out_error", "wall losses": "wall_share",
             "truncation": "truncation_share", "residual of the solve": "max_residual"}  # fmt: skip
    for source, key in known.items():
        assert found[source] == pytest.approx(frequency * SHARES[key])
    numerical = [found["mesh"], *(found[source] for source in list(known)[:3])]
    stated = case.resonances[0].frequency.uncertainty
    assert sum(numerical) == pytest.approx(stated)
    # what the speed of sound does between 292.65 and 293.65 K
    cold, warm = (humid_air(KELVIN + step).sound_speed for step in (-0.5, 0.5))
    air = found["air temperature ± 1 K"]
    assert air == pytest.approx(frequency * (warm / cold - 1), rel=0.01)
    assert set(found) == {"mesh", *known, "air temperature ± 1 K"}


def test_the_resistances_sources_are_those_of_its_row(case: CaseResults) -> None:
    loud = case.rates[1]
    drop = loud.figures.pressure_drop
    found = sizes(case, 1, "flow resistance")
    assert found["mesh"] == pytest.approx(1e-3 * drop.uncertainty / LOUD)
    resistance = 1e-3 * drop.value / LOUD
    assert found["residual of the solve"] == pytest.approx(resistance * loud.figures.residual)
    sources = loud.model_error.sources
    assert "place of transition" in sources
    for source, sides in sources.items():
        assert found[source] == pytest.approx(1e-3 * max(sides.low, sides.high) / LOUD)
    assert len(found) == 3 + len(sources)


def test_a_source_of_the_model_error_counts_with_its_larger_side(case: CaseResults) -> None:
    for low, high in ((2.0, 5.0), (5.0, 2.0)):
        error = ModelError({}, {"entry": Sides(low, high)})
        rates = case.rates[0], replace(case.rates[1], model_error=error)
        found = sizes(replace(case, flow=replace(case.flow, rates=rates)), 1, "flow resistance")
        assert found["entry"] == pytest.approx(1e-3 * 5.0 / LOUD)


def test_the_airs_share_follows_from_density_and_viscosity(case: CaseResults) -> None:
    """Δp = ρU² p(Re), p as a power of Re: from 292.65 to 293.65 K with the project's own air."""
    figures = case.rates[0].figures
    drop = figures.pressure_drop.value
    power = 1e3 * figures.differential_resistance.value * SOFT / drop
    cold, warm = (humid_air(KELVIN + step) for step in (-0.5, 0.5))
    density = warm.density / cold.density
    kinematic = warm.kinematic_viscosity / cold.kinematic_viscosity
    ratio = density * kinematic ** (2 - power)
    found = sizes(case, 0, "flow resistance")["air temperature ± 1 K"]
    # Sutherland's dry air for the viscosity, an ideal gas for the density: 3 % of the share
    assert found == pytest.approx(abs(ratio - 1) * 1e-3 * drop / SOFT, rel=0.03)


def test_the_workshops_row_is_the_dimension_that_matters_most(case: CaseResults) -> None:
    """The throat does most to the resonance, two stations together to the resistance."""
    peak = case.resonances[0]
    cents = {"throat.diameter": -70.0, "station 1": 3.0, "station 2": 4.0}
    percent = {"throat.diameter": 5.0, "station 1": -11.0, "station 2": -12.0}
    drop = sum(drops("first", "estimate", SOFT))
    sound = {key: ResonanceSlope(frequency=Quantity(each, 0.1)) for key, each in cents.items()}
    flow = {
        key: DropSlope(pressure_drop=Quantity(each / 100 * drop, 0.1))
        for key, each in percent.items()
    }
    peaks = replace(peak, by_dimension=sound), *case.resonances[1:]
    case = replace(case, acoustics=replace(case.acoustics, resonances=peaks))
    case = altered(case, 0, by_dimension=flow)
    tolerances = [
        Tolerance("throat.diameter", "throat diameter", "mm", 2e-5, {"throat.diameter": 1.0}),
        Tolerance("diameters", "all diameters", "mm", 3e-5, {"station 1": 0.5, "station 2": 0.5}),
        Tolerance("length", "overall length", "mm", 1e-3, {"length": 1.0}),  # no derivative
    ]
    rows = [row for row in budget_rows(case, 0, None, tolerances) if "workshop" in row["source"]]
    assert [row["source"] for row in rows] == [
        "workshop error of throat diameter ± 0.02 mm",
        "workshop error of all diameters ± 0.03 mm",
    ]
    frequency = RESONANCES["first"][0][0]
    assert rows[0]["size"] == pytest.approx(frequency * (2 ** (70 * 0.02 / 1200) - 1), rel=1e-9)
    resistance = 1e-3 * drop / SOFT
    assert rows[1]["size"] == pytest.approx(0.03 * 0.115 * resistance)


def test_a_pure_numbers_tolerance_is_told_without_a_unit(case: CaseResults) -> None:
    shape = [Tolerance("cup.shape", "cup shape", "", 0.004, {"cup.shape": 1.0})]
    sources = [row["source"] for row in budget_rows(case, 0, None, shape)]
    assert sources.count("workshop error of cup shape ± 0.004") == 2


def test_a_case_without_a_result_has_no_budget(case: CaseResults) -> None:
    assert budget_rows(CaseResults("empty"), 0, KELVIN) == []
    (quantity,) = {row["quantity"] for row in budget_rows(case, 2, KELVIN)}
    assert quantity == "first resonance, Hz"
    alone = AcousticResult(resonances=(Resonance(frequency=Quantity(800.0, None)),))
    bare = replace(case, acoustics=alone, flow=EstimatedFlow())
    assert all(row["size"] == 0 for row in budget_rows(bare, 0))
