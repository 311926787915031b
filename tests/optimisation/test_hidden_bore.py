"""A bore that is hidden behind its own figures is found again, and what they leave open is told."""

import numpy as np
import pytest

from borestudy.air import humid_air
from borestudy.bore import Entry, bore_from_dimensions
from borestudy.optimisation.asked import Granting
from borestudy.optimisation.existing import added_metal
from borestudy.optimisation.granting import grant
from borestudy.optimisation.solved import Question, solve_case
from borestudy.results.reported import reported
from borestudy.results.wishes import FreeRange, WishedFor
from borestudy.study.dimensions import dimensions_of_sizes, values_of_sizes, with_dimension

SIZES = {
    "length": 0.088, "cup_diameter": 0.0162, "cup_depth": 0.0108, "cup_shape": 0.6,
    "throat_diameter": 0.0036576, "throat_length": 0.005, "entry": Entry("rounded", (0.5e-3,)),
    "backbore_end_diameter": 0.009, "backbore_taper": "straight",
}  # fmt: skip
AIR = humid_air(298.15, 0.5, 101325.0)


def sizes_at(values):
    """Sizes of the bore with some dimensions [mm]."""
    sizes = SIZES
    for key, value in values.items():
        sizes = with_dimension(sizes, key, 1e-3 * value)
    return sizes


def bore_at(values):
    sizes = sizes_at(values)
    free = [one for one in dimensions_of_sizes(sizes) if one.key in values]
    return bore_from_dimensions(**sizes), free


def free_range(key, low, high):
    label, unit, value = values_of_sizes(SIZES)[key]
    return FreeRange(key=key, label=label, unit=unit, start=1e3 * value, low=low, high=high)


class Solver:
    """Solves bores and counts them."""

    def __init__(self, question):
        self.question, self.solved = question, []

    def __call__(self, values, everything):
        self.solved.append(dict(values))
        return solve_case("bore", *bore_at(values), self.question)


FREE = (
    free_range("throat.diameter", 3.4, 4.0),
    free_range("cup.depth", 9.0, 12.5),
    free_range("length", 80.0, 95.0),
)


def reaching(case, **within):
    """A wish for the figures that a case has."""
    found = reported(case)
    return [
        WishedFor(
            quantity=(name := key.replace("_", " ").replace("flow", "flow resistance at 0.2 L/s")),
            kind="reach",
            written="",
            target=found[name].value.value,
            within=near,
            scale=found[name].relative_in,
        )
        for key, near in within.items()
    ]


@pytest.fixture(scope="module")
def found():
    """The way back from a bore's figures, its dimensions, and the solver."""
    hidden = {"throat.diameter": 3.81, "cup.depth": 10.2, "length": 86.0}
    solver = Solver(Question(air=AIR, rates=[0.2e-3], resolution="coarse"))
    wished = reaching(
        solver(hidden, True), resonance=0.1, resonance_Q=0.01, resonance_impedance=0.01, flow=0.5
    )
    solver.solved.clear()
    return hidden, solver, grant(Granting(wished=wished, free=FREE, bore_at=bore_at,
                                          solve_at=solver))  # fmt: skip


def test_a_hidden_bore_is_found_again_within_two_thousandths_of_a_millimetre(found):
    hidden, solver, result = found
    (bore,) = result.returned
    assert bore.met
    assert {one.key: one.value for one in bore.dimensions} == pytest.approx(hidden, abs=0.002)
    assert len(result.path) == len(solver.solved) <= 12


def test_the_start_is_the_bore_that_there_is_and_the_returned_one_is_solved_at_every_rate(found):
    _, solver, result = found
    assert solver.solved[0] == {"throat.diameter": 3.6576, "cup.depth": 10.8, "length": 88.0}
    (bore,) = result.returned
    assert result.path[bore.solve - 1].all_rates
    assert result.path[bore.solve - 1].dimensions == {one.key: one.value for one in bore.dimensions}


