r"""What all cases of a study come to: distributions, extremes, trends, and what has no number.

Of a figure :math:`y` and a dimension :math:`x`, the share of the variance is

.. math:: \eta^2 = \operatorname{Var}(\operatorname{E}(y \mid x)) / \operatorname{Var}(y),

the correlation ratio; where every combination of the dimensions was computed it is the first-order
sensitivity index of :math:`x` (Saltelli et al., Global Sensitivity Analysis: The Primer, 2008,
section 1.2, from memory).  It counts the cases of the study as they are, without any weight.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from borestudy.report.figures.positions import column_of
from borestudy.report.labels import name_of, quantity_of, split_unit
from borestudy.report.topic import FLOW, RESONANCE, Topic

Real = NDArray[np.float64]
#: Percentiles of a distribution: the middle 95 % and 68 % of the cases, and the median.
PERCENTILES = (2.5, 16.0, 50.0, 84.0, 97.5)
#: Columns of the comparison that are summed up, by topic: each figure with its change.
FIGURES: Mapping[Topic, Mapping[str, str]] = {
    RESONANCE: {
        "resonance_Hz": "resonance_change_cents",
        "resonance_Q": "resonance_Q_change_percent",
        "impedance_peak_Pa_s_per_m3": "impedance_peak_change_percent",
    },
    FLOW: {"flow_resistance_kPa_s_per_L": "flow_resistance_change_percent"},
}
#: What each of them is called within a sentence.
WORDS = {
    "resonance_Hz": "first resonance",
    "resonance_Q": "Q of the first resonance",
    "impedance_peak_Pa_s_per_m3": "height of its peak",
    "flow_resistance_kPa_s_per_L": "flow resistance",
}
#: Whose extremes are drawn, as many bores as a legend explains, and what they are called for it.
DRAWN = {
    "resonance_Hz": "resonance",
    "flow_resistance_kPa_s_per_L": "resistance",
    "resonance_Q": "Q",
}
FIRST = "first bore"
#: Values of a dimension up to which each stands alone; more are put into as many classes.
CLASSES = 24
#: Classes of fewer cases have no percentiles.
LEAST_CASES = 5


@dataclass(frozen=True)
class Extreme:
    """The cases with the least and the greatest value of a column, as rows of the table."""

    column: str
    lowest: int
    highest: int


@dataclass(frozen=True)
class Trend:
    """A figure along a dimension, class by class in the order of the dimension.

    Attributes
    ----------
    dimension, figure : str
        Columns of the comparison.
    words : sequence of str
        The values, of a dimension in words; none of one in numbers.
    x : array, shape (n_classes,)
        Mean value of the dimension in each class, or the class's place.
    counts : array of int, shape (n_classes,)
        Cases in each class.
    known : array of int, shape (n_classes,)
        How many of them have the figure.
    percentiles : array, shape (5, n_classes)
        The figure's `PERCENTILES` in each class, NaN where fewer than `LEAST_CASES` have it, but
        for the median.
    share : float
        Share of the figure's variance that goes with the dimension, 0 to 1; NaN where nothing
        varies.
    """

    dimension: str
    figure: str
    words: Sequence[str]
    x: Real
    counts: NDArray[np.int64]
    known: NDArray[np.int64]
    percentiles: Real
    share: float


def within(words: str) -> str:
    """A figure's name within a sentence, where Q stays Q."""
    return words if words[1:2] in ("", " ") else f"{words[:1].lower()}{words[1:]}"


@dataclass(frozen=True, kw_only=True)
class ManyBores:
    """What the figures and tables of many cases are made from.

    Attributes
    ----------
    comparison : DataFrame
        The columns of ``comparison.csv`` that are needed, a row a case, the first case first.
    varied : sequence of str
        The columns of what is varied.
    topic : Topic
        What comes first.
    """

    comparison: pd.DataFrame
    varied: Sequence[str]
    topic: Topic

    @property
    def rate_in_words(self) -> str:
        """`` at 0.2 L/s``, where the comparison is about one flow rate."""
        rates = np.unique(column_of(self.comparison, "flow_rate_L_per_s"))
        rates = rates[np.isfinite(rates)]
        return f" at {rates[0]:g} L/s" if len(rates) == 1 else ""

    def label(self, column: str) -> str:
        """A figure or its change as the label of an axis."""
        unit = split_unit(column)[1]
        change = split_unit(column)[0].endswith("_change")
        words = quantity_of(column) if change else ""
        words = f"change of {within(words)}" if words else name_of(column)
        rate = self.rate_in_words if "resistance" in column else ""
        return f"{words}{rate}, {unit}" if unit else f"{words}{rate}"


