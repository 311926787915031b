"""A bore that is cut in its narrow part, with a resistance in the cut, against chain matrices."""

import numpy as np
import pytest

from borestudy.air import Air
from borestudy.closed_form.tube import impedance_matrix, transfer_matrix, two_by_two
from borestudy.playing.load import Load
from borestudy.playing.steady import SteadyDrop

#: Dry air at 20 °C: ISO 2533 and handbook values, from memory.
AIR = Air(1.204, 343.2, 1.81e-5, 0.0257, 1006.0, 1.4)
FREQUENCIES = np.linspace(50.0, 3000.0, 400)
OMEGA = 2 * np.pi * FREQUENCIES
RADIUS, FRONT, BACK = 2e-3, 40e-3, 60e-3


def front():
    """Chain matrix of a wide and a narrow tube: not the same from both of its ends."""
    wide = transfer_matrix(4 * RADIUS, FRONT / 4, OMEGA, AIR)
    return wide @ transfer_matrix(RADIUS, FRONT, OMEGA, AIR)


def cut_pipe(correction=0.0):
    """A bore with losses that is closed at its end."""
    (a, _), (c, _) = np.moveaxis(transfer_matrix(RADIUS, BACK, OMEGA, AIR), (-2, -1), (0, 1))
    return Load(
        frequencies=FREQUENCIES,
        front=impedance_matrix(front()),
        behind=a / c,
        to_shank=1 / a,
        correction=np.full(len(OMEGA), correction, dtype=complex),
        steady=SteadyDrop.none(),
        throat_diameter=2 * RADIUS,
        density=AIR.density,
    )


def chain(resistance):
    """Chain matrix of the bore with a resistance in its cut."""
    one, zero = np.ones(len(OMEGA)), np.zeros(len(OMEGA))
    return (
        front()
        @ two_by_two(one, resistance * one, zero, one)
        @ transfer_matrix(RADIUS, BACK, OMEGA, AIR)
    )


# Of cut halves and of chains the same sums are taken in another order: rounding, which near an
# impedance peak is larger by the peak's height over what is around it, a hundred or so.
ROUNDING = 1e-12


@pytest.mark.parametrize("resistance", [0.0, 0.5e6, 10e6, np.linspace(0.0, 5e6, len(OMEGA))])
def test_the_resistance_is_in_series_in_the_cut(resistance):
    matrix = chain(np.asarray(resistance))
    expected = matrix[:, 0, 0] / matrix[:, 1, 0]
    assert cut_pipe().impedance(resistance) == pytest.approx(expected, rel=ROUNDING)


@pytest.mark.parametrize("resistance", [0.0, 5e6])
def test_the_pressure_at_the_shank_end_is_that_of_the_chain(resistance):
    expected = 1 / chain(np.asarray(resistance))[:, 1, 0]
    assert cut_pipe().shank_pressure(resistance) == pytest.approx(expected, rel=ROUNDING)


def test_without_resistance_the_halves_are_the_whole_bore():
    wide = transfer_matrix(4 * RADIUS, FRONT / 4, OMEGA, AIR)
    whole = wide @ transfer_matrix(RADIUS, FRONT + BACK, OMEGA, AIR)
    expected = whole[:, 0, 0] / whole[:, 1, 0]
    assert cut_pipe().impedance() == pytest.approx(expected, rel=ROUNDING)


@pytest.mark.parametrize("resistance", [0.0, 1e5, 1e6, 1e7, 1e9])
def test_a_bore_with_a_resistance_makes_no_energy(resistance):
    assert np.all(cut_pipe().impedance(resistance).real > 0)


def test_an_endless_resistance_closes_the_bore_at_the_cut():
    (a, _), (c, _) = np.moveaxis(front(), (-2, -1), (0, 1))
    # what is behind the cut, and the resistance's inverse, are a billionth of the front's
    assert cut_pipe().impedance(1e20) == pytest.approx(a / c, rel=1e-9)


def test_what_the_cut_takes_away_is_added_to_the_impedance_alone():
    plain, corrected = cut_pipe(), cut_pipe(correction=1e4 + 2e4j)
    assert corrected.impedance(1e6) - plain.impedance(1e6) == pytest.approx(
        np.full(len(OMEGA), 1e4 + 2e4j), rel=1e-6  # what is left of sums of up to 1e9 Pa·s/m³
    )  # fmt: skip
    assert np.array_equal(corrected.shank_pressure(1e6), plain.shank_pressure(1e6))


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("frequencies", np.array([])),
        ("frequencies", FREQUENCIES[::-1]),
        ("frequencies", np.sort(np.append(FREQUENCIES[1:], FREQUENCIES[7]))),
        ("frequencies", np.linspace(0.0, 1.0, len(OMEGA))),
        ("front", np.zeros((len(OMEGA), 2), dtype=complex)),
        ("behind", np.zeros(len(OMEGA) - 1, dtype=complex)),
        ("to_shank", np.zeros((len(OMEGA), 1), dtype=complex)),
        ("correction", np.zeros((), dtype=complex)),
    ],
)
def test_arrays_that_do_not_belong_together_are_refused_in_words(name, value):
    with pytest.raises(ValueError, match=rf"^{name}: found .*; allowed .*for example"):
        Load(**{**vars(cut_pipe()), name: value})
