"""The regime word follows the throat's Reynolds number; impossible flow rates are refused.

A refusal says what was found and what is allowed.
"""

import re
from pathlib import Path

import pytest

from borestudy.air import humid_air
from borestudy.flow.regime import (
    LAMINAR_BELOW,
    LAMINAR_PIPE_BELOW,
    LOWEST_TURBULENT,
    REFINED_TO,
    TURBULENT_ABOVE,
    check_rates,
    regime,
)

THROAT = 3.66e-3
PROJECT = Path(__file__).parents[2]
STATED = re.compile(
    r"Reynolds\s+number\s+of\s+(\d{4})|\bfrom\s+(\d{4})\s+on|\bbelow\s+(\d{4})\b", re.I
)


@pytest.mark.parametrize(
    ("reynolds", "word"),
    [(1, "laminar"), (1250, "laminar"), (1251, "transitional"), (3500, "transitional"),
     (3501, "turbulent")],
)  # fmt: skip
def test_regime_changes_at_1250_and_3500(reynolds, word):
    assert regime(reynolds) == word


@pytest.mark.parametrize(
    ("rates", "message"),
    [
        ([], "empty"),
        ([0.0], r"found 0 L/s.*above zero"),
        ([-1e-4], r"found -0.1 L/s.*above zero"),
        ([2e-4, 1e-4], r"0.1 L/s follows 0.2 L/s; rates must rise"),
        ([1e-4, 1e-4], "rates must rise"),
        ([1.2e-3], r"Mach 0.33 in a throat of 3.66 mm.*Mach 0.3, here 1.1 L/s"),
        ([float("nan")], "above zero"),
    ],
)
def test_impossible_rates_are_refused(rates, message):
    with pytest.raises(ValueError, match=message):
        check_rates(humid_air(), rates, THROAT)


def test_a_rate_above_mach_0_2_is_warned_of():
    warnings = check_rates(humid_air(), [1e-4, 8e-4], THROAT)
    assert len(warnings) == 1
    assert "0.8 L/s" in warnings[0]


def test_rates_of_the_playing_range_pass_without_a_word():
    assert check_rates(humid_air(), [5e-5, 3e-4, 6e-4], THROAT) == []


@pytest.mark.parametrize("page", ["README.md", "results/README.md", "configs/study.schema.json"])
def test_pages_state_the_reynolds_numbers_that_the_program_uses(page):
    found = {float("".join(groups)) for groups in STATED.findall((PROJECT / page).read_text())}
    assert LOWEST_TURBULENT in found
    assert found <= {
        LAMINAR_BELOW,
        LAMINAR_PIPE_BELOW,
        LOWEST_TURBULENT,
        TURBULENT_ABOVE,
        REFINED_TO,
    }
