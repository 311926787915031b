"""A case's two-port, and its resonances with a termination of the shank end."""

import csv
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike

from borestudy.acoustics import solve
from borestudy.acoustics.result import AcousticResult, Resonance
from borestudy.acoustics.stored import load_two_port, save_two_port
from borestudy.acoustics.termination import build_termination
from borestudy.acoustics.two_port import solve_two_port
from borestudy.acoustics.walls import Walls
from borestudy.air import Air
from borestudy.bore import Bore, Dimension
from borestudy.files import replacing
from borestudy.mesh.read import read_mesh
from borestudy.mesh.unmeshed import MARK, mark_unmeshed, why_unmeshed
from borestudy.provenance import provenance
from borestudy.records import write_record

#: Names of the fields that a case's folder keeps: at the lowest resonance, and at the highest peak
#: where that is another one, as with an instrument's air column.
FIELD_FILE, STRONGEST_FIELD_FILE = "first_resonance.vtu", "strongest_resonance.vtu"


def two_port_stage(
    meshes: Sequence[Path | str],
    air: Air,
    frequency_range: tuple[float, float],
    walls: Walls,
    output: Path | str,
    bore: Bore | None = None,
    dimensions: Sequence[Dimension] = (),
) -> None:
    """Solve the bore on each mesh, coarsest first; write the two-port, good in a range [Hz].

    It has derivatives by the dimensions of the bore that are given.
    """
    if (reason := why_unmeshed(*meshes)) is not None:
        mark_unmeshed([output], reason)
        return
    levels = [read_mesh(path) for path in meshes]
    found = solve_two_port(levels, air, *frequency_range, walls, bore, dimensions)
    save_two_port(found, output)


def resonance_stage(
    *,
    name: str,
    stored: Path | str,
    mesh: Path | str,
    termination: str,
    air_column: Path | str | None,
    frequencies: ArrayLike,
    fundamental: float | None,
    source: str,
    results: Path | str,
    impedance: Path | str,
    fields: Path | str,
) -> None:
    """Join a stored two-port with a termination, and write all that is asked of both.

    The impedance curve is taken at `frequencies`, shape (n,) [Hz]; every resonance says its cents
    above the nearest harmonic of `fundamental` [Hz].  Pressure fields, on the finest `mesh`, are of
    resonances: the folder `fields` stays empty where none was found.
    """
    fields = Path(fields)
    fields.mkdir(parents=True, exist_ok=True)
    if (reason := why_unmeshed(stored)) is not None:
        write_unmeshed_resonance(name, frequencies, reason, source, results, impedance)
        return
    two_port = load_two_port(stored)
    end = build_termination(termination, two_port.shank_radius, two_port.walls, air_column)
    found = solve.acoustic_result(two_port, end, fundamental=fundamental)
    _write_impedance(name, solve.impedance_columns(two_port, end, frequencies), impedance)
    found = replace(found, resonances=_with_fields(found.resonances))
    grid = read_mesh(mesh) if found.resonances else None
    for peak in found.resonances:
        if peak.field and peak.frequency:
            frequency = peak.frequency.value
            pressure = solve.pressure_field(grid, two_port.air, frequency, end, two_port.walls)
            solve.write_field(grid, pressure, fields / peak.field)
    inputs = {"two_port": stored, "mesh": mesh}
    inputs |= {} if air_column is None else {"air_column": air_column}
    made = provenance(source, inputs, found.level_unknowns, found.max_residual)
    write_record(results, replace(found, provenance=made))


def write_unmeshed_resonance(
    name: str,
    frequencies: ArrayLike,
    reason: str,
    source: str,
    results: Path | str,
    impedance: Path | str,
) -> None:
    """Write the results of a bore without a mesh, which say why."""
    unknown = dict.fromkeys(solve.IMPEDANCE_COLUMNS, np.full(np.shape(frequencies), np.nan))
    _write_impedance(name, {"frequency_Hz": frequencies, **unknown}, impedance)
    found = AcousticResult(not_meshed=reason, validity=f"{MARK}{reason}")
    write_record(results, replace(found, provenance=provenance(source)))


def _with_fields(peaks: Sequence[Resonance]) -> tuple[Resonance, ...]:
    """Name the file of each field that is kept, in the resonance that it is of."""
    heights = {
        place: peak.impedance_peak.value if peak.impedance_peak else 0.0
        for place, peak in enumerate(peaks)
        if peak.frequency is not None
    }
    if not heights:
        return tuple(peaks)
    names = {max(heights, key=heights.__getitem__): STRONGEST_FIELD_FILE, min(heights): FIELD_FILE}
    return tuple(replace(peak, field=names.get(place)) for place, peak in enumerate(peaks))


def _write_impedance(name: str, columns: Mapping[str, ArrayLike], path: Path | str) -> None:
    """Write a curve as a table, in which what is not known is empty."""
    rows = np.column_stack([*columns.values()]).tolist()
    with replacing(path) as unfinished, open(unfinished, "w", encoding="utf-8", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow(["case", *columns])
        for row in rows:
            table.writerow([name, *("" if np.isnan(cell) else f"{cell:.9g}" for cell in row)])