def figures_of(comparison: pd.DataFrame, topic: Topic) -> dict[str, str]:
    """The columns that are summed up, the topic's first, each with the column of its change."""
    other = RESONANCE if topic == FLOW else FLOW
    every = {**FIGURES[topic], **FIGURES[other]}
    return {name: change for name, change in every.items() if _known(comparison, name).any()}


def extremes(comparison: pd.DataFrame, topic: Topic) -> list[Extreme]:
    """The cases at both ends of each figure that is summed up; of equal ones the first."""
    found = []
    for name in figures_of(comparison, topic):
        values = column_of(comparison, name)
        found.append(Extreme(name, int(np.nanargmin(values)), int(np.nanargmax(values))))
    return found


def drawn_cases(comparison: pd.DataFrame, topic: Topic) -> dict[int, list[str]]:
    """Rows of the cases that are drawn one by one, each with what is said of it.

    They are the first case, and the extremes of the figures in `DRAWN`, the topic's first.
    """
    said: dict[int, list[str]] = {0: [FIRST]}
    for one in extremes(comparison, topic):
        if one.column in DRAWN:
            for word, row in (("lowest", one.lowest), ("highest", one.highest)):
                said.setdefault(row, []).append(f"{word} {DRAWN[one.column]}")
    return said


def distribution(values: Real) -> Real:
    """Least value, `PERCENTILES` and greatest value, shape (7,), of those that are known."""
    known = values[np.isfinite(values)]
    if not len(known):
        return np.full(len(PERCENTILES) + 2, np.nan)
    return np.array([known.min(), *np.percentile(known, PERCENTILES), known.max()])


def trends(
    comparison: pd.DataFrame, varied: Sequence[str], figures: Sequence[str]
) -> list[list[Trend]]:
    """Of each varied dimension that takes several values, the trend of each figure."""
    return [
        [trend(comparison, dimension, figure) for figure in figures]
        for dimension in varied
        if comparison[dimension].nunique(dropna=False) > 1
    ]


def trend(comparison: pd.DataFrame, dimension: str, figure: str) -> Trend:
    """A figure along one dimension."""
    values = column_of(comparison, figure)
    classes, words, x = _classes(comparison[dimension])
    known = np.isfinite(values)
    count = len(x)
    percentiles = np.full((len(PERCENTILES), count), np.nan)
    for place in range(count):
        mine = values[known & (classes == place)]
        if len(mine) >= LEAST_CASES:
            percentiles[:, place] = np.percentile(mine, PERCENTILES)
        elif len(mine):
            percentiles[len(PERCENTILES) // 2, place] = np.median(mine)
    return Trend(
        dimension,
        figure,
        words,
        x,
        np.bincount(classes, minlength=count),
        np.bincount(classes[known], minlength=count),
        percentiles,
        variance_share(values[known], classes[known]),
    )


def variance_share(values: Real, classes: NDArray[np.int64]) -> float:
    """Correlation ratio of values, shape (n,), and the classes they are in, shape (n,).

    NaN where the values are all alike.
    """
    if len(values) < 2 or np.ptp(values) == 0:
        return float("nan")
    counts = np.bincount(classes)
    sums = np.bincount(classes, weights=values - values.mean())
    filled = counts > 0
    between = float((sums[filled] ** 2 / counts[filled]).sum())
    return between / float(((values - values.mean()) ** 2).sum())


def _classes(column: pd.Series) -> tuple[NDArray[np.int64], list[str], Real]:
    """Class of each case by its value, the classes' words, and where they stand.

    Many numbers are put into classes of about as many cases each.
    """
    if not pd.api.types.is_numeric_dtype(column):
        codes, words = pd.factorize(column.fillna(""), use_na_sentinel=False)
        places = np.arange(len(words), dtype=np.float64)
        return codes.astype(np.int64), [str(word) for word in words], places
    numbers = column.to_numpy(float)
    values = np.unique(numbers)
    if len(values) > CLASSES:
        inner = np.quantile(numbers[np.isfinite(numbers)], np.arange(1, CLASSES) / CLASSES)
        classes = np.searchsorted(np.unique(inner), numbers, side="right")
        _, classes = np.unique(classes, return_inverse=True)
    else:
        classes = np.searchsorted(values, numbers)
    sums = np.bincount(classes, weights=numbers)
    return classes.astype(np.int64), [], np.asarray(sums / np.bincount(classes), np.float64)


def _known(comparison: pd.DataFrame, name: str) -> NDArray[np.bool_]:
    return np.isfinite(column_of(comparison, name))
