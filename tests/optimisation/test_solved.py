"""A bore that is solved in the process gives what the workflow's stages give."""

from dataclasses import replace

import pytest

from borestudy.air import humid_air
from borestudy.bore import Bore, Entry, bore_from_dimensions, variation
from borestudy.optimisation.solved import Question, solve_case
from borestudy.results.reported import reported

RATES = (0.1e-3, 0.2e-3)


@pytest.fixture(scope="module")
def bore():
    return bore_from_dimensions(
        length=0.070,
        cup_diameter=0.0162,
        cup_depth=0.0108,
        cup_shape=0.6,
        throat_diameter=0.0037,
        throat_length=0.005,
        entry=Entry("rounded", (0.5e-3,)),
        backbore_end_diameter=0.009,
    )


@pytest.fixture(scope="module")
def question():
    return Question(air=humid_air(298.15, 0.5, 101325.0), rates=RATES, resolution="draft")


@pytest.fixture(scope="module")
def whole(bore, question):
    return solve_case("whole", bore, [], question)


def test_all_rates_of_the_question_are_solved_with_a_resonance_and_volumes(whole, bore):
    assert [1e-3 * one.flow_rate_L_per_s for one in whole.rates] == pytest.approx(RATES)
    assert all(one.converged for one in whole.rates)
    assert whole.resonances[0].frequency.uncertainty > 0
    assert whole.geometry.cup_volume_cm3 == pytest.approx(
        1e6 * (bore.volume("cup") + bore.volume("entry"))
    )


def test_one_rate_alone_is_solved_on_the_same_meshes_to_the_same_drop(whole, bore, question):
    alone = solve_case("alone", bore, [], question, rates=RATES[1:])
    (rate,) = alone.rates
    # Newton's method stops at a relative residual of 1e-8 or below, wherever it comes from.
    drops = [one.quantity("pressure_drop").value for one in (rate, whole.rates[1])]
    assert drops[0] == pytest.approx(drops[1], rel=1e-6)
    levels = [one.quantity("pressure_drop").levels for one in (rate, whole.rates[1])]
    assert levels[0] == pytest.approx(levels[1], rel=1e-6)


def test_dimensions_give_slopes_of_the_flow_and_of_the_volumes(bore, question):
    def build(radius):
        segments = [
            replace(one, points=one.points * [1, radius / bore.throat_radius])
            for one in bore.segments
        ]
        return Bore(segments)

    widened = variation(build, bore.throat_radius, key="radius")
    found = reported(solve_case("slopes", Bore(bore.segments), [widened], question, RATES[:1]))
    # All radii in proportion: volumes go with the square.
    assert found["cup volume"].effect("radius", 1e3 * bore.throat_radius).value == pytest.approx(
        200
    )
    # In a slender bore r -> s r at one flow rate takes u to u/s², and both inertia and friction of
    # the boundary layer's equations to 1/s⁴ of what they were; cup and edge are not slender.
    drop = found["pressure drop to throat end at 0.1 L/s"]
    assert drop.effect("radius", 10 * bore.throat_radius).value == pytest.approx(-4, abs=0.12)


def test_without_a_rate_there_is_sound_alone(bore, question, whole):
    sound = solve_case("sound", bore, [], question, rates=[])
    assert len(sound.rates) == 0
    frequencies = [one.resonances[0].frequency.value for one in (sound, whole)]
    assert frequencies[0] == pytest.approx(frequencies[1], rel=1e-9)
