"""The trade-off shows the table's numbers, and marks the cases that no other one dominates."""

from itertools import product
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Annotation

from borestudy.drawing.trade_off import BASE, BEATEN, KEPT, non_dominated
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.trade_off import draw_study, draw_trade_off

from .test_layout import overlapping, whole

X, Y = "flow_resistance_change_percent", "resonance_change_cents"


@pytest.fixture
def table() -> pd.DataFrame:
    """A first case, two that no other dominates, one that is dominated, and one without a value."""
    return pd.DataFrame(
        {
            "case": ["base", "freer", "freest", "worse", "lost"],
            "flow_rate_L_per_s": 0.2,
            X: [0.0, -4.0, -9.0, -3.0, np.nan],
            f"{X}_uncertainty": [0.0, 0.5, 0.7, 0.6, np.nan],
            Y: [0.0, -2.0, 6.0, 3.0, 1.0],
            f"{Y}_uncertainty": [0.0, 0.1, 0.2, 0.3, 0.4],
            "resonance_Q": [10.0, 11.0, 12.0, 9.0, 8.0],
        }
    )


def marks(drawing: Figure, look: dict[str, object]) -> dict[tuple[float, float], np.ndarray]:
    """Half lengths of both bars by place of the marks of one look."""
    found = {}
    for bars in drawing.axes[0].containers:
        line, _, (across, up) = bars.lines
        if (line.get_marker(), line.get_color()) != (look["marker"], look["color"]):
            continue
        sizes = [
            np.ptp([piece[:, place] for piece in group.get_segments()], axis=1) / 2
            for place, group in enumerate((across, up))
        ]
        found |= dict(zip(zip(*line.get_data(), strict=True), np.column_stack(sizes), strict=True))
    return found


def test_non_dominated_cases_are_those_that_brute_force_finds() -> None:
    generator = np.random.default_rng(3)
    for words in product(("lower", "higher", "near"), repeat=3):
        values = generator.integers(0, 6, (40, 3)).astype(float)
        values[7, 1] = np.nan
        costs = np.column_stack(
            [
                {"lower": one, "higher": -one, "near": abs(one - one[2])}[word]
                for one, word in zip(values.T, words, strict=True)
            ]
        )
        expected = []
        for mine in costs:
            beaten = any(
                all(a <= b for a, b in zip(other, mine, strict=True))
                and any(a < b for a, b in zip(other, mine, strict=True))
                for other in costs
            )
            expected.append(not beaten and bool(np.isfinite(mine).all()))
        assert non_dominated(values, words, base=2).tolist() == expected


def test_equal_cases_do_not_dominate_one_another() -> None:
    assert non_dominated([[1, 2], [1, 2], [1, 3]], ("lower", "lower")).tolist() == [1, 1, 0]


def test_a_word_for_better_that_is_none_is_refused_with_those_allowed() -> None:
    with pytest.raises(ValueError, match=r"found 'smaller', allowed: lower, higher, near"):
        non_dominated([[1.0, 2.0]], ("smaller", "near"))  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="found 1 words for values of shape"):
        non_dominated([[1.0, 2.0]], ("lower",))


def test_marks_stand_at_the_tables_values_with_their_uncertainties_as_bars(
    table: pd.DataFrame, drawn: list[Figure], tmp_path: Path
) -> None:
    record = draw_trade_off(table, X, Y, tmp_path)
    found = {word: marks(drawn[0], look) for word, look in
             (("base", BASE), ("kept", KEPT), ("beaten", BEATEN))}  # fmt: skip
    assert set(found["base"]) == {(0, 0)}
    assert set(found["kept"]) == {(-4, -2), (-9, 6)}
    assert set(found["beaten"]) == {(-3, 3)}
    for word, place, bars in (
        ("base", (0, 0), (0, 0)), ("kept", (-4, -2), (0.5, 0.1)), ("kept", (-9, 6), (0.7, 0.2)),
        ("beaten", (-3, 3), (0.6, 0.3)),
    ):  # fmt: skip
        np.testing.assert_allclose(found[word][place], bars, atol=1e-12)
    assert (drawn[0].axes[0].get_xlabel(), drawn[0].axes[0].get_ylabel()) == (
        "change of flow resistance at 0.2 L/s, %", "change of first resonance, cents",
    )  # fmt: skip
    assert "3 of them with no other better in both" in record.alt
    assert "a lower flow resistance and a first resonance nearer" in record.caption


def test_cases_are_named_beside_their_own_marks(
    table: pd.DataFrame, drawn: list[Figure], tmp_path: Path
) -> None:
    draw_trade_off(table, X, Y, tmp_path)
    texts = drawn[0].axes[0].texts
    lines = {one.get_position()[1]: tuple(one.xy) for one in texts if isinstance(one, Annotation)}
    words = [one for one in texts if not isinstance(one, Annotation)]
    named = {text.get_text(): lines[text.get_position()[1]] for text in words}
    rows = table.dropna().set_index("case")
    assert named == {case: (row[X], row[Y]) for case, row in rows.iterrows()}
    bold = [text for text in words if text.get_fontweight() == "bold"]
    assert [text.get_text() for text in bold] == ["base"]


def test_what_is_better_in_any_two_columns_can_be_stated(
    table: pd.DataFrame, drawn: list[Figure], tmp_path: Path
) -> None:
    record = draw_trade_off(
        table, "resonance_Q", Y, tmp_path, better=("higher", "lower"), name="q-pitch"
    )
    assert record.svg_path == tmp_path / "q-pitch.svg"
    assert set(marks(drawn[0], KEPT)) == {(11, -2), (12, 6)}
    assert "a higher Q of the first resonance and a lower first resonance" in record.caption
    (bars,) = {tuple(sizes) for sizes in marks(drawn[0], BASE).values()}
    assert bars == (0, 0)  # no uncertainty of this column is known


def test_a_column_without_numbers_is_refused_by_name(table: pd.DataFrame, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="'resonance_cents': did you mean resonance_change_cents"):
        draw_trade_off(table, X, "resonance_cents", tmp_path)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("count", [3, 12, 60])
def test_words_of_any_number_of_cases_do_not_meet(
    count: int, drawn: list[Figure], tmp_path: Path
) -> None:
    places = np.arange(count, dtype=float)
    table = pd.DataFrame(
        {
            "case": [f"length {88 - one:g} mm, cup <b>depth</b> $9$ mm" for one in places],
            X: -places,
            Y: places / 100,  # all in a row
        }
    )
    record = draw_trade_off(table, X, Y, tmp_path)
    assert overlapping(drawn[0]) == []
    words = [one.get_text() for one in drawn[0].axes[0].texts if one.get_text()]
    assert len(words) >= min(count, 8)
    assert "<b>" not in record.svg_path.read_text()  # a case's words are no markup


def test_a_study_without_changes_has_no_trade_off(study: PicturedStudy, tmp_path: Path) -> None:
    assert draw_study(study, tmp_path) is None
    assert draw_study(whole(study), tmp_path) is not None
