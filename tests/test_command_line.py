"""What the command line says of a study before anything is computed."""

import json
import re
import shlex
import subprocess
import sys
from pathlib import Path

import click
import numpy as np
import pytest

from borestudy.__main__ import main
from borestudy.air import humid_air
from borestudy.command_line.main import COMMANDS, borestudy
from borestudy.flow.regime import rate_scale
from borestudy.results.handbooks import handbook_at, handbook_dimensions
from borestudy.stages.check import REYNOLDS_LIMIT
from borestudy.study import load_study, study_schema

DEMO = Path(__file__).parents[1] / "configs" / "entry-rounding.yaml"


def without_place(message):
    """A message without the file and the line that it begins with."""
    told = re.match(r"\S+, line \d+: ", message)
    assert told, message
    return message[told.end() :]


def changed(directory, *replacements):
    text = DEMO.read_text(encoding="utf-8")
    for old, new in replacements:
        assert old in text
        text = text.replace(old, new)
    path = directory / "study.yaml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def refusal(capsys, path):
    assert main(["check", path]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    return shown.err


def test_check_lists_the_cases_and_what_is_varied(capsys):
    assert main(["check", str(DEMO)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert "5 cases, compared with the first:" in lines
    assert [line.split(maxsplit=1) for line in lines[2:5]] == [
        ["case", "throat.entry"],
        ["entry-square", "square"],
        ["entry_radius-0.25mm", "rounded 0.25 mm"],
    ]
    flow = next(line for line in lines if line.startswith("flow: "))
    assert flow.startswith("flow: 0.05 L/s, 0.1 L/s, 0.2 L/s, 0.3 L/s;")
    assert "best estimate" in flow


WISH = """
tolerances: {throat.diameter: 0.0005 in}
wish:
  change: {resonance: "+15 cents", flow resistance at 0.2 L/s: "-10 % within 2 %"}
  reach: {pressure_drop at 0.3 L/s: 200 Pa}
  keep: {cup volume: within 5 %}
  free:
    throat.diameter: {from: drill 28, to: drill 22, sizes: drill}
    throat.length:
  bore: existing
"""


def wished(directory, old="", new=""):
    path = changed(directory)
    text = Path(path).read_text(encoding="utf-8") + WISH
    assert old in text
    Path(path).write_text(text.replace(old, new) if old else text, encoding="utf-8")
    return path


def test_check_says_what_tolerances_and_a_wish_mean(tmp_path, capsys):
    assert main(["check", wished(tmp_path)]) == 0
    lines = capsys.readouterr().out.splitlines()
    first = lines.index(
        "wish for the bore of case entry-square, which exists: its wall may only move outward:"
    )
    assert lines[first + 1 : first + 9] == [
        "  resonance: +15 cents, within 1 cent",
        "  flow resistance at 0.2 L/s: -10 %, within 2 %",
        "  pressure drop at 0.3 L/s: 200 Pa, within 0.5 %",
        "  cup volume: kept within 5 %",
        "free to move:",
        # 0.1405 in and 0.157 in of ASME B94.11M, from seven drills
        "  throat diameter: 3.5687 mm to 3.9878 mm (now 3.6576 mm), 7 sizes: drill 28 to drill 22",
        "  throat length: 4.5 mm to 5.5 mm (now 5 mm), any size",
        "at most 12 solves for it, the first of them of this bore",
    ]
    tolerances = lines[first - 1]
    assert tolerances.startswith(
        "tolerances of case entry-square, either way: 0.001 in on every length and diameter; "
        "throat.diameter 0.0005 in; cup shape 0.00"
    )
    assert main(["check", str(DEMO)]) == 0
    assert "wish" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("{resonance: ", "{resonanse: ", "wish.change.resonanse: no quantity of this study; did you"
         " mean resonance?"),
        ("throat.length:", "throat.lenght:", "wish.free.throat.lenght: not a dimension of this bore"
         "; did you mean throat.length? "),
        ("throat.length:", "throat.entry.radius:", "wish.free.throat.entry.radius: a square entry "
         "has no size; "),
        ("from: drill 28, to: drill 22", "from: drill 22, to: drill 28",
         "wish.free.throat.diameter.to: found 'drill 28' with from: drill 22; allowed is more than "
         "from"),
        ("throat.length:", "cup.depth: {to: 90 mm}", "wish.free: found limits that make no bore"),
        ("throat.diameter: 0.0005", "throat.diametre: 0.0005", "tolerances.throat.diametre: not a "
         "dimension of the first case; did you mean throat.diameter? "),
        ("at 0.2 L/s", "at 0.25 L/s", "and no such rate in flow.rates; allowed is one of"),
    ],
)  # fmt: skip
def test_a_mistake_in_a_wish_or_a_tolerance_is_one_line_with_an_example(
    tmp_path, capsys, old, new, message
):
    path = wished(tmp_path, old, new)
    said = refusal(capsys, path)
    assert said.startswith(path)
    assert message in said
    assert "for example" in said
    assert len(said.splitlines()) == 1


def test_a_wish_without_a_free_dimension_is_refused(tmp_path, capsys):
    path = wished(tmp_path, WISH[WISH.index("  free:") : WISH.index("  bore:")], "  free: {}\n")
    message = refusal(capsys, path)
    assert "wish.free: found {}, and so no dimension that may move; allowed is" in message
    assert "for example {throat.diameter: {" in message


def test_check_builds_the_bores(tmp_path, capsys):
    path = changed(tmp_path, ("rounded 2 mm", "rounded 30 mm"))
    message = refusal(capsys, path)
    assert without_place(message).startswith("case entry_radius-30.00mm: bore.throat.entry: found")


def test_check_tells_a_mistake_without_a_traceback(tmp_path):
    path = changed(tmp_path, ("length: 88 mm", "length: 88"))
    run = subprocess.run(
        [sys.executable, "-m", "borestudy", "check", path],
        capture_output=True, text=True, encoding="utf-8", check=False,
    )  # fmt: skip
    assert run.returncode == 2
    assert run.stdout == ""
    assert run.stderr.startswith(f"{path}, line 8: bore.length: found 88, a number without a unit")
    assert "Traceback" not in run.stderr


def test_an_unknown_command_is_told_the_nearest(capsys):
    assert main(["wsh", str(DEMO)]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.startswith("COMMAND: found 'wsh'; did you mean wish? Allowed is init, check, ")


def test_a_range_past_the_first_sideways_mode_is_cautioned_with_its_frequency(tmp_path, capsys):
    quiet = changed(tmp_path, ("to: 5000 Hz", "to: 12.4 kHz"))
    assert main(["check", quiet]) == 0
    assert "caution" not in capsys.readouterr().out
    # j'11 c / (2 pi a) with a = 8.1 mm and c = 347.1 m/s is 12.557 kHz.
    assert main(["check", changed(tmp_path, ("to: 5000 Hz", "to: 13 kHz"))]) == 0
    cautions = [x for x in capsys.readouterr().out.splitlines() if x.startswith("caution")]
    assert len(cautions) == 1
    assert "above 12557 Hz" in cautions[0]
    assert "non-axisymmetric" in cautions[0]
    assert cautions[0].endswith("(every case)")


@pytest.mark.parametrize(("rate", "mach"), [("0.8 L/s", "0.22"), ("1.0 L/s", "0.27")])
def test_a_fast_flow_is_cautioned_with_its_mach_number(tmp_path, capsys, rate, mach):
    # Mean velocity in 10.507 mm² over 347.1 m/s.
    assert main(["check", changed(tmp_path, ("0.3 L/s", f"0.3 L/s, {rate}"))]) == 0
    assert f"Mach number is {mach}" in capsys.readouterr().out


def test_a_flow_past_mach_0_3_is_refused(tmp_path, capsys):
    message = refusal(capsys, changed(tmp_path, ("0.2, 0.3 L/s", "0.2, 1.2 L/s")))
    assert without_place(message).startswith("case entry-square: flow.rates: found 1.2 L/s")
    assert "allowed is up to Mach 0.3, here about 1.1 L/s" in message


@pytest.mark.parametrize("rate", ["1e-12 L/s", "0.0001 L/s"])
def test_a_flow_slower_than_any_handbook_is_refused(tmp_path, capsys, rate):
    message = refusal(capsys, changed(tmp_path, ('"0.05, 0.1, 0.2, 0.3 L/s"', f'"{rate}"')))
    assert without_place(message).startswith(
        f"case entry-square: flow.rates: found {rate} in a throat of 3.66 mm"
    )
    # Re = 4 Q / (pi d nu) = 10 with nu = 1.55e-5 m²/s at 25 degC.
    assert "allowed is from a Reynolds number of 10 on, here about 0.00045 L/s" in message


def test_the_slowest_flow_that_is_allowed_has_a_handbook_value(tmp_path):
    air = humid_air(298.15)
    for case in load_study(DEMO).cases():
        dimensions = handbook_dimensions(case.build_bore())
        rate = REYNOLDS_LIMIT * np.pi / 4 * dimensions.throat_diameter * air.kinematic_viscosity
        scale = rate_scale(air, 0.9 * rate, dimensions.throat_diameter)
        handbook = handbook_at(dimensions, scale.reynolds, 0.5 * scale.pressure)
        assert 0 < handbook["pressure_drop"].low < 1


def test_check_describes_every_bore(tmp_path, capsys):
    # A cone of 16 to 4 mm in 12 mm, a pipe of 5 mm, a cone of 4 to 8 mm in 63 mm: frusta.
    path = changed(
        tmp_path,
        ("cup: {diameter: 16.2 mm, depth: 10.8 mm, shape: 0.6}",
         "cup: {diameter: 16 mm, depth: 12 mm, shape: 0}"),
        ("length: 88 mm", "length: 80 mm"), ("drill 27", "4 mm"), ("9.0 mm", "8 mm"),
    )  # fmt: skip
    assert main(["check", path]) == 0
    lines = capsys.readouterr().out.splitlines()
    first = lines.index("bores:") + 3
    cup = np.pi / 12 * 1.2 * (1.6**2 + 1.6 * 0.4 + 0.4**2)
    backbore = np.pi / 12 * 6.3 * (0.8**2 + 0.8 * 0.4 + 0.4**2)
    assert re.split(r" {2,}", lines[first].strip()) == [
        "entry-square", "80.00 (3.150)", "4.000 (0.1575)", "drill 22 (0.1570)", "12.00 (0.472)",
        "5.00 (0.197)",
        f"{cup:.3f}", f"{backbore:.3f}",
    ]  # fmt: skip
    assert len([line for line in lines[first:] if line.startswith("  entry")]) == 5


def test_check_tells_doubtful_stations_and_refuses_slips(tmp_path, capsys):
    rows = ["0,0.64", "0.1,0.62", "0.2,0.58", "0.3,0.48", "0.42,0.144", "0.62,0.144", "2,0.24",
            "3,0.31", "3.5,0.35"]  # fmt: skip
    csv, study = tmp_path / "bore.csv", tmp_path / "study.yaml"
    study.write_text("bore: {stations: bore.csv, join: smooth}\n")

    def write(*changed):
        text = "\n".join(["position_in,diameter_in", *rows])
        for old, new in changed:
            text = text.replace(old, new)
        csv.write_text(text)

    write()
    assert main(["check", str(study)]) == 0
    shown = capsys.readouterr().out
    assert "caution" not in shown
    assert re.search(r"3\.658 \(0\.1440\) +drill 27 \(0\.1440\) +10\.67 \(0\.420\) +5\.08", shown)
    write(("0.2,0.58", "0.2,0.69"))
    message = refusal(capsys, str(study))
    said = "case base: bore.stations: bore.csv, line 4: found a diameter of 17.526 mm (0.6900 in)"
    assert without_place(message).startswith(said)
    study.write_text("bore: {stations: bore.csv, join: smooth, outliers: keep}\n")
    assert main(["check", str(study)]) == 0
    assert "caution: bore.csv, line 4: found a diameter of 17.526 mm" in capsys.readouterr().out
    write(("2,0.24", "2,0.25"), ("3,0.31", "2.5,0.275\n3,0.31"))
    assert main(["check", str(study)]) == 0
    assert "caution: bore.csv, line 8: found" in capsys.readouterr().out


def test_a_step_to_the_air_column_is_said(tmp_path, capsys):
    (tmp_path / "column.csv").write_text("position_mm,diameter_mm\n0,9.6\n1300,11.6\n")
    path = changed(tmp_path, ("behind: anechoic pipe", "behind: {air column: column.csv}"))
    assert main(["check", path]) == 0
    assert "step from the shank's 9.000 mm to the air column's 9.600 mm" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("stations", "words"),
    [
        ("0,30\n1300,31\n", "starts with 30 mm where the shank ends with 9 mm"),
        ("0,9\n650,\n1300,11\n", "line 3: diameter_mm: found nothing"),
    ],
    ids=["does not meet the shank", "gap"],
)
def test_an_air_column_that_cannot_be_joined_is_refused(tmp_path, capsys, stations, words):
    (tmp_path / "column.csv").write_text("position_mm,diameter_mm\n" + stations)
    path = changed(tmp_path, ("behind: anechoic pipe", "behind: {air column: column.csv}"))
    message = refusal(capsys, path)
    assert without_place(message).startswith("case entry-square: resonance.behind: air column")
    assert words in message
    assert "example" in message


def commands_of_the_readme():
    text = (DEMO.parents[1] / "README.md").read_text(encoding="utf-8")
    return re.findall(r"^\.venv/bin/borestudy (.*?)(?: +#.*)?$", text, re.MULTILINE)


def understood(words):
    """A command of the README and what it was given, as the command line reads them."""
    group = click.Context(borestudy, info_name="borestudy")
    name, command, given = borestudy.resolve_command(group, shlex.split(words))
    return name, command.make_context(name, given, parent=group).params


def test_every_command_of_the_readme_is_one_with_a_study_that_is_there():
    asked = [understood(words) for words in commands_of_the_readme()]
    assert {name for name, _ in asked} == {*COMMANDS} - {"schema"}
    for name, given in asked:
        if name not in ("trade-off", "init", "entry", "reference"):
            study = load_study(DEMO.parents[1] / given.get("study", given.get("bore")))
            assert study.case(given.get("case") or study.cases()[0].name)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("check", "STUDY: missing; needed is a study file, such as configs/entry-rounding.yaml, for"
         " example borestudy check configs/"),
        ("trade-off results x", "Y: missing; needed is a name of a column of numbers, for example "
         "borestudy trade-off results/throat-sweep resonance_Hz flow_resistance_kPa_s_per_L --pic"),
        ("wish study.yaml --freshh", "--freshh: unknown option; did you mean --fresh? Allowed is "
         "--fresh, --results, --output, --picture, --json, --help, for example borestudy wish"),
        ("check one.yaml two.yaml", "Got unexpected extra argument (two.yaml), for example "),
        ("sensitivities study.yaml --case", "Option '--case' requires an argument, for example"),
    ],
)  # fmt: skip
def test_a_wrong_option_or_argument_is_one_line_with_an_example(capsys, words, message):
    assert main(shlex.split(words)) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.startswith(message)
    assert len(shown.err.splitlines()) == 1


