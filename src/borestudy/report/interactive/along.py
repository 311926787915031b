"""Charts along the bore: sections, pressure on the axis and on the wall, and the drop by rate."""

from dataclasses import replace

import numpy as np

from borestudy.report.figures import positions as of
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.interactive.lines import (
    Curve,
    Subject,
    bore_channels,
    curves_panels,
)
from borestudy.report.interactive.panels import Axis, Panel, Row, Words
from borestudy.report.interactive.points import points_panel, with_errors
from borestudy.report.interactive.trends import air_words
from borestudy.rounding import with_both_errors, with_uncertainty

ALONG = Axis("distance from the rim plane, mm")
#: A radius is drawn, and the diameter said.
SECTIONS = Subject(
    "The bores over each other, stretched across", "diameter", "mm", "from the rim", "mm", drawn=2.0
)
ON_AXIS = Subject("Pressure along the axis", "pressure", "Pa", "from the rim", "mm")
ON_WALL = Subject("Pressure on the wall", "pressure", "Pa", "from the rim", "mm")
SHEAR = Subject("Wall shear stress", "wall shear stress", "Pa", "from the rim", "mm")


def section_panels(study: PicturedStudy) -> list[Panel]:
    """The bores' walls over each other, stretched across so that differences are seen."""
    curves = [
        Curve(number, case.label, case.outline.position_mm, case.outline.radius_mm)
        for number, case in enumerate(study.charted)
    ]
    axes = (ALONG, Axis("radius, mm", from_zero=True))
    return curves_panels(study, SECTIONS, curves, axes)


def axis_panels(study: PicturedStudy) -> list[Panel]:
    """The pressure along the axis at the study's rate."""
    return _along(study, ON_AXIS, "axis")


def wall_panels(study: PicturedStudy) -> list[Panel]:
    """The pressure and the shear stress on the wall at the study's rate."""
    shear = _along(study, SHEAR, "wall", "shear_", linear_below=_usual_shear(study))
    return [*_along(study, ON_WALL, "wall"), *shear]


def _usual_shear(study: PicturedStudy) -> float:
    """A tenth of the usual wall shear stress [Pa], a power of ten: below it the scale is linear."""
    walls = [flow.wall for case in study.cases if (flow := case.flow_at(study.rate)) is not None]
    found = np.abs(np.concatenate([[], *(np.array(one.shear_Pa) for one in walls if one)]))
    usual = float(np.median(found[found > 0])) if (found > 0).any() else 1.0
    return float(10.0 ** np.floor(np.log10(usual / 10)))


def _along(
    study: PicturedStudy, subject: Subject, line: str, of: str = "", linear_below: float = 0.0
) -> list[Panel]:
    """Values along a line of the flow, `axis` or `wall`; none where no case has it.

    `of` is what the names of the line's fields begin with, nothing for the pressure.
    """
    curves = []
    for number, case in enumerate(study.charted):
        flow = case.flow_at(study.rate)
        found = None if flow is None else getattr(flow, line)
        if found is not None:
            place = np.array(getattr(found, f"{of}position_mm"))
            value = np.array(getattr(found, f"{of or 'pressure_'}Pa"))
            curves.append(Curve(number, case.label, place, value))
    titled = replace(subject, title=f"{subject.title} at {study.rate_in_words}")
    up = Axis(f"{subject.name}, Pa", linear_below=linear_below)
    return curves_panels(study, titled, curves, (ALONG, up), (0.0,))


def drop_panels(study: PicturedStudy) -> list[Panel]:
    """The pressure drop by flow rate, and its change against the first bore in per cent."""
    if not study.rates:
        return []
    numbers = {case.name: (number, case.label) for number, case in enumerate(study.charted)}
    drops: list[Row] = []
    changes: list[Row] = []
    columns = (
        "pressure_drop_Pa", "pressure_drop_Pa_uncertainty",
        "pressure_drop_model_error_low_Pa", "pressure_drop_model_error_high_Pa",
        "pressure_drop_change_percent", "pressure_drop_change_percent_uncertainty",
        "flow_rate_L_per_s", "transition_position_mm",
    )  # fmt: skip
    table = study.solved[study.solved["case"].isin(list(numbers))]
    for name, *one in zip(table["case"], *(of.column_of(table, at) for at in columns), strict=True):
        value, error, low, high, change, uncertainty, rate, turn = map(float, one)
        number, label = numbers[str(name)]
        shared = {"at": f"{rate:g} L/s", "air": air_words(turn), "hollow": bool(np.isfinite(turn))}
        told = {**shared, "value": f"{with_both_errors(value, error, low, high)} Pa"}
        both = (1e-3 * float(np.hypot(error, low)), 1e-3 * float(np.hypot(error, high)))
        drops += with_errors(number, label, rate, 1e-3 * value, both, told)
        if number:
            told = {**shared, "value": with_uncertainty(change, uncertainty, "%")}
            changes += with_errors(number, label, rate, change, uncertainty, told)
    rates, channels = Axis("flow rate, L/s", from_zero=True), bore_channels(study)
    panels = [
        points_panel(
            "Pressure drop",
            f"Pressure drop against flow rate of {len(numbers)} bores, with bars of both errors.",
            len(numbers),
            drops,
            (rates, Axis("pressure drop, kPa", from_zero=True)),
            Words({"at": "flow rate", "value": "pressure drop", "air": "the air"}),
            channels,
        )
    ]
    if changes:
        panels.append(
            points_panel(
                "Change of the pressure drop against the first bore",
                "Change of the pressure drop in per cent against flow rate, with bars.",
                len(numbers),
                changes,
                (rates, Axis("change, %")),
                Words({"at": "flow rate", "value": "change", "air": "the air"}),
                channels,
                level_at=0,
            )
        )
    return panels
