"""Tables for a thesis: LaTeX source that prints what the report prints."""

import re

import pandas as pd
import pytest

from borestudy.report.latex import escaped, latex_table, write_latex
from borestudy.report.tables.layout import build_table

FRAME = pd.DataFrame(
    {
        "case": ["square & sharp", "100 % {round}_$1"],
        "resonance_Hz": [811.7174, 813.7654],
        "resonance_Hz_uncertainty": [0.0096, 0.0098],
        "impedance_peak_Pa_s_per_m3": [3.93e7, 3.89e7],
    }
)


@pytest.fixture
def source():
    return latex_table(build_table(FRAME, "Invented: 5 % of_it"), "invented-1")


def test_the_rules_are_those_of_booktabs_in_their_order(source):
    rules = re.findall(r"\\(toprule|midrule|bottomrule|hline)", source)
    assert rules == ["toprule", "midrule", "bottomrule"]


def test_each_row_has_the_cells_of_its_case(source):
    body = source.split(r"\midrule")[1].split(r"\bottomrule")[0]
    rows = [row.strip() for row in body.split(r"\\") if row.strip()]
    assert rows[0] == r"square \& sharp & 811.717 $\pm$ 0.010 & 39.3"
    assert rows[1] == r"100 \% \{round\}\_\$1 & 813.765 $\pm$ 0.010 & 38.9"


def test_units_and_caption_are_printed_as_the_report_has_them(source):
    assert r"\caption{Invented: 5 \% of\_it}" in source
    assert r"MPa$\cdot$s/m$^{3}$" in source
    assert r"\begin{tabular}{lrr}" in source


def test_braces_and_dollars_balance_whatever_a_bore_is_called(source):
    unescaped = re.sub(r"\\[{}$&#_%]", "", source)
    assert unescaped.count("{") == unescaped.count("}")
    assert unescaped.count("$") % 2 == 0


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("a\\b", r"a\textbackslash{}b"),
        ("−3 × 10⁻⁵", r"$-$3 $\times$ 10$^{-}$$^{5}$"),
        ("~^#", r"\textasciitilde{}\textasciicircum{}\#"),
        ("Schäfer", "Schäfer"),
    ],
)
def test_signs_are_written_as_latex_prints_them(text, printed):
    assert escaped(text) == printed


def test_headings_over_columns_stay_over_them():
    changes = FRAME.rename(
        columns={
            "resonance_Hz": "resonance_change_cents",
            "resonance_Hz_uncertainty": "resonance_change_cents_uncertainty",
            "impedance_peak_Pa_s_per_m3": "flow_resistance_change_percent",
        }
    )
    table = build_table(changes, "Changes")
    assert table.groups
    first = latex_table(table, "x").split(r"\toprule")[1].splitlines()[1]
    for name, _ in table.groups:
        assert name in first


def test_all_tables_are_in_one_file_with_labels_of_their_own(tmp_path):
    table = build_table(FRAME, "Invented")
    write_latex(tmp_path / "t.tex", "study", [table, table])
    text = (tmp_path / "t.tex").read_text(encoding="utf-8")
    assert re.findall(r"\\label{(.*?)}", text) == ["tab:study-1", "tab:study-2"]
