"""Charts of what the varied dimension does: resonance, flow resistance, and one against another."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from borestudy.drawing import style
from borestudy.report.figures import positions as of
from borestudy.report.figures.case import PicturedStudy, reference_rate
from borestudy.report.figures.trade_off import RESISTANCE as RESISTANCE_CHANGE
from borestudy.report.figures.trade_off import RESONANCE as RESONANCE_CHANGE
from borestudy.report.figures.trade_off import axis_of
from borestudy.report.interactive.lines import bore_channels
from borestudy.report.interactive.looks import SHAPES, scales
from borestudy.report.interactive.panels import Axis, Panel, Row, Words
from borestudy.report.interactive.points import points_panel, with_errors
from borestudy.rounding import is_missing, significant, with_both_errors, with_uncertainty

#: The field of a row that tells the lines of a panel apart, where these are not bores.
LINE = "line"
#: What is drawn of the first resonance: column, title and unit; of changes where there are any.
RESONANCE = (
    ("resonance_change_cents", "Pitch of the first resonance", "change, cents", "cents"),
    ("resonance_Q_change_percent", "Q of the first resonance", "change, %", "%"),
    ("impedance_peak_change_percent", "Height of the first resonance", "change, %", "%"),
)
ALONE = {"color": {"value": style.COLOURS[0]}, "strokeDash": {"value": [1, 0]}}


class Places:
    """The horizontal axis of a study's bores, and its lines in words."""

    def __init__(self, study: PicturedStudy) -> None:
        place = of.positions(study.comparison, study.varied)
        names = place.tick_labels
        self.names = [] if names is None else list(dict.fromkeys(names))
        self.x: list[Any] = [*place.x] if names is None else self._words(names, place.x)
        self.axis = Axis(place.axis_label, names=self.names)
        self.groups = [name for name, _ in place.groups]
        self.order = [row for _, rows in place.groups for row in rows]
        self.group = {int(row): name for name, rows in place.groups for row in rows}

    @staticmethod
    def _words(names: list[str], x: np.ndarray) -> list[str]:
        return [names[int(place)] for place in x]

    def at(self, row: int, axis: Axis) -> str:
        """Where a bore stands, in words: its dimension with the unit."""
        if self.names:
            return str(self.x[row])
        unit = axis.label.rpartition(", ")[2] if ", " in axis.label else ""
        return f"{significant(float(self.x[row]))} {unit}".strip()


def _numbers(study: PicturedStudy) -> dict[str, tuple[int, str]]:
    """The number and the words of each charted bore, by its name in the tables."""
    return {case.name: (number, case.label) for number, case in enumerate(study.charted)}


def resonance_panels(study: PicturedStudy) -> list[Panel]:
    """Changes of the first resonance's pitch, Q and height, a panel each."""
    table = study.comparison
    if len(table) < 2 or not of.has_numbers(table, "resonance_Hz"):
        return []
    places, panels = Places(study), []
    for column, title, label, unit in RESONANCE:
        if not of.has_numbers(table, column):
            continue
        values, errors = (of.column_of(table, column + end) for end in ("", "_uncertainty"))
        said = [
            {"value": with_uncertainty(*pair, unit)} for pair in zip(values, errors, strict=True)
        ]
        rows = rows_of(study, places, values, errors, said, places.group)
        panels.append(
            points_panel(
                f"{title} against the first bore",
                f"{title}: {label} against {places.axis.label}, {len(rows)} bores.",
                len(study.charted),
                rows,
                (places.axis, Axis(label)),
                Words({"at": places.axis.label.split(",")[0].lower(), "value": "change"}),
                line_channels(places.groups),
                level_at=0,
            )
        )
    return panels


def line_channels(names: list[str], legend: str = "") -> Mapping[str, Any]:
    """Channels of lines that are not bores; of a single one without a legend."""
    if len(names) < 2:
        return {**ALONE, "shape": {"value": SHAPES["o"]}}
    found: dict[str, Any] = scales(LINE, names, legend or " ")
    for channel in ("strokeDash", "shape"):
        found[channel]["legend"] = found["color"]["legend"]
    return found


def rows_of(
    study: PicturedStudy,
    places: Places,
    values: np.ndarray,
    errors: np.ndarray | tuple[np.ndarray, np.ndarray],
    said: list[dict[str, Any]],
    line: Mapping[int, str],
) -> list[Row]:
    """Rows of a panel, a row a bore, in the order along each line."""
    numbers, rows = _numbers(study), []
    names = [str(name) for name in study.comparison["case"]]
    for row in map(int, places.order):
        if names[row] not in numbers:
            continue
        number, label = numbers[names[row]]
        error: Any = (
            (float(errors[0][row]), float(errors[1][row]))
            if isinstance(errors, tuple)
            else float(errors[row])
        )
        words = {LINE: line[row], "at": places.at(row, places.axis), **said[row]}
        rows += with_errors(number, label, places.x[row], values[row], error, words)
    return rows


