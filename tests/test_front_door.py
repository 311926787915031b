"""The front door for notebooks: the README's lines, texts and numbers, and what is refused."""

import re
import subprocess
import sys
from pathlib import Path

import matplotlib
import numpy as np
import pytest
from matplotlib import pyplot

import borestudy as bs
from borestudy import air as air_module
from borestudy import bore as bore_module
from borestudy.acoustics import two_port
from borestudy.acoustics.result import Resonance
from borestudy.mesh import ACOUSTICS, generate, read_mesh, write_meshes
from borestudy.quantity import Quantities, Quantity

README = Path(__file__).parents[1] / "README.md"
DIMENSIONS = {
    "length": "88 mm",
    "cup": {"diameter": "16.2 mm", "depth": "10.8 mm", "shape": 0.6},
    "throat": {"diameter": "drill 27", "length": "5 mm", "entry": "rounded 0.5 mm"},
    "backbore": {"end_diameter": "9 mm", "taper": "straight"},
}


@pytest.fixture(autouse=True)
def headless():
    """Figures without a screen, closed after each test."""
    matplotlib.use("Agg")
    yield
    pyplot.close("all")


@pytest.fixture(scope="module")
def bore():
    return bs.Bore.from_dimensions(**DIMENSIONS)


@pytest.fixture(scope="module")
def air():
    return bs.Air("25 degC", "50 %")


@pytest.fixture(scope="module")
def sound(bore, air):
    return bs.acoustics(bore, air, resolution="coarse")


@pytest.fixture(scope="module")
def flow(bore, air):
    return bs.flow(bore, air, rates="0.05, 0.15 L/s", model="laminar", resolution="coarse")


def test_the_lines_of_the_readme_run_and_give_what_they_say():
    block = re.search(r"<!-- python: notebook -->\n```python\n(.*?)```", README.read_text(), re.S)
    said = re.search(r"# one: (\S+) Hz ± (\S+) Hz, Q (\S+)\n", block[1])
    names = {}
    exec(block[1], names)
    (peak,) = names["peaks"]
    frequency, uncertainty, quality = map(float, said.groups())
    # To half of the last digit that is said, and as much as another machine may round.
    assert peak.frequency.value == pytest.approx(frequency, abs=0.006)
    assert peak.frequency.uncertainty == pytest.approx(uncertainty, rel=0.1)
    assert peak.Q.value == pytest.approx(quality, abs=0.0006)
    assert [one.unit for one in names["drop"]] == ["Pa"] * 3
    assert (np.diff(names["drop"].value) > 0).all()


def test_the_questions_of_the_readme_have_the_answers_that_it_says(bore, air):
    block = re.search(r"<!-- python: questions -->\n```python\n(.*?)```", README.read_text(), re.S)
    (cents,) = re.findall(r"first: \+(\S+) cents", block[1])
    (depth,) = re.findall(r"# cup depth (\S+) mm", block[1])
    names = {"bs": bs, "bore": bore, "air": air}
    exec(block[1], names)
    first = names["effects"].of("resonance").iloc[0]
    assert first["dimension"] == "throat.diameter"
    assert first["effect_of_0.001_in"] == pytest.approx(float(cents), abs=0.1)
    scatter = names["scatter"].of("flow resistance at 0.05 L/s")
    assert scatter.hold_tighter_first == "throat.diameter"
    (best,) = names["found"].bores
    assert names["found"].met
    assert best.dimensions[0].value == pytest.approx(float(depth), abs=0.02)


def test_importing_the_package_loads_no_library_of_numbers():
    program = "import sys, borestudy; print({'numpy', 'pydantic', 'matplotlib'} & {*sys.modules})"
    ran = subprocess.run([sys.executable, "-c", program], check=True, capture_output=True)
    assert ran.stdout.strip() == b"set()"


@pytest.mark.parametrize("first", ["acoustics.two_port", "flow.regime", "bore"])
def test_the_functions_keep_their_names_whatever_is_loaded(first):
    program = f"import borestudy.{first}, borestudy as bs; print(bs.flow.__name__, bs.acoustics)"
    ran = subprocess.run([sys.executable, "-c", program], check=True, capture_output=True)
    assert ran.stdout.startswith(b"flow <function acoustics")


