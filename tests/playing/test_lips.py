"""The set of lips: within what is published, evenly spread, and the same on every machine."""

import math

import numpy as np
import pytest

from borestudy.playing.lips import RANGES, Lips, lips_set

BASES = (2, 3, 5, 7)


def radical_inverse(number, base):
    """Digits of a whole number mirrored at the point, as Halton's sequence is defined."""
    inverse, place = 0.0, 1.0 / base
    while number:
        number, digit = divmod(number, base)
        inverse += digit * place
        place /= base
    return inverse


def shares(lips):
    """Where each of the lips lies in the logarithm of each range, 0 to 1, shape (n, 4)."""
    return np.array(
        [[math.log(getattr(one, r.name) / r.low) / math.log(r.high / r.low) for r in RANGES]
         for one in lips]
    )  # fmt: skip


def test_the_set_is_haltons_sequence_in_the_logarithms():
    # Lips have three digits: half of the last is at most 0.5 %, a share of the range's logarithm.
    within = [0.0051 / math.log(one.high / one.low) for one in RANGES]
    expected = [[radical_inverse(i + 1, base) for base in BASES] for i in range(50)]
    assert np.all(np.abs(shares(lips_set(50)) - expected) < within)


def test_the_set_is_the_same_everywhere():
    # The first and the last by hand: 1/2, 1/3, 1/5, 1/7 and, of 50, 19/64, 70/81, 2/125, 50/343.
    assert [vars(one) for one in lips_set(50)[::49]] == [
        {"mass_per_area": 4.02, "quality_factor": 4.48, "width": 0.0078,
         "opening_at_rest": 0.000126},
        {"mass_per_area": 2.9, "quality_factor": 8.49, "width": 0.00706,
         "opening_at_rest": 0.000126},
    ]  # fmt: skip


def test_every_part_of_each_range_has_its_share():
    for column, base in zip(shares(lips_set(210)).T, BASES, strict=True):
        counts, _ = np.histogram(column, bins=base, range=(0.0, 1.0))
        # Of a whole number of the base's cycles each part has the same, but for the first point,
        # which is left out, and rounding at a part's edge.
        assert np.ptp(counts) <= 2, counts


def test_no_two_properties_go_together():
    correlation = np.corrcoef(shares(lips_set(50)).T)
    # Of 50 independent draws the root mean square would be 1/√50 = 0.14: a set that is spread
    # evenly does no worse than two of them.
    assert np.abs(correlation - np.eye(4)).max() < 0.28


def test_the_default_lips_are_within_the_ranges_of_the_others():
    for one in RANGES:
        assert one.low <= getattr(Lips(), one.name) <= one.high


def test_a_range_rises_and_says_where_it_is_from():
    for one in RANGES:
        assert 0 < one.low < one.high
        assert len(one.source) > 20


@pytest.mark.parametrize("count", [1, 200])
def test_a_set_has_as_many_lips_as_are_asked_for_and_all_differ(count):
    lips = lips_set(count)
    assert len(set(lips)) == count


@pytest.mark.parametrize("name", [one.name for one in RANGES])
@pytest.mark.parametrize("value", [0.0, -1.0, math.nan, math.inf])
def test_lips_that_cannot_be_are_refused_in_words(name, value):
    with pytest.raises(ValueError, match=rf"^{name}: found .*; allowed .*for example"):
        Lips(**{name: value})


@pytest.mark.parametrize("count", [0, -5])
def test_a_set_of_none_is_refused_in_words(count):
    with pytest.raises(ValueError, match=r"^count: found .*; allowed .*for example"):
        lips_set(count)
