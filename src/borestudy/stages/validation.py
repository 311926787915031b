"""The program against measurements and handbooks: solved family by family, compared and drawn."""

import logging
from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import isfinite
from pathlib import Path
from typing import Any

import pandas as pd

from borestudy.provenance import provenance
from borestudy.records import read_record, write_record
from borestudy.results.comparison_errors import (
    SHIPPED,
    ComparisonError,
    comparison_table,
    differences,
    ship_comparisons,
    shipped_comparisons,
)
from borestudy.results.tables.files import CHECK_COLUMNS, write_table
from borestudy.validation import VALIDATIONS, figures, nozzle, playing
from borestudy.validation.comparing import stated_row

logger = logging.getLogger(__name__)


def solve_validation(flow: str, meshes: Path, source: str, results: Path) -> None:
    """Solve one family of flows, of `VALIDATIONS`, and write its record."""
    meshes.mkdir(parents=True, exist_ok=True)
    found = VALIDATIONS[flow].solve(meshes)
    files = {path.stem: path for path in sorted(meshes.glob("*.msh"))}
    write_record(results, replace(found, provenance=provenance(source, files)))


@dataclass(frozen=True)
class Tables:
    """Where the tables of `compare_validation` go."""

    checks: Path
    nozzle: Path
    errors: Path
    places: Path
    differences: Path


def compare_validation(results: Mapping[str, Path], tables: Tables, folder: Path) -> None:
    """Write the tables of all flows, what differs from the shipped errors in words, and draw."""
    found = read_validation(results)
    rows = [check for flow, record in found.items() for check in VALIDATIONS[flow].checks(record)]
    columns = list(CHECK_COLUMNS)
    columns.insert(columns.index("computed") + 1, "uncertainty")
    cells = [{name: getattr(check, name) for name in columns} for check in rows]
    write_table(pd.DataFrame(cells), tables.checks, "%.6g")
    flows = {name.removeprefix("nozzle-"): found[name] for name in found if "nozzle-" in name[:7]}
    compared = [row.row for flow in flows.values() for row in nozzle.compare_nozzle(flow)]
    write_table(pd.DataFrame(compared), tables.nozzle, "%.5g")
    errors = comparison_errors(found)
    stated = pd.DataFrame([stated_row(row) for row in errors])
    write_table(pd.concat([comparison_table(errors), stated], axis=1), tables.errors, "%.5g")
    figures.draw_errors(errors, folder)
    write_table(pd.DataFrame(playing.places(found["playing"])), tables.places, "%.5g")
    changed = differences(shipped_comparisons(), errors)
    for words in changed:
        logger.warning("not as in the program's %s: %s", SHIPPED, words)
    lines = "\n".join(changed) if changed else f"all as in the program's {SHIPPED}"
    tables.differences.write_text(f"{lines}\n", encoding="utf-8")
    figures.draw_friction(found["pipe"], folder)
    figures.draw_law_of_the_wall(found["pipe"], folder)
    figures.draw_entry_losses(found["entry"], folder)
    figures.draw_widening(found["widening"], folder)
    figures.draw_nozzle(flows["estimate"], folder)
    figures.draw_nozzle_segments(list(flows.values()), folder)


def read_validation(results: Mapping[str, Path]) -> dict[str, Any]:
    """The records of all families by their names, in the order of `VALIDATIONS`."""
    return {
        flow: read_record(results[flow], VALIDATIONS[flow].record)
        for flow in VALIDATIONS
        if flow in results
    }


def comparison_errors(found: Mapping[str, Any]) -> list[ComparisonError]:
    """The comparison errors of the records, family by family, of what was found at all."""
    rows = [row for flow, record in found.items() for row in VALIDATIONS[flow].errors(record)]
    return [row for row in rows if isfinite(row.error)]


def renew_shipped(flows: Path) -> Path:
    """Ship the comparison errors of a folder of records, ``results/validation/flows``.

    For a checkout of the sources: the rows on which the program's model error rests are written
    over.  Returns the file.
    """
    found = read_validation({path.stem: path for path in flows.glob("*.json")})
    return ship_comparisons(comparison_errors(found))
