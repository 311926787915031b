"""Invented rows of tolerances.csv: every quantity that the report prints, and one without."""

import pandas as pd

from borestudy.results.toleranced import (
    SAMPLED,
    SECOND,
    OneTolerance,
    TolerancedQuantity,
    ToleranceResult,
    tolerance_table,
)

NOT_KNOWN = "no number: the solution did not converge"


def tolerances(label: str = "radius of the throat entry") -> pd.DataFrame:
    """The first case's table, with words for the one dimension."""
    names = {
        "resonance": ("Hz", "cents"), "resonance Q": ("", "percent"),
        "resonance impedance": ("Pa_s_per_m3", "percent"),
        "flow resistance at 0.05 L/s": ("kPa_s_per_L", "percent"),
        "backbore pressure drop at 0.05 L/s": ("Pa", "percent"), "cup volume": ("cm3", "percent"),
    }  # fmt: skip
    found = [
        TolerancedQuantity(
            quantity=name,
            unit=unit,
            value=100.0 + place,
            effect_unit=effect,
            method=SAMPLED if "resonance" in name else SECOND,
            deviation=1.0,
            percentiles=(-2.0 - place, -1.1, 0.01, 1.2, 2.1 + place),
            hold_tighter_first="throat.entry.radius",
            dimensions=(
                OneTolerance(
                    key="throat.entry.radius", label=label, unit="mm", tolerance=0.0254,
                    effect=-2.1, share_percent=100.0, span_if_halved=2.04 + place,
                ),
            ),
        )
        for place, (name, (unit, effect)) in enumerate(names.items())
    ]  # fmt: skip
    lost = TolerancedQuantity(quantity="flow resistance at 0.3 L/s", note=NOT_KNOWN)
    return tolerance_table(ToleranceResult(quantities=(*found, lost), samples=1024, seed=1))
