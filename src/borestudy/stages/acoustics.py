"""A case's two-port, and its resonances with something behind the shank."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, cast

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from borestudy.acoustics import two_port as two_ports
from borestudy.acoustics.column import read_air_column
from borestudy.acoustics.field import pressure_field, write_field
from borestudy.acoustics.results import impedance_table, resonance_results
from borestudy.acoustics.termination import Behind, Kind, termination
from borestudy.acoustics.two_port import TwoPort
from borestudy.acoustics.walls import Walls
from borestudy.air import Air
from borestudy.files import replacing
from borestudy.mesh.read import read_mesh
from borestudy.mesh.unmeshed import MARK, mark_unmeshed, why_unmeshed
from borestudy.provenance import provenance, write_json

#: Names of the fields that a case's folder keeps: at the lowest resonance, and at the highest peak
#: where that is another one, as with an instrument behind the shank.
FIELD_FILE, STRONGEST_FIELD_FILE = "first_resonance.vtu", "strongest_resonance.vtu"

PARTS = ("real", "imag")


def two_port_stage(
    meshes: Sequence[Path | str],
    air: Air,
    frequency_range: tuple[float, float],
    walls: Walls,
    output: Path | str,
) -> None:
    """Solve the bore on every level, write the reduced two-port.

    Parameters
    ----------
    meshes : sequence of path
        Coarsest first.
    air : Air
        At rest.
    frequency_range : (float, float) [Hz]
        In which the reduced two-port holds.
    walls : str
        "lossless", "plain" or "curved".
    output : path
        An ``.npz``.
    """
    reason = why_unmeshed(*meshes)
    if reason is not None:
        mark_unmeshed([output], reason)
        return
    two_ports.save(two_ports.solve_two_port(meshes, air, *frequency_range, walls), output)


def resonance_stage(
    *,
    name: str,
    stored: Path | str,
    mesh: Path | str,
    behind: str,
    air_column: Path | str | None,
    frequencies: ArrayLike,
    fundamental: float | None,
    source: str,
    results: Path | str,
    impedance: Path | str,
    fields: Path | str,
) -> None:
    """Join a stored two-port with what is behind the shank, and write all that is asked of it.

    Parameters
    ----------
    name : str
        Of the case, for the table.
    stored : path
        What `two_port_stage` wrote.
    mesh : path
        The finest mesh, for the pressure field.
    behind : str
        What follows the shank end, in the study's words.
    air_column : path, optional
        Its stations, where it is an air column.
    frequencies : array_like, shape (n,) [Hz]
        Of the impedance curve.
    fundamental : float, optional [Hz]
        With it every resonance says its cents above the nearest harmonic.
    source : str
        Hash of the sources, for the provenance.
    results, impedance, fields : path
        ``acoustics.json``, ``impedance.csv`` and the folder for fields: empty where no resonance
        was found.
    """
    reason = why_unmeshed(stored)
    if reason is not None:
        Path(fields).mkdir(parents=True, exist_ok=True)
        _write_unmeshed(name, reason, frequencies, source, results, impedance)
        return
    two_port = two_ports.load(stored)
    walls = two_port.finest.operator.walls
    end = ending(behind, air_column, two_port.shank_radius, walls)
    found = resonance_results(two_port, end, fundamental=fundamental)
    _write_impedance(name, two_port, end, frequencies, impedance)
    Path(fields).mkdir(parents=True, exist_ok=True)
    pictured = _pictured(found["resonances"])
    grid = read_mesh(mesh) if pictured else None
    for file_name, frequency in pictured.items():
        pressure = pressure_field(grid, two_port.air, frequency, end, walls)
        write_field(grid, pressure, Path(fields) / file_name)
    made = provenance(
        source,
        {"two_port": stored, "mesh": mesh}
        | ({} if air_column is None else {"air_column": air_column}),
        found["level_unknowns"],
        found["max_residual"],
    )
    write_json(results, found | {"provenance": made})


def _write_unmeshed(
    name: str,
    reason: str,
    frequencies: ArrayLike,
    source: str,
    results: Path | str,
    impedance: Path | str,
) -> None:
    """Results of a bore without a mesh: no resonance, a curve without numbers, and why."""
    columns: dict[str, Any] = {"case": name, "frequency_Hz": np.asarray(frequencies, float)}
    columns |= dict.fromkeys(
        f"impedance_{part}_Pa_s_per_m3{end}" for end in ("", "_uncertainty") for part in PARTS
    )
    pd.DataFrame(columns).to_csv(impedance, index=False)
    found = {"not_meshed": reason, "resonances": [], "validity": f"{MARK}{reason}"}
    write_json(results, found | {"provenance": provenance(source)})


def _pictured(resonances: Sequence[Mapping[str, Any]]) -> dict[str, float]:
    """Frequency [Hz] of each field that is kept, by its file."""
    if not resonances:
        return {}
    heights = [peak["impedance_peak_Pa_s_per_m3"] or 0.0 for peak in resonances]
    frequencies = {FIELD_FILE: resonances[0]["frequency_Hz"]}
    strongest = int(np.argmax(heights))
    if strongest > 0:
        frequencies[STRONGEST_FIELD_FILE] = resonances[strongest]["frequency_Hz"]
    return frequencies


def ending(behind: str, air_column: Path | str | None, radius: float, walls: Walls) -> Behind:
    """What follows the shank end.

    Parameters
    ----------
    behind : str
        In the study's words; no matter where there is an air column.
    air_column : path, optional
        Its stations.
    radius : float [m]
        Of the shank end.
    walls : str
        The bore's wall model.
    """
    if air_column is not None:
        return termination("air column", radius, walls, read_air_column(air_column))
    return termination(cast(Kind, behind), radius, walls)


def _write_impedance(
    name: str, two_port: TwoPort, end: Behind, frequencies: ArrayLike, path: Path | str
) -> None:
    columns: Mapping[str, Any] = impedance_table(two_port, end, np.asarray(frequencies))
    table = pd.DataFrame({"case": name, **columns})
    with replacing(path) as unfinished:
        table.to_csv(unfinished, index=False, float_format="%.9g")
