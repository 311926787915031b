"""Nothing on a figure runs into anything else, stands empty, or is cut by a frame."""

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text
from matplotlib.transforms import Bbox

from borestudy.drawing.looks import Look, using
from borestudy.drawing.style import styled
from borestudy.flow.result import Separation, WallLine
from borestudy.quantity import Quantity
from borestudy.report.figures.case import PicturedStudy
from borestudy.report.figures.collection import draw_all
from borestudy.report.figures.trends import draw_resistance
from borestudy.report.topic import FLOW, RESONANCE
from borestudy.results.case import CaseResults

from .conftest import RATES, curves, make_study, with_acoustics, with_lines
from .playing import with_playing

SIZES = tuple(
    f"length {length} mm, cup depth {depth} mm" for length in (88, 85, 82) for depth in (9.2, 10.7)
)
ENTRIES = tuple(
    f"{entry}, throat drill {drill}"
    for entry in ("square", "chamfered 0.5 mm at 45 deg", "elliptical 2 mm x 1 mm")
    for drill in (35, 27, 20, 10)
)
STUDIES = {
    "sizes": SIZES,
    "entries": ENTRIES,
    "words": ("a-word-without-a-single-space-that-is-wider-than-any-panel-of-a-figure", "b"),
}
#: As many points of a picture may overlap without being seen [pixels].
SLACK = 0.5


def whole(study: PicturedStudy) -> PicturedStudy:
    """The made-up study with what every figure needs: an instrument, its own curves, a tone."""
    wall = WallLine(
        position_mm=(0, 4.9, 5.1, 20),
        pressure_Pa=(50, 45, -10, 0),
        shear_position_mm=(1, 6, 8, 19),
        shear_Pa=(0.01, 1.0, -0.1, 0.05),
    )
    bubble = Separation(separation=Quantity(5.2, None, "mm"))
    separations = (bubble,) * (len(study.cases) > len(SIZES))
    lines = {"wall": wall, "separations": separations}
    cases = [
        with_acoustics(with_lines(case, **lines), curves=curves(index), sound_speed_m_per_s=346.0)
        for index, case in enumerate(study.cases)
    ]
    comparison = study.comparison.assign(termination="air column")
    for peak in range(2, 13):
        comparison[f"peak_{peak}_change_cents"] = 2.0 * np.arange(len(cases))
        comparison[f"peak_{peak}_above_harmonic_cents"] = peak - np.arange(len(cases))
    for place, column in enumerate(("resonance_change_cents", "flow_resistance_change_percent")):
        comparison[column] = np.arange(len(cases)) * np.sin(np.arange(len(cases)) + place)
        comparison[f"{column}_uncertainty"] = 0.1 * np.sqrt(np.arange(len(cases)))
    return with_playing(replace(study, cases=cases, comparison=comparison))


def without_a_case(study: PicturedStudy, place: int) -> PicturedStudy:
    """The study in which one case failed before anything of it was solved."""
    lost = study.cases[place]
    cases = list(study.cases)
    nothing = CaseResults(lost.name)
    cases[place] = replace(
        lost, results=nothing, mesh_path=None, flow_fields={}, acoustic_field=None
    )
    comparison, flow = study.comparison.copy(), study.flow.copy()
    for table in (comparison, flow):
        row = table["case"] == lost.name
        for name in table.columns.difference(["case", "flow_rate_L_per_s", "throat.entry"]):
            table.loc[row, name] = {"f": np.nan, "b": False}.get(table[name].dtype.kind)
    impedance = study.impedance[study.impedance["case"] != lost.name]
    return replace(study, cases=cases, comparison=comparison, flow=flow, impedance=impedance)


#: Studies whose figures are also drawn for a column of a thesis.
COLUMN = ("sizes", "words", "unsolved")