def test_an_unknown_name_is_no_attribute():
    with pytest.raises(AttributeError, match="nothing"):
        bs.nothing  # noqa: B018


def test_texts_and_numbers_of_si_make_the_same_air():
    air = bs.Air("25 degC", "50 %", "101.325 kPa")
    assert air == bs.Air(298.15, 0.5, 101325.0)
    assert isinstance(air, air_module.Air)
    assert vars(air) == vars(air_module.humid_air(298.15, 0.5))


def test_a_bore_is_that_of_the_package_with_the_study_files_words(bore):
    assert isinstance(bore, bore_module.Bore)
    assert bore.length == pytest.approx(0.088)
    assert 2 * bore.throat_radius == pytest.approx(3.6576e-3)  # drill 27
    assert bore.entry.sizes == pytest.approx([0.5e-3])
    assert "throat 3.658 mm" in repr(bore)


def test_a_bore_of_stations_is_read_from_its_file(tmp_path):
    path = tmp_path / "pipe.csv"
    path.write_text("position_mm,diameter_mm\n0,8\n50,8\n")
    assert bs.Bore.from_stations(path).volume() == pytest.approx(np.pi * 4e-3**2 * 50e-3)


def test_a_bore_knows_its_dimensions_by_the_study_files_keys(bore):
    values = {one.key: one.value for one in bore.dimensions}
    assert values["throat.diameter"] == pytest.approx(3.6576e-3)
    assert values["throat.entry.radius"] == pytest.approx(0.5e-3)
    assert {"length", "cup.diameter", "cup.depth", "cup.shape", "throat.length",
            "backbore.end_diameter", "backbore.taper"} < set(values)  # fmt: skip
    (depth,) = (one for one in bore.dimensions if one.key == "cup.depth")
    assert depth.changed(bore, 1e-5).throat_end - bore.throat_end == pytest.approx(1e-5)


def test_a_bore_of_stations_knows_the_radius_at_each(tmp_path, monkeypatch):
    (tmp_path / "pipe.csv").write_text("position_mm,diameter_mm\n0,8\n20,9\n50,10.5\n")
    monkeypatch.chdir(tmp_path)
    bore = bs.Bore.from_stations("pipe.csv")
    monkeypatch.chdir("/")
    stations = [one for one in bore.dimensions if one.position is not None]
    assert [one.key for one in stations] == ["station 1", "station 2", "station 3"]
    assert [one.value for one in stations] == pytest.approx([4e-3, 4.5e-3, 5.25e-3])


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        (lambda: bs.Air("25"), r"^temperature: found '25'.*allowed.*for example 25 degC$"),
        (lambda: bs.Air("25 degC", 50), r"^relative_humidity: found '5000.0 %'.*0 % to 100 %"),
        (
            lambda: bs.Bore.from_dimensions(**DIMENSIONS | {"cup": {"depth": "11 mm"}}),
            r"^cup\.diameter: missing; needed is a length.*for example 16.2 mm$",
        ),
        (
            lambda: bs.Bore.from_dimensions(**DIMENSIONS | {"length": "12 mm"}),
            r"^throat\.length: found 5 mm.*allowed is less than 1.2 mm.*for example",
        ),
        (
            lambda: bs.Bore.from_stations("bore.csv", join="round"),
            r"^join: found 'round'; allowed is straight or smooth, for example smooth$",
        ),
    ],
)
def test_a_mistake_is_named_with_what_is_allowed_and_an_example(asked, message):
    with pytest.raises(ValueError, match=message):
        asked()