def resistance_panels(study: PicturedStudy) -> list[Panel]:
    """The flow resistance, a line a flow rate; of two dimensions at the study's rate alone."""
    places, table = Places(study), study.comparison
    if len(table) < 2 or not study.rates:
        return []
    several = len(places.groups) > 1
    rates = [reference_rate(table, study.flow)] if several else study.rates
    rows, lines = [], []
    for rate, one in study.at_rates(style.sample(rates, style.LEGEND_LIMIT)).items():
        scale = 1e-3 / rate  # Pa at a rate in L/s to kPa·s/L
        columns = ("", "_uncertainty", "_model_error_low", "_model_error_high")
        names = ["pressure_drop_Pa" if not end else _column(end) for end in columns]
        value, error, low, high = (scale * of.column_of(one, name) for name in names)
        said = [
            {"value": f"{with_both_errors(*four)} kPa·s/L"}
            for four in zip(value, error, low, high, strict=True)
        ]
        both = (np.hypot(error, low), np.hypot(error, high))
        line = places.group if several else dict.fromkeys(places.group, f"{rate:g} L/s")
        lines += [f"{rate:g} L/s"]
        rows += rows_of(study, places, value, both, _with_air(said, one, rate), line)
    return [
        points_panel(
            "Flow resistance" + (f" at {rates[0]:g} L/s" if several else ""),
            f"Flow resistance against {places.axis.label}, {len(lines)} flow rates.",
            len(study.charted),
            rows,
            (places.axis, Axis("Δp/Q, kPa·s/L", from_zero=True)),
            FLOW_WORDS,
            line_channels(places.groups) if several else line_channels(lines, "flow rate"),
        )
    ]


def _column(end: str) -> str:
    """The column of the pressure drop's numerical uncertainty, or of an end of its model error."""
    return "pressure_drop_Pa_uncertainty" if end == "_uncertainty" else f"pressure_drop{end}_Pa"


#: What is said of a mark of the flow.
FLOW_WORDS = Words({"rate": "flow rate", "value": "value", "air": "the air"})


def _with_air(said: list[dict[str, Any]], table: pd.DataFrame, rate: float) -> list[dict[str, Any]]:
    """Words with the flow rate and where the flow turns turbulent, whose marks are hollow."""
    turns = of.column_of(table, "transition_position_mm")
    return [
        {**words, "rate": f"{rate:g} L/s", "air": air_words(turn), "hollow": not is_missing(turn)}
        for words, turn in zip(said, turns, strict=True)
    ]


def air_words(turn: float) -> str:
    """Where the flow turns turbulent [mm], in words."""
    if is_missing(turn):
        return "laminar to the shank end"
    return f"turns turbulent {turn:.1f} mm from the rim"


def change_panels(study: PicturedStudy) -> list[Panel]:
    """The change of the flow resistance, a line a flow rate, or a panel a value of a second one."""
    column = "pressure_drop_change_percent"
    if len(study.comparison) < 2 or not of.has_numbers(study.flow, column):
        return []
    places = Places(study)
    tables = study.at_rates(style.sample(study.rates, style.LEGEND_LIMIT))
    rows: list[Row] = []
    for rate, one in tables.items():
        value, error = (of.column_of(one, column + end) for end in ("", "_uncertainty"))
        said = [{"value": with_uncertainty(*pair, "%")} for pair in zip(value, error, strict=True)]
        line = dict.fromkeys(places.group, f"{rate:g} L/s")
        rows += rows_of(study, places, value, error, _with_air(said, one, rate), line)
    groups = {
        number: places.group[row]
        for row, name in enumerate(study.comparison["case"])
        if (number := _numbers(study).get(str(name), (None, ""))[0]) is not None
    }
    return [
        points_panel(
            "Change of the flow resistance" + (f", {group}" if group else ""),
            f"Change of the flow resistance in per cent against {places.axis.label}.",
            len(study.charted),
            [row for row in rows if groups[row["i"]] == group],
            (places.axis, Axis("change, %")),
            FLOW_WORDS,
            line_channels([f"{rate:g} L/s" for rate in tables], "flow rate"),
            level_at=0,
        )
        for group in style.sample(places.groups, style.LEGEND_LIMIT)
    ]


def trade_off_panels(study: PicturedStudy) -> list[Panel]:
    """Change of the resonance against change of the flow resistance, a mark a bore."""
    table = study.comparison
    both = (RESISTANCE_CHANGE, RESONANCE_CHANGE)
    if len(table) < 2 or not all(of.has_numbers(table, name) for name in both):
        return []
    across, up = (axis_of(table, name, None) for name in both)
    values = [of.column_of(table, name) for name in both]
    errors = [of.column_of(table, f"{name}_uncertainty") for name in both]
    numbers, rows = _numbers(study), []
    for row, name in enumerate(map(str, table["case"])):
        if name not in numbers or not np.isfinite(values[0][row]):
            continue
        said = {
            "resistance": with_uncertainty(values[0][row], errors[0][row], "%"),
            "pitch": with_uncertainty(values[1][row], errors[1][row], "cents"),
            "xlow": float(values[0][row] - np.nan_to_num(errors[0][row])),
            "xhigh": float(values[0][row] + np.nan_to_num(errors[0][row])),
        }
        x, y, error = (float(one[row]) for one in (values[0], values[1], errors[1]))
        rows += with_errors(*numbers[name], x, y, error, said)
    return [
        points_panel(
            "Pitch against flow resistance, both against the first bore",
            f"{up.words} against {across.words}, {len(rows)} bores.",
            len(study.charted),
            rows,
            (Axis(across.words), Axis(up.words)),
            Words({"resistance": "flow resistance", "pitch": "first resonance"}),
            bore_channels(study),
            level_at=0,
            joined=False,
        )
    ]
