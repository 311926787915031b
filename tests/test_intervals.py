"""Cents of a ratio: what an octave, a semitone and a pure fifth are by definition."""

from pathlib import Path

import numpy as np
import pytest

import borestudy
from borestudy.intervals import cents, ratio_of_cents


@pytest.mark.parametrize(
    ("ratio", "expected"),
    [(2.0, 1200.0), (0.5, -1200.0), (2.0 ** (1 / 12), 100.0), (1.0, 0.0), (8.0, 3600.0)],
    ids=["octave", "octave down", "equal-tempered semitone", "unison", "three octaves"],
)
def test_a_ratio_has_its_cents(ratio: float, expected: float) -> None:
    assert float(cents(ratio)) == pytest.approx(expected, abs=1e-9)


def test_twelve_pure_fifths_pass_seven_octaves_by_the_pythagorean_comma() -> None:
    """23.460 cents (common knowledge of tuning, from memory)."""
    assert float(12 * cents(3 / 2) - 7 * cents(2)) == pytest.approx(23.460, abs=5e-4)


def test_cents_and_ratio_take_each_other_back() -> None:
    intervals = np.array([-700.0, 0.0, 3.9, 1200.0])
    np.testing.assert_allclose(cents(ratio_of_cents(intervals)), intervals, atol=1e-9)


def test_no_other_file_of_the_sources_makes_cents_by_itself() -> None:
    sources = Path(borestudy.__file__).parent
    found = [
        path.name
        for path in sources.rglob("*.py")
        if path.name != "intervals.py"
        and any(
            "log2(" in line or "1200 *" in line or "1200 /" in line
            for line in path.read_text(encoding="utf-8").splitlines()
        )
    ]
    assert found == []
