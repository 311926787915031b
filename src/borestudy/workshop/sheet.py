"""A dimensioned drawing of a bore: an A4 sheet round a section that is drawn in true millimetres.

All lies in the drawing's model space, so that the section can be taken for a lathe as it stands
(layer BORE, x from the rim plane, y the radius); the sheet is drawn smaller by the scale at which
it is to be plotted.  Above the axis the metal is hatched as cut, with no outer shape, of which a
study knows nothing; below it the bore is hidden, and dashed.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import ezdxf
import matplotlib
from ezdxf.enums import TextEntityAlignment as At
from ezdxf.fonts.fonts import font_manager

from borestudy.bore import Bore
from borestudy.workshop.outline import add_wall, sampled, stations
from borestudy.workshop.tables import LETTERING, add_rows, add_text, pair_of_units

#: A4 across, and its margins [mm on paper].
SHEET, MARGIN = (297.0, 210.0), 10.0
#: Scales of ISO 5455 (from memory), largest first, and the room that the section has [mm].
SCALES, ROOM = (10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1), (230.0, 70.0)
#: Letters [mm on paper], a size of ISO 3098 (from memory), and those of tables.
LETTERS, SMALL = 2.5, 1.9
#: Mean width of a letter, in heights of capitals.
LETTER = 0.72
#: Metal that is hatched beside the wall, and the distance between lines of dimensions [mm].
METAL, APART = 6.0, 8.0
#: Layers with their colours (AutoCAD's index: 7 black, 8 grey), line types and widths [0.01 mm].
LAYERS = {
    "BORE": (7, "CONTINUOUS", 50),
    "HIDDEN": (7, "DASHED", 25),
    "AXIS": (8, "CENTER", 18),
    "METAL": (8, "CONTINUOUS", 13),
    "DIMENSIONS": (7, "CONTINUOUS", 18),
    "SHEET": (7, "CONTINUOUS", 25),
}
STYLE = "BORE"
#: Matplotlib brings it, so that a drawing looks the same on every machine.
FONT = "DejaVuSans.ttf"
#: Before a diameter; its sign is not in every font.
DIAMETER = "dia "
NOTES = (
    "Bore only: the outside is not drawn. Wall surfaces of revolution about the axis.",
    "Drills cut oversize and reamers wear: try on scrap, measure after each step.",
    "Brass may hold lead, plating other metals: guard eyes, keep dust and fumes away,",
    "leave no bare brass on lips. Local rules and licensed practice come first.",
)


@dataclass(frozen=True)
class Toleranced:
    """A dimension of the drawing.

    Attributes
    ----------
    label : str
        Its words, such as ``throat diameter``.
    value : float
        In mm, or a pure number.
    tolerance : float
        Either way, in the same.
    unit : str
        ``mm``, ``deg`` or nothing.
    remark : str
        What else is to be said, such as the nearest drill.
    """

    label: str
    value: float
    tolerance: float
    unit: str = "mm"
    remark: str = ""


@dataclass(frozen=True)
class Title:
    """Words of the title block."""

    study: str
    bore: str
    entry: str
    tolerance: str


@dataclass(frozen=True)
class Sheet:
    """A drawing, and where on it the sheet lies.

    Attributes
    ----------
    document : ezdxf.document.Drawing
        In mm; the bore's x and r are those of its layer BORE.
    corner : (float, float)
        The sheet's lower left corner [mm in the drawing].
    scale : float
        At which it fills an A4 sheet across.
    """

    document: Any
    corner: tuple[float, float]
    scale: float


def draw(bore: Bore, dimensions: Sequence[Toleranced], title: Title) -> Sheet:
    """Draw a bore with its dimensions; their values are read off the bore, not off these."""
    font_manager.scan_folder(Path(matplotlib.get_data_path()) / "fonts" / "ttf")
    document = ezdxf.new("R2010", setup=True, units=ezdxf.units.MM)
    scale = _scale(bore)
    _set_up(document, scale)
    space = document.modelspace()
    known = {one.label: one for one in dimensions if one.unit == "mm"}
    _add_section(space, bore, scale)
    _add_lengths(space, bore, known, scale)
    _add_diameters(space, bore, known, scale)
    corner = 500 * bore.length - SHEET[0] / scale / 2, -(SHEET[1] - 50) / scale
    _add_sheet(space, bore, dimensions, title, Sheet(document, corner, scale))
    return Sheet(document, corner, scale)


def _scale(bore: Bore) -> float:
    long, wide = 1e3 * bore.length, 2e3 * max(bore.rim_radius, bore.shank_radius)
    fits = [s for s in SCALES if s * long <= ROOM[0] and s * (wide + 2 * METAL / s) <= ROOM[1]]
    return next(iter(fits), SCALES[-1])


def _set_up(document: Any, scale: float) -> None:
    for name, (colour, kind, width) in LAYERS.items():
        document.layers.add(name, color=colour, linetype=kind, lineweight=width)
    document.header["$LTSCALE"] = 3 / scale
    document.styles.add(LETTERING, font=FONT)
    style = document.dimstyles.duplicate_entry("EZDXF", STYLE)
    for name, value in {
        "dimscale": 1 / scale, "dimtxsty": LETTERING, "dimtxt": LETTERS, "dimasz": 2.0,
        "dimexe": 1.0, "dimexo": 0.8,
        "dimgap": 0.6, "dimdec": 3, "dimzin": 8, "dimtad": 1, "dimtix": 0, "dimlfac": 1.0,
        "dimblk": "", "dimtsz": 0.0,
    }.items():  # fmt: skip
        style.set_dxf_attrib(name, value)


def _add_section(space: Any, bore: Bore, scale: float) -> None:
    length = 1e3 * bore.length
    add_wall(space, bore, layer="BORE")
    add_wall(space, bore, mirrored=True, layer="HIDDEN")
    over = 4 / scale
    space.add_line((-over, 0), (length + over, 0), dxfattribs={"layer": "AXIS"})
    for x, radius in ((0.0, bore.rim_radius), (length, bore.shank_radius)):
        ends = (x, -1e3 * radius), (x, 1e3 * radius)
        space.add_line(*ends, dxfattribs={"layer": "BORE"})
    wall = sampled(bore)
    top = max(wall[:, 1]) + METAL / scale
    outline = [*map(tuple, wall), (length, top), (0.0, top)]
    hatch = space.add_hatch(color=8, dxfattribs={"layer": "METAL"})
    hatch.set_pattern_fill("ANSI31", scale=0.6 / scale)
    hatch.paths.add_polyline_path(outline, is_closed=True)


def _add_lengths(
    space: Any, bore: Bore, dimensions: Mapping[str, Toleranced], scale: float
) -> None:
    """Lengths below the section, the throat's first: whose words then cross no other's lines."""
    base = -1e3 * max(bore.rim_radius, bore.shank_radius)
    lines = [("overall length", (0.0, bore.length))]
    if "throat" in bore.parts:
        edge, end = _edge(bore, dimensions), bore.throat_end
        lines = [("throat length", (edge, end)), ("cup depth", (0.0, edge)), *lines]
    for row, (label, ends) in enumerate(lines, start=1):
        first, last = ((1e3 * x, -1e3 * float(bore.radius(x))) for x in ends)
        _add_dimension(
            space,
            dimensions.get(label),
            scale,
            base=(0, base - row * APART / scale),
            p1=first,
            p2=last,
        )


def _edge(bore: Bore, dimensions: Mapping[str, Toleranced]) -> float:
    """Where cup and throat meet [m]: before an entry is cut, where the bore has dimensions."""
    depth = dimensions.get("cup depth")
    return bore.throat_start if depth is None else 1e-3 * depth.value


def _add_dimension(
    space: Any, known: Toleranced | None, scale: float, sign: str = "", **places: Any
) -> None:
    """A linear dimension of what is drawn, with its tolerance where it has one."""
    override = {"dimpost": f"{sign}<>{_either_way(known)}", "dimdec": 3, "dimzin": 8}
    (x0, y0), (x1, y1), (x, y) = places["p1"], places["p2"], places["base"]
    upright = places.get("angle") == 90
    drawn = abs(y1 - y0) if upright else abs(x1 - x0)
    wide = LETTER * LETTERS / scale * len(f"{sign}{drawn:.3g}{_either_way(known)}")
    if upright and wide > drawn - 1 / scale:
        places |= {"location": (x, max(y0, y1) + 4 / scale), "text_rotation": 0}
    elif wide > drawn - 1 / scale:
        places["location"] = (x1 + wide / 2 + 3 / scale, y + 2 / scale)
    layer = {"layer": "DIMENSIONS"}
    made = space.add_linear_dim(dimstyle=STYLE, override=override, dxfattribs=layer, **places)
    made.render()


def _add_diameters(
    space: Any, bore: Bore, dimensions: Mapping[str, Toleranced], scale: float
) -> None:
    """Diameters at the ends, and the throat's by a leader."""
    for label, x, radius, side in (
        ("rim diameter", 0.0, bore.rim_radius, -1),
        ("backbore end diameter", 1e3 * bore.length, bore.shank_radius, 1),
    ):
        _add_dimension(
            space,
            dimensions.get(label),
            scale,
            DIAMETER,
            base=(x + side * 1.5 * APART / scale, 0),
            p1=(x, -1e3 * radius),
            p2=(x, 1e3 * radius),
            angle=90,
        )
    middle = 500 * (bore.throat_start + bore.throat_end)
    radius = 1e3 * bore.throat_radius
    top = 1e3 * max(bore.rim_radius, bore.shank_radius) + (METAL + 6) / scale
    elbow = (middle + 8 / scale, top)
    layer = {"layer": "DIMENSIONS"}
    space.add_leader(
        [(middle, radius), elbow, (elbow[0] + 4 / scale, top)], STYLE, dxfattribs=layer
    )
    words = f"throat {DIAMETER}{2 * radius:.3f}{_either_way(dimensions.get('throat diameter'))}"
    add_text(space, words, (elbow[0] + 5 / scale, top), LETTERS / scale, At.MIDDLE_LEFT)


