"""The turbulent closure against measurements and handbooks: solved, compared and drawn."""

from pathlib import Path

import pandas as pd

from borestudy.compare.check import Check
from borestudy.compare.validate_closure import (
    NOZZLE_SEGMENTS,
    NOZZLE_SOURCE,
    conical_diffuser,
    entry_losses,
    nozzle_checks,
    nozzle_segments,
    pipe_friction,
    sudden_expansion,
)
from borestudy.present.closure import draw_entry_losses
from borestudy.stages.verification import write_checks


def validate_closure(checks: Path, segments: Path, figures: Path, meshes: Path) -> None:
    """Solve everything the closure is held against; write checks, nozzle segments and a figure."""
    meshes.mkdir(parents=True, exist_ok=True)
    nozzle = nozzle_segments(meshes)
    rows = [
        {
            "from_mm": first,
            "to_mm": last,
            "computed_q": nozzle[first, last],
            "measured_q": measured,
            "deviation_q": nozzle[first, last] - measured,
            "source": NOZZLE_SOURCE,
        }
        for (first, last), measured in NOZZLE_SEGMENTS.items()
    ]
    pd.DataFrame(rows).to_csv(segments, index=False, float_format="%.4g")
    entries = entry_losses(meshes)
    found: list[Check] = [
        *pipe_friction(meshes),
        *entries,
        sudden_expansion(meshes),
        conical_diffuser(meshes),
        *nozzle_checks(nozzle),
    ]
    write_checks(found, checks)
    draw_entry_losses(entries, figures)
