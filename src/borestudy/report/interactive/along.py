"""Charts along the bore: sections, pressure on the axis and on the wall, and the drop by rate."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from borestudy.report.figures import positions as of
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.interactive.lines import Curve, bore_channels, charted, curves_panel
from borestudy.report.interactive.panels import Axis, Panel, Row, Words
from borestudy.report.interactive.points import points_panel, with_errors
from borestudy.report.interactive.trends import air_words
from borestudy.rounding import MINUS, significant, with_both_errors, with_uncertainty

ALONG = Axis("distance from the rim plane, mm")
#: Lines of a flow: record and its fields of places and values, title, label and unit.
ON_AXIS = ("axis", "position_mm", "pressure_Pa", "Pressure along the axis", "pressure, Pa", "Pa")
ON_WALL = ("wall", "position_mm", "pressure_Pa", "Pressure on the wall", "pressure, Pa", "Pa")


def section_panels(study: PicturedStudy) -> list[Panel]:
    """The bores' walls over each other, stretched across so that differences are seen."""
    curves = [
        Curve(
            number,
            case.label,
            case.outline.position_mm,
            case.outline.radius_mm,
            _say(case.outline.position_mm, 2 * case.outline.radius_mm, "mm"),
        )
        for number, case in enumerate(charted(study))
    ]
    title = "The bores over each other, stretched across"
    described = f"Radius of {len(curves)} bores along the axis, not to scale."
    axes = (ALONG, Axis("radius, mm", from_zero=True))
    words = Words({"at": "from the rim", "value": "diameter"})
    return [curves_panel(study, title, described, curves, axes, words)]


def _say(
    x: NDArray[np.float64], values: NDArray[np.float64], unit: str
) -> Callable[[int], dict[str, str]]:
    """What is said of a value at a place [mm]: inputs and fields, which have no uncertainty."""

    def say(index: int) -> dict[str, str]:
        number = significant(float(values[index])).replace("-", MINUS)
        return {"at": f"{significant(float(x[index]))} mm", "value": f"{number} {unit}"}

    return say


def axis_panels(study: PicturedStudy) -> list[Panel]:
    """The pressure along the axis at the study's rate."""
    return _along(study, *ON_AXIS)


def wall_panels(study: PicturedStudy) -> list[Panel]:
    """The pressure on the wall at the study's rate."""
    return _along(study, *ON_WALL)


def _along(
    study: PicturedStudy, line: str, place: str, value: str, title: str, label: str, unit: str
) -> list[Panel]:
    curves = []
    for number, case in enumerate(charted(study)):
        flow = case.flow_at(study.rate)
        found = None if flow is None else getattr(flow, line)
        if found is None:
            continue
        x, y = (np.array(getattr(found, name), float) for name in (place, value))
        curves.append(Curve(number, case.label, x, y, _say(x, y, unit)))
    if not curves:
        return []
    at = f" at {study.rate_in_words}"
    described = f"{title}{at}, of {len(curves)} bores."
    words = Words({"at": "from the rim", "value": label.split(",")[0]})
    axes = (ALONG, Axis(label))
    return [curves_panel(study, title + at, described, curves, axes, words, levels=(0.0,))]


def drop_panels(study: PicturedStudy) -> list[Panel]:
    """The pressure drop by flow rate, and its change against the first bore in per cent."""
    if not study.rates:
        return []
    numbers = {case.name: (number, case.label) for number, case in enumerate(charted(study))}
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