def test_the_help_text_names_every_command_in_whole_words(capsys):
    assert main(["--help"]) == 0
    shown = capsys.readouterr().out
    for name in COMMANDS:
        assert f"\n  {name} " in shown
    assert "..." not in shown.partition("Commands:")[2]


def test_check_prints_json(capsys):
    assert main(["check", str(DEMO), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["study"]["bore"]["length"] == "88 mm"
    assert main(["check", str(DEMO)]) == 0
    assert capsys.readouterr().out.splitlines() == found["lines"]


def test_a_command_loads_nothing_that_another_needs():
    words = "import sys; from borestudy.__main__ import main; main(['check', {!r}]); "
    words += "print(*sys.modules)"
    loaded = (
        subprocess.run(
            [sys.executable, "-c", words.format(str(DEMO))],
            capture_output=True,
            text=True,
            check=True,
        )
        .stdout.splitlines()[-1]
        .split()
    )
    assert not {"pandas", "matplotlib", "snakemake", "altair", "gmsh"} & {*loaded}


def test_the_wish_of_the_readme_is_one_of_the_demonstrations_bore(tmp_path, capsys):
    text = (DEMO.parents[1] / "README.md").read_text(encoding="utf-8")
    (wish,) = re.findall(r"```yaml\n(tolerances: .*?)```", text, re.DOTALL)
    path = tmp_path / "study.yaml"
    path.write_text(DEMO.read_text(encoding="utf-8") + wish, encoding="utf-8")
    assert main(["check", str(path)]) == 0
    assert "its wall may only move outward" in capsys.readouterr().out


def test_schema_is_printed_or_written(tmp_path, capsys):
    assert main(["schema"]) == 0
    assert json.loads(capsys.readouterr().out) == study_schema()
    assert main(["schema", str(tmp_path / "schema.json")]) == 0
    assert json.loads((tmp_path / "schema.json").read_text(encoding="utf-8")) == study_schema()


def test_a_schema_that_cannot_be_written_is_told(tmp_path, capsys):
    assert main(["schema", str(tmp_path / "missing" / "schema.json")]) == 2
    assert "No such file or directory" in capsys.readouterr().err