def _either_way(known: Toleranced | None) -> str:
    return "" if known is None or not known.tolerance else f" ± {known.tolerance:.2g}"


def _add_sheet(
    space: Any, bore: Bore, dimensions: Sequence[Toleranced], title: Title, sheet: Sheet
) -> None:
    (left, bottom), per = sheet.corner, 1 / sheet.scale

    def at(x: float, y: float) -> tuple[float, float]:
        return left + x * per, bottom + y * per

    frame = [at(MARGIN, MARGIN), at(SHEET[0] - MARGIN, MARGIN)]
    frame += [at(SHEET[0] - MARGIN, SHEET[1] - MARGIN), at(MARGIN, SHEET[1] - MARGIN)]
    space.add_lwpolyline(frame, close=True, dxfattribs={"layer": "SHEET"})
    rows = [("dimension", "mm", "in", ""), *map(_row, dimensions)]
    add_rows(space, rows, at(MARGIN + 4, 92), (44.0, 34.0, 42.0, 30.0), SMALL, per)
    places = [("from rim plane, mm", "diameter, mm")]
    places += [(f"{x:.3f}", f"{d:.3f}") for x, d in stations(bore, 12)]
    add_rows(space, places, at(SHEET[0] - 108, 92), (30.0, 24.0), SMALL, per)
    block = [
        ("bore", title.bore), ("study", title.study), ("throat entry", title.entry),
        ("tolerance", title.tolerance), ("scale, units", f"{_ratio(sheet.scale)} on A4, mm"),
    ]  # fmt: skip
    add_rows(space, block, at(SHEET[0] - 108, 34), (22.0, 72.0), SMALL, per)
    for index, note in enumerate(NOTES):
        add_text(space, note, at(MARGIN + 4, 25 - 3.4 * index), SMALL * per, At.LEFT)


def _row(one: Toleranced) -> tuple[str, str, str, str]:
    if one.unit != "mm":
        either = f" ± {one.tolerance:.2g}" if one.tolerance else ""
        return (one.label, f"{round(one.value, 6):.4g}{either} {one.unit}".strip(), "", one.remark)
    return (one.label, *pair_of_units(one.value, one.tolerance), one.remark)


def _ratio(scale: float) -> str:
    return f"{scale:g}:1" if scale >= 1 else f"1:{1 / scale:g}"
