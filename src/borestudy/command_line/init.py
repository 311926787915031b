"""``borestudy init``: a study to begin with."""

from pathlib import Path

import click

from borestudy.command_line.command import Answer, command
from borestudy.command_line.options import PATH

#: A line that begins with # and a word is a setting with its default or an example: taking the #
#: away states it.
STUDY = """\
# A study: what is asked of which bores. Look at it with  borestudy check {name}
# and compute it with  borestudy run {name}
# A line that begins with # and no space is a setting that may be stated: take the # away.
# Lengths are in mm, cm, in, thou or drill sizes (drill 27, drill F, drill 9/64).

question: Does rounding the throat entry lower the flow resistance?

{bore}
# What is compared: every combination of the values in these lists. The first bore is the one that
# the others are compared with.
vary:
  {vary}
# Pairs, first with first and second with second, in place of every combination:
#combine: paired

air: {{temperature: 25 degC, relative_humidity: 50 %}}

# From which to which frequency resonances are looked for, and what follows the shank end:
# anechoic pipe, open, open flanged, closed, or an instrument, {{air column: air-column.csv}}
resonance: {{from: 50 Hz, to: 5000 Hz, behind: anechoic pipe}}

# Flow rates, in L/s or cm³/s; bores are compared at the reference rate.
flow: {{rates: "0.05, 0.1, 0.2, 0.3 L/s", reference_rate: 0.1 L/s}}

# How fine the meshes are: coarse for a trial, medium, or fine, which takes four times as long.
mesh: {{resolution: medium}}

# Lips that are to start a tone of an instrument: what it takes, and the tone.
#lips: {{mass_per_area: 2 kg/m2, quality_factor: 7, width: 8 mm, opening: 0.5 mm}}

# How exactly the workshop keeps every length and diameter, either way.
#tolerance: 0.001 in
"""
DIMENSIONS = """\
bore:
  length: 88 mm                       # overall, from the rim plane to the shank end
  cup: {diameter: 16.2 mm, depth: 10.8 mm, shape: 0.6}    # shape: 0 straight cone, 1 full bowl
  # The entry from the cup may be square, rounded 0.5 mm, chamfered 0.5 mm at 45 deg or
  # elliptical 2 mm x 1 mm.
  throat: {diameter: drill 27, length: 5 mm, entry: square}
  backbore: {end_diameter: 9 mm, taper: straight}         # or opening early, opening late
"""
VARY = """throat.entry: [square, rounded 0.5 mm, rounded 1 mm]
#  throat.diameter: [drill 28, drill 27, drill 26]
#  cup.depth: [10.3 mm, 10.8 mm, 11.3 mm]
"""
MEASURED = """\
# Stations along the bore in the file {stations} beside this one, as they were written down:
# mm or inches, from either end, commas or semicolons; `borestudy check` tells what it made of them.
bore:
  stations: {stations}
  # How far one reading of a diameter may be off; without it the scatter of repeated readings says.
  #uncertainty: 0.001 in
  # A slip is refused, unless it was measured so (keep) or is to be left out.
  #outliers: leave out
  # The most that smoothing may move a station by.
  #smoothing: 0.02 mm
"""
VARY_MEASURED = """# The wall between two stations: a straight line, or part of a smooth curve.
  join: [straight, smooth]
"""
STATIONS = """\
position_mm,diameter_mm
0,16.20
1,15.85
2,15.38
3,14.79
4,14.09
5,13.26
6,12.30
7,11.18
8,9.86
9,8.27
10,6.21
10.8,4.40
12,3.66
14,3.66
15.8,3.66
20,3.97
26,4.41
32,4.86
38,5.30
44,5.74
50,6.19
56,6.63
62,7.08
68,7.52
74,7.96
80,8.41
88,9.00
"""


@command(
    """borestudy init mine.yaml
borestudy init mine.yaml --measured"""
)
@click.argument(
    "path", metavar="FILE", type=PATH, required=False, help="file to write; study.yaml without one"
)
@click.option(
    "--measured", is_flag=True, help="of a bore from measured stations, in a CSV file beside it"
)
def init(path: Path | None, measured: bool) -> Answer:
    """Write a study with comments to begin with, which `check` and `run` take as it is."""
    file = Path("study.yaml") if path is None else path
    if file.suffix not in (".yaml", ".yml"):
        raise ValueError(
            f"FILE: found {str(file)!r}; allowed is a file that ends in .yaml, "
            f"for example {file.with_suffix('.yaml').name or 'study.yaml'}"
        )
    if not file.parent.is_dir():
        raise ValueError(
            f"FILE: found {str(file)!r}, and no folder {file.parent}; allowed is a file in a "
            f"folder that is there, for example {file.name}"
        )
    stations = file.with_name(f"{file.stem}-stations.csv")
    texts = {file: study_text(file.name)}
    if measured:
        texts = {file: study_text(file.name, stations.name), stations: STATIONS}
    for there in texts:
        if there.exists():
            raise ValueError(
                f"FILE: found {str(there)!r}, which is there and would be overwritten; allowed is "
                f"another name, for example {file.stem}-2.yaml"
            )
    for each, text in texts.items():
        each.write_text(text, encoding="utf-8")
    lines = [f"{'Study' if each == file else 'Stations'}: {each}" for each in texts]
    lines += [f"Next: borestudy check {file}, then borestudy run {file}"]
    return Answer(lines, {"files": list(texts)})


def study_text(name: str, stations: str | None = None) -> str:
    """A study with comments, of a bore with dimensions or from a file of stations."""
    if stations is None:
        return STUDY.format(name=name, bore=DIMENSIONS, vary=VARY.rstrip("\n"))
    text = STUDY.format(
        name=name, bore=MEASURED.format(stations=stations), vary=VARY_MEASURED.rstrip("\n")
    )
    asked = "Does rounding the throat entry lower the flow resistance?"
    return text.replace(asked, "How much does the way the stations are joined matter?")
