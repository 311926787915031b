"""The bores' sections, drawn over each other: the whole bore, and the throat entry enlarged."""

from pathlib import Path

from matplotlib.patches import Rectangle

from borestudy.drawing import style
from borestudy.drawing.bore import draw_section, entry_window, frame_section, mark_parts
from borestudy.report.captions import save
from borestudy.report.figures.case import PicturedStudy


@style.styled
def draw_bores(study: PicturedStudy, directory: Path) -> style.FigureRecord:
    """Draw all bores in section, to scale, with an enlarged view of the throat entry."""
    drawing = style.figure(112)
    whole, zoom = drawing.subplots(2, 1, height_ratios=(1, 1.55))
    shown, count = study.shown, len(study.cases)
    handles = []
    for index, case in enumerate(shown):
        line = style.plain_line(index, len(shown))
        handles.append(draw_section(whole, case.outline, **line))
        draw_section(zoom, case.outline, both=False, **line)
    for axes in (whole, zoom):
        frame_section(axes)
    left, right, top = entry_window([case.outline for case in shown])
    zoom.set(xlim=(left, right), ylim=(0, top))
    zoom.set_title("throat entry, enlarged", loc="left")
    frame = Rectangle((left, 0), right - left, top, fill=False, edgecolor=style.GREY, linewidth=0.8)
    whole.add_patch(frame)
    mark_parts(whole, shown[0].outline)
    style.key(drawing, [whole, zoom], [case.label for case in shown], handles)
    what = "The bore" if count == 1 else f"The {count} bores"
    words = {"what": what, "some": style.left_out(shown, study.cases)}
    return save(drawing, directory, "bore-sections", count=count, **words)
