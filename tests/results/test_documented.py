"""`results/README.md` names every column of the tables, and none that is not there.

The tables of a whole study are held against it where one is run (`tests/workflow`).
"""

import pandas as pd
import pytest

from borestudy.air import humid_air
from borestudy.bore import Tolerance
from borestudy.results.budget import budget_rows
from borestudy.results.hand_formulas import hand_formula_table
from borestudy.results.onset_changes import onset_changes_table
from borestudy.results.sensitivities import sensitivities_table
from borestudy.results.tables.comparison import cases_table, comparison_table, peaks_table
from borestudy.results.tables.files import verification_table
from borestudy.results.tables.flow import energy_table, flow_table, separation_table
from borestudy.results.tables.playing import harmonics_table, onset_table, tone_table
from borestudy.results.tables.wishes import wishes_table
from borestudy.results.toleranced import tolerance_table
from borestudy.results.tolerances import distributions
from borestudy.results.tone import ToneResult
from borestudy.results.tone_changes import tone_changes_table
from borestudy.results.wishes import WishResult

from ..documentation import undocumented, without_column
from .invented import invented_cases
from .played import level, played, register

HARMONICS = {"cup_harmonics_dB": (150.0,), "shank_harmonics_dB": (130.0,)}


@pytest.fixture(scope="module")
def tables() -> dict[str, list[str]]:
    cases = invented_cases()
    throat = Tolerance("throat.diameter", "throat diameter", "mm", 25e-6, {"throat.diameter": 1.0})
    tone = ToneResult(register=2, at_levels=(level("soft", 240.0, 900.0, **HARMONICS),))
    sounding = played("first", [register(2, 1000.0, 240.0)], tone)
    found = {
        "cases": cases_table(cases),
        "comparison": comparison_table(cases, 1),
        "peaks": peaks_table(cases),
        "flow": flow_table(cases),
        "energy": energy_table(cases),
        "separations": separation_table(cases),
        "sensitivities": sensitivities_table(cases),
        "verification": verification_table([]),
        "tolerances": tolerance_table(distributions(cases[0], [throat])),
        "wishes": wishes_table(WishResult(wished=(), free=())),
        "budget": pd.DataFrame(budget_rows(cases[0], 1, 293.15)),
        "hand_formulas": hand_formula_table(cases, [humid_air()] * 2),
        "onset": onset_table([sounding]),
        "onset_changes": onset_changes_table([sounding]),
        "tone": tone_table([sounding]),
        "tone_changes": tone_changes_table([sounding]),
        "tone_harmonics": harmonics_table([sounding]),
    }
    return {f"{name}.csv": list(map(str, table.columns)) for name, table in found.items()}


def test_every_column_of_a_table_is_documented(tables: dict[str, list[str]]) -> None:
    unnamed = {name: undocumented(name, columns, ("shape",)) for name, columns in tables.items()}
    assert {name: columns for name, columns in unnamed.items() if columns} == {}


def test_every_documented_column_is_in_its_table(tables: dict[str, list[str]]) -> None:
    stale = {name: without_column(name, columns) for name, columns in tables.items()}
    assert {name: columns for name, columns in stale.items() if columns} == {}


def test_a_column_that_the_page_does_not_name_is_found() -> None:
    assert undocumented("flow.csv", ["pressure_drop_Pa", "pressure_dorp_Pa"]) == [
        "pressure_dorp_Pa"
    ]
    assert undocumented("energy.csv", ["dissipation_cup_Pa_uncertainty"]) == []
    assert undocumented("energy.csv", ["dissipation_lip_Pa"]) == ["dissipation_lip_Pa"]