@pytest.fixture(
    scope="module",
    params=[
        *((name, Look()) for name in (*STUDIES, "first is missing", "unsolved")),
        *((name, Look(84.0, 9.0, "serif")) for name in COLUMN),
    ],
    ids=lambda param: f"{param[0]}, {param[1].width_mm:g} mm",
)
def drawn(request: Any, tmp_path_factory: Any) -> dict[str, Figure]:
    """Every figure of a study as it was saved, by name."""
    folder = tmp_path_factory.mktemp("figures")
    kind, look = request.param
    words = STUDIES.get(kind, SIZES[:3])
    unsolved = 1 if kind == "unsolved" else None
    pictured = kind in ("entries", "unsolved")  # pictures take most of the time
    study = whole(make_study(folder, words, unsolved=unsolved, fields=pictured))
    if kind.endswith("missing"):
        study = without_a_case(study, 0 if "first" in kind else 1)
    with using(look):
        return kept_by(lambda: write(study, folder))


def kept_by(draw: Callable[[], Any]) -> dict[str, Figure]:
    """The figures that are saved meanwhile, laid out and not drawn, by name."""
    kept: dict[str, Figure] = {}

    def keep(drawing: Figure, path: Path, **_: Any) -> None:
        kept[path.stem] = drawing
        path.write_text("not drawn: only the places of what is on it are asked for")

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Figure, "savefig", keep)
        draw()
    return kept


def caught(draw: Callable[[], Any]) -> Figure:
    """The one figure that is saved meanwhile."""
    (drawing,) = kept_by(draw).values()
    return drawing


def write(study: PicturedStudy, folder: Path, **keywords: Any) -> list[Any]:
    return draw_all(folder, study, **keywords)


def panels(drawing: Figure) -> list[Axes]:
    """All axes that are seen, scales at an axes' other side too."""
    seen = [axes for axes in drawing.axes if axes.get_visible()]
    return seen + [child for axes in seen for child in axes.child_axes]


def words_of(drawing: Figure) -> list[Text]:
    """Every text that is drawn."""
    texts = list(drawing.texts)
    texts += [text for legend in drawing.legends for text in legend.get_texts()]
    texts += [text for text in (drawing._supxlabel, drawing._supylabel) if text is not None]
    for axes in panels(drawing):
        texts += [axes.title, axes._left_title, axes._right_title, *axes.texts]
        for axis in (axes.xaxis, axes.yaxis):
            if axis.get_visible() and axes.axison:
                texts += [axis.label]
                texts += [
                    label for tick in axis._update_ticks() for label in (tick.label1, tick.label2)
                ]
    return [text for text in dict.fromkeys(texts) if text.get_visible() and text.get_text().strip()]


@styled  # an axis that is asked for its numbers may make new ones
def extents(drawing: Figure) -> list[tuple[Text, Bbox]]:
    renderer = FigureCanvasAgg(drawing).get_renderer()
    drawing.draw_without_rendering()  # places of axes' labels are those of the last renderer
    return [(text, text.get_window_extent(renderer)) for text in words_of(drawing)]


def is_slanted(text: Text) -> bool:
    return text.get_rotation() % 90 != 0


def overlapping(drawing: Figure) -> list[tuple[str, str]]:
    """The pairs of texts of which one runs into the other."""
    found = []
    for (one, first), (other, second) in combinations(extents(drawing), 2):
        if is_slanted(one) and is_slanted(other):
            continue  # their upright boxes do overlap, they do not
        common = Bbox.intersection(first, second)
        if common is not None and min(common.width, common.height) > SLACK:
            found.append((one.get_text(), other.get_text()))
    return found


def test_no_two_texts_overlap(drawn: dict[str, Figure]) -> None:
    assert {name: pairs for name, one in drawn.items() if (pairs := overlapping(one))} == {}


def test_no_text_leaves_the_figure(drawn: dict[str, Figure]) -> None:
    for name, drawing in drawn.items():
        frame = drawing.bbox.padded(SLACK)
        for text, box in extents(drawing):
            inside = frame.contains(*box.min) and frame.contains(*box.max)
            assert inside, f"{name}: {text.get_text()!r}"


def has_data(axes: Axes) -> bool:
    """Whether anything with a place of its own is drawn within the axes' limits."""
    limits = Bbox.from_extents(*np.sort([axes.get_xlim(), axes.get_ylim()]).T.ravel())
    for line in axes.lines:
        x, y = np.broadcast_arrays(line.get_xdata(), line.get_ydata())
        known = np.isfinite(np.asarray(x, float)) & np.isfinite(np.asarray(y, float))
        of_data = line.get_transform() == axes.transData  # not a guide from edge to edge
        if of_data and any(
            limits.contains(*point) for point in zip(x[known], y[known], strict=True)
        ):
            return True
    return bool(axes.images or axes.collections or axes.patches)


