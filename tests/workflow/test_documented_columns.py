"""The tables of a whole study against what `results/README.md` says of their columns."""

import pandas as pd

from ..documentation import undocumented, without_column


def test_every_column_of_every_table_is_documented(results):
    tables = {path.name: list(pd.read_csv(path, nrows=0)) for path in results.glob("*.csv")}
    assert {"comparison.csv", "flow.csv", "stream.csv", "benchmarks.csv"} <= set(tables)
    unnamed = {name: undocumented(name, tables[name], ("join",)) for name in tables}
    assert {name: columns for name, columns in unnamed.items() if columns} == {}
    # those that no made-up results fill
    for name in ("stream.csv", "impedance.csv", "benchmarks.csv"):
        assert without_column(name, tables[name]) == []