def test_a_wish_that_determines_every_dimension_says_how_well(found):
    _, _, result = found
    assert result.undetermined == ()
    for one in result.free:
        assert 0 < one.determined_within < 0.05


def test_what_the_wish_costs_elsewhere_is_told_with_both_errors(found):
    _, _, result = found
    costs = {one.quantity: one for one in result.returned[0].quantities}
    assert [name for name, one in costs.items() if one.wish or one.verdict][:2] == [
        "resonance", "resonance Q",
    ]  # fmt: skip
    # A wider throat has less resistance, and a cup that is less deep less volume.
    drop = costs["pressure drop to throat end at 0.2 L/s"]
    assert drop.change < -5
    assert drop.numerical > 0
    assert drop.model > 0
    assert costs["cup volume"].change < 0
    assert costs["cup volume"].uncertainty == 0


def test_what_a_wish_does_not_determine_is_told_and_the_least_change_is_returned():
    """One figure and two dimensions: the resonance of a longer throat with a less deep cup."""
    solver = Solver(Question(air=AIR, resolution="draft"))
    hidden = {"throat.length": 5.4, "cup.depth": 10.4}
    wished = reaching(solver(hidden, True), resonance=0.5)
    free = (free_range("throat.length", 4.0, 6.5), free_range("cup.depth", 9.0, 12.5))
    result = grant(Granting(wished=wished, free=free, bore_at=bore_at, solve_at=solver))
    (bore,) = result.returned
    assert bore.met
    (open_,) = result.undetermined
    changes = open_.changes
    assert set(changes) == {"throat.length", "cup.depth"}
    assert all(one.determined_within is None for one in result.free)
    # Along it the resonance stays, as is seen by solving half a millimetre away.
    values = {one.key: one.value for one in bore.dimensions}
    away = {key: value + 0.3 * changes[key] for key, value in values.items()}
    frequencies = [
        reported(solver(at, True))["resonance"].value.value
        for at in (values, away, away | {"cup.depth": values["cup.depth"]})
    ]
    along, aside = 1200 * np.abs(np.log2(np.array(frequencies[1:]) / frequencies[0]))
    assert along < 0.5
    assert aside > 4
    # Of all bores with that resonance it is the nearest to the start: the least change is along
    # the gradient, across the combination that is open.
    moved = np.array([values[one.key] - one.start for one in free])
    across = np.array([changes[one.key] for one in free])
    assert abs(moved @ across) < 0.03 * np.linalg.norm(moved) * np.linalg.norm(across)


def test_a_bore_that_exists_gets_no_metal_and_the_wall_is_named_where_it_is_in_the_way():
    """A shallower cup would raise the resonance, and only metal that is put back makes one."""
    free = (
        free_range("throat.diameter", 3.5, 3.75),
        free_range("cup.depth", 9.0, 12.5),
        free_range("throat.length", 4.0, 6.0),
    )
    wished = [
        WishedFor(quantity="resonance", kind="change", written="+120 cents", target=120.0,
                  within=1.0, scale="cents")
    ]  # fmt: skip
    solver = Solver(Question(air=AIR, resolution="draft"))
    result = grant(
        Granting(wished=wished, free=free, bore_at=bore_at, solve_at=solver, existing=True)
    )
    old, _ = bore_at({})
    for values in solver.solved[1:]:
        new, _ = bore_at(values)
        assert added_metal(old, new)[0] > -1e-7
    (bore,) = result.returned
    assert not bore.met
    kinds = {one.kind for one in bore.in_the_way}
    assert {"wall", "high"} <= kinds
    assert [one.names for one in bore.in_the_way if one.kind == "high"] == [("throat.diameter",)]
    # The same wish of a bore still to be made is met.
    anew = grant(Granting(wished=wished, free=free, bore_at=bore_at, solve_at=solver))
    assert anew.returned[0].met