def test_no_panel_is_empty(drawn: dict[str, Figure]) -> None:
    for name, drawing in drawn.items():
        bars = [axes for axes in drawing.axes if hasattr(axes, "_colorbar")]
        for axes in drawing.axes:
            if axes.get_visible() and axes not in bars:
                assert has_data(axes), f"{name}: {axes.get_title(loc='left')!r}"


def cut_marks(drawing: Figure) -> list[str]:
    """The marks that do not lie in their axes with all of their size."""
    found = []
    for axes in panels(drawing):
        frame = axes.bbox.padded(SLACK)
        for line in axes.lines:
            if line.get_marker() in ("", " ", "None", None) or not line.get_clip_on():
                continue
            points = line.get_transform().transform(
                np.column_stack([np.asarray(part, float) for part in line.get_data()])
            )
            half = line.get_markersize() / 2 * drawing.dpi / 72
            wide, high = {"_": (half, 0), "|": (0, half)}.get(line.get_marker(), (half, half))
            for x, y in points:
                seen = axes.bbox.padded(1).contains(x, y)
                box = Bbox.from_extents(x - wide, y - high, x + wide, y + high)
                if seen and not (frame.contains(*box.min) and frame.contains(*box.max)):
                    found.append(f"{line.get_marker()} at {(x, y)} in {axes.bbox}")
    return found


def test_no_mark_is_cut_by_the_frame(drawn: dict[str, Figure]) -> None:
    assert {name: found for name, one in drawn.items() if (found := cut_marks(one))} == {}
    marked = [
        name
        for name, drawing in drawn.items()
        for axes in drawing.axes
        if any(line.get_marker() in ("o", "s") for line in axes.lines)
    ]
    assert len(marked) > 3


def test_marks_of_values_that_are_all_alike_are_whole(tmp_path: Path) -> None:
    study = make_study(tmp_path, SIZES[:3], fields=False)
    flow = study.flow[study.flow["flow_rate_L_per_s"] == RATES[0]].assign(pressure_drop_Pa=50.0)
    drawing = caught(lambda: draw_resistance(replace(study, flow=flow), tmp_path))
    assert cut_marks(drawing) == []


def test_a_rate_that_no_case_has_a_number_for_has_no_figure(tmp_path: Path) -> None:
    study = make_study(tmp_path, fields=False)
    study.flow["converged"] = False
    study.comparison["resonance_change_cents"] = np.nan
    names = [record.name for record in write(study, tmp_path)]
    assert "bore-sections" in names
    assert not {"headline", "resistance-trend", "pressure-drop", "resonance-trend"} & set(names)


def test_a_study_without_any_flow_has_the_other_figures(tmp_path: Path) -> None:
    study = replace(make_study(tmp_path, fields=False), flow=pd.DataFrame())
    names = [record.name for record in write(study, tmp_path)]
    assert names == ["headline", "bore-sections", "resonance-trend", "impedance"]


def test_a_case_without_a_result_keeps_its_colour_and_is_named(tmp_path: Path) -> None:
    study = without_a_case(whole(make_study(tmp_path, SIZES[:3], fields=False)), 1)
    captions = {record.name: record.caption for record in write(study, tmp_path)}
    assert f"Without a result: {SIZES[1]}." in captions["pressure-drop"]
    svg = (tmp_path / "impedance.svg").read_text()
    assert f"{SIZES[1]} (no result)" in svg


@pytest.mark.parametrize(("topic", "first"), [(RESONANCE, "peaks"), (FLOW, "resistance-trend")])
def test_the_figures_of_the_topic_come_right_after_the_bores(
    tmp_path: Path, topic: str, first: str
) -> None:
    study = whole(make_study(tmp_path, fields=False))
    names = [record.name for record in write(study, tmp_path, topic=topic)]
    assert names[:3] == ["headline", "bore-sections", first]
    flows, sounds = names.index("resistance-trend"), names.index("impedance")
    assert (flows < sounds) == (topic == FLOW)
    assert len(names) == len(set(names))
    assert len(RATES) == 2