@pytest.mark.parametrize(
    ("function", "given", "message"),
    [
        (bs.acoustics, {"termination": "opne"}, r"^termination: found 'opne'; allowed.*open"),
        (bs.acoustics, {"from_": 0}, r"^from_: found '0.0 Hz'; allowed is a frequency from 1 Hz"),
        (bs.acoustics, {"resolution": "finer"}, r"^resolution: found 'finer'.*example medium$"),
        (bs.acoustics, {"termination": {"air column": "no.csv"}}, r"air column.*no\.csv"),
        (bs.flow, {"rates": "0.1, 0.05 L/s"}, r"^rates\[1\]: found '0.05 L/s' after"),
        (bs.flow, {"rates": [1e-4, "much"]}, r"^rates\[1\]: found 'much'"),
        (bs.flow, {"inlet": "plug"}, r"^inlet: found 'plug'; allowed is uniform or developed"),
        (
            bs.flow,
            {"model": "both"},
            r"^model: found 'both'; allowed is estimate or laminar or turbulent, .* estimate$",
        ),
        (bs.flow, {"tolerance": "1"}, r"^tolerance: found '1'"),
        (
            bs.flow,
            {"transition": {"from": "throat"}},
            r"^transition\.from: found 'throat'; allowed is rule or rim plane, for example rule$",
        ),
        (
            bs.flow,
            {"transition": {"distance_factor": 20}},
            r"^transition\.distance_factor: found 20; allowed is a number from 0\.1 to 10",
        ),
    ],
)
def test_a_wrong_argument_is_refused_before_anything_is_meshed(
    bore, air, monkeypatch, function, given, message
):
    monkeypatch.setattr(generate, "run_gmsh", None)
    with pytest.raises(ValueError, match=message):
        function(bore, air, **given)


def test_the_meshes_are_those_of_the_workflow(bore, sound, tmp_path):
    paths = [tmp_path / f"{name}.msh" for name in ACOUSTICS.names]
    write_meshes(bore, paths, ACOUSTICS.at("coarse"))
    # Quadratic elements: one unknown a node.
    nodes = [read_mesh(path).doflocs.shape[1] for path in paths]
    assert [model.unknowns for model in sound.two_port.models] == nodes


def test_resonances_are_typed_with_a_table_and_a_text(sound):
    (peak,) = peaks = sound.resonances()
    assert isinstance(peak, Resonance)
    assert peak.frequency.levels[-1] == peak.frequency.value
    table = sound.to_frame()
    assert table["frequency_Hz"].tolist() == [peak.frequency.value]
    assert table["frequency_Hz_uncertainty"].tolist() == [peak.frequency.uncertainty]
    assert str(peaks) == f"{peak.frequency}, Q {peak.Q}, {peak.impedance_peak}"
    assert str(peaks) in str(sound)
    assert "anechoic pipe" in str(sound)


def test_another_termination_solves_nothing_again(sound, monkeypatch):
    monkeypatch.setattr(two_port, "reduce_operator", None)
    closed = sound.with_termination("closed")
    assert closed.two_port is sound.two_port
    assert len(closed.resonances()) > len(sound.resonances())
    assert closed.result.termination == "closed"


@pytest.mark.parametrize("found", ["opne", {"horn": "column.csv"}, 3])
def test_an_unknown_termination_is_named_with_what_is_allowed_and_an_example(sound, found):
    said = (
        rf"^termination: found {re.escape(repr(found))}; allowed is closed, open, .*example open$"
    )
    with pytest.raises(ValueError, match=said):
        sound.with_termination(found)
    with pytest.raises(ValueError, match=r"^termination: found 'air column' without .*example {"):
        sound.with_termination("air column")


def test_the_impedance_has_its_uncertainty_and_is_largest_at_the_peak(sound):
    (peak,) = sound.resonances()
    table = sound.impedance([0.9 * peak.frequency.value, peak.frequency.value])
    parts = table[["impedance_real_Pa_s_per_m3", "impedance_imag_Pa_s_per_m3"]].to_numpy()
    sizes = np.hypot(*parts.T)
    assert sizes[0] < sizes[1] == pytest.approx(peak.impedance_peak.value, rel=1e-6)
    assert (table.filter(like="uncertainty").to_numpy() > 0).all()
    with pytest.raises(ValueError, match=r"^frequencies: found 6000 Hz; allowed is 50 Hz to 5000"):
        sound.impedance([100, 6000])


