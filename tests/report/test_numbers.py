"""Digits follow the uncertainty; units are spelled; nothing stands without its uncertainty."""

import numpy as np
import pytest

from borestudy.report.labels import label_of, plain, split_unit
from borestudy.rounding import NO_VALUE, significant, with_uncertainty


@pytest.mark.parametrize(
    ("value", "uncertainty", "text"),
    [
        (1.23391, 0.0049, "1.234 ± 0.005"),
        (812.04, 0.38, "812.0 ± 0.4"),
        (1.5, 0.0096, "1.500 ± 0.010"),
        (1.5, 0.0149, "1.500 ± 0.015"),
        (12345.0, 678.0, "12300 ± 700"),
        (-15.234, 0.91, "−15.2 ± 0.9"),
        (0.3, 5.0, "0 ± 5"),
        (-0.3, 5.0, "0 ± 5"),
        (4.263e7, 1.3e5, "(4.263 ± 0.013) × 10⁷"),
        (2e-6, 3e-7, "(2.0 ± 0.3) × 10⁻⁶"),
    ],
)
def test_digits_end_where_the_uncertainty_does(value: float, uncertainty: float, text: str) -> None:
    assert with_uncertainty(value, uncertainty) == text


def test_rounding_moves_no_value_by_more_than_half_its_last_digit() -> None:
    generator = np.random.default_rng(1)
    values = generator.uniform(-1, 1, 300) * 10.0 ** generator.uniform(-2, 5, 300)
    errors = abs(values) * 10.0 ** generator.uniform(-5, 0, 300)
    for value, error in zip(values, errors, strict=True):
        texts = with_uncertainty(value, error).replace("−", "-").split(" ± ")
        if "×" in texts[-1]:
            continue
        written, width = (float(text) for text in texts)
        # One significant digit is off by at most a half in 1.95, rounded up.
        assert abs(width - error) <= 0.27 * error
        assert abs(written - value) <= 0.5 * width + 1e-9 * abs(value)


def test_a_value_without_a_known_uncertainty_says_so() -> None:
    assert with_uncertainty(3.25, float("nan")) == "3.25 (uncertainty unknown)"
    assert with_uncertainty(3.25, None) == "3.25 (uncertainty unknown)"


def test_a_case_against_itself_has_no_uncertainty_to_write() -> None:
    assert with_uncertainty(0.0, 0.0) == "0"


@pytest.mark.parametrize("nothing", [None, float("nan"), "", float("inf")])
def test_a_missing_value_is_a_word(nothing: object) -> None:
    assert with_uncertainty(nothing, 0.1) == NO_VALUE
    assert plain(nothing) == NO_VALUE


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (3.6576, "3.658"),
        (6909.6, "6910"),
        (-0.00012345, "−0.0001234"),
        (9.9999e7, "1 × 10⁸"),
        (2.5e-7, "2.5 × 10⁻⁷"),
    ],
)
def test_plain_numbers_keep_four_significant_digits(value: float, text: str) -> None:
    assert significant(value) == text


def test_the_longest_unit_suffix_wins() -> None:
    assert split_unit("flow_resistance_kPa_s_per_L") == ("flow_resistance", "kPa·s/L")
    assert split_unit("impedance_peak_Pa_s_per_m3") == ("impedance_peak", "Pa·s/m³")
    assert split_unit("resonance_Q") == ("resonance_Q", "")


def test_column_names_read_as_words_with_their_unit() -> None:
    assert label_of("cup_volume_cm3") == "Cup volume, cm³"
    assert label_of("throat.entry") == "Throat entry"