def test_a_flow_has_a_quantity_for_each_rate_a_table_and_a_text(flow):
    drop = flow.pressure_drop
    assert isinstance(drop, Quantities)
    assert drop == tuple(rate.pressure_drop for rate in flow.rates)
    table = flow.to_frame()
    assert table["flow_rate_L_per_s"].tolist() == pytest.approx([0.05, 0.15])
    assert table["pressure_drop_Pa"].tolist() == drop.value.tolist()
    assert table["pressure_drop_Pa_uncertainty"].tolist() == drop.uncertainty.tolist()
    assert f"0.15 L/s: {drop[1]} (throat Reynolds number 3349, transitional)" in str(flow)


def test_one_rate_gives_one_quantity_that_is_a_number(bore, air, flow):
    alone = bs.flow(bore, air, rates=5e-5, model="laminar", resolution="coarse").pressure_drop
    assert len(alone) == 1
    assert float(alone) == pytest.approx(flow.pressure_drop.value[0], rel=1e-6)


def test_the_best_estimate_says_where_the_flow_turns_turbulent(bore, air):
    rates = {"rates": "0.05, 0.15 L/s", "resolution": "coarse", "tolerance": "20 %"}
    by_rule = bs.flow(bore, air, **rates)
    assert by_rule.model == "estimate"
    assert "best estimate" in str(by_rule)
    assert "best estimate" in words(by_rule.plot())
    slow, fast = by_rule.rates
    throat_end = 15.8
    assert slow.transition_position_mm is None
    assert throat_end < fast.transition_position_mm < 88
    farther = bs.flow(bore, air, transition={"distance_factor": 1.5}, **rates).rates[1]
    behind = fast.transition_position_mm - throat_end
    # This entry is not quite round: less than 2 % of the place is that behind an edge.
    near = pytest.approx(1.5 * behind, rel=0.02)
    assert farther.transition_position_mm - throat_end == near
    turbulent = bs.flow(bore, air, transition={"from": "rim plane"}, **rates)
    assert turbulent.rates[1].transition_position_mm == 0
    # Too slow for the other choice, so that the rule holds.
    assert turbulent.rates[0].transition_position_mm is None
    near = pytest.approx(slow.pressure_drop.value, rel=0.005)  # of other first cells
    assert turbulent.rates[0].pressure_drop.value == near


def test_quantities_are_an_array_where_some_are_missing():
    some = Quantities([Quantity(2.0, 0.1, "Pa"), None])
    np.testing.assert_array_equal(np.sqrt(some), np.sqrt([2.0, np.nan]))
    np.testing.assert_array_equal(some.uncertainty, [0.1, np.nan])
    assert str(some) == "2.00 ± 0.10 Pa, no solution"
    with pytest.raises(ValueError, match="too many"):
        float(some)


def words(axes):
    """Every text of a plot."""
    legend = axes.get_legend()
    texts = [*axes.texts, *(legend.get_texts() if legend else [])]
    return [axes.get_xlabel(), axes.get_ylabel(), *(text.get_text() for text in texts)]


def test_a_bore_is_drawn_to_scale_with_its_parts_named(bore):
    axes = bore.plot()
    assert axes.get_aspect() == 1
    assert words(axes)[:2] == ["distance from the rim plane, mm", "radius, mm"]
    assert {"cup", "backbore"} <= {*words(axes)}
    outlines = [line.get_xydata() for line in axes.lines]
    assert max(line[:, 1].max() for line in outlines) == pytest.approx(8.1)
    assert bore.plot(axes, label="again") is axes


def test_plots_write_the_unit_and_the_uncertainty(sound, flow):
    axes = flow.plot()
    assert {"flow rate, L/s", "pressure drop, Pa", str(flow.pressure_drop[0])} <= {*words(axes)}
    assert "laminar model, outside its regime" in words(axes)
    axes = sound.plot(label="anechoic")
    (peak,) = sound.resonances()
    assert {"frequency, Hz", "input impedance, MPa·s/m³", str(peak.frequency)} <= {*words(axes)}
