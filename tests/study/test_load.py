"""From a study file to a validated study."""

import os
from pathlib import Path

import numpy as np
import pytest
import yaml

from borestudy.flow.models.of_bore import Transition
from borestudy.study import StudyError, load_study, study_from_mapping


def write(directory, text, name="study.yaml"):
    path = directory / name
    path.write_text(text, encoding="utf-8")
    return path


def test_the_example_is_read_with_its_units(tmp_path, example_text):
    study = load_study(write(tmp_path, example_text))
    assert study.name == "entry-rounding"
    np.testing.assert_allclose(study.flow_rates(), [5e-5, 1e-4, 2e-4, 3e-4], rtol=1e-15)
    assert study.frequency_range() == (50.0, 5000.0)
    air = study.cases()[0].build_air()
    # At 25 degC and 50 % (computed with CoolProp's humid air, independently of this project).
    assert air.sound_speed == pytest.approx(347.100, rel=2e-5)
    assert air.density == pytest.approx(1.17736, rel=2e-5)


def test_a_study_without_a_name_is_named_after_its_file(tmp_path, example_text):
    text = example_text.replace("name: entry-rounding\n", "")
    assert load_study(write(tmp_path, text, "deep-cup.yaml")).name == "deep-cup"


@pytest.mark.parametrize(
    "rates",
    ["0.05, 0.1 L/s", "[0.05, 0.1] L/s", ["0.05 L/s", "0.1 L/s"], ["50 mL/s", "100 cm³/s"],
     ["3 L/min", "6 L/min"]],
)  # fmt: skip
def test_flow_rates_may_be_written_in_several_ways(make, rates):
    study = make({"flow/rates": rates})
    np.testing.assert_allclose(study.flow_rates(), [5e-5, 1e-4], rtol=1e-15)


def test_cases_are_compared_at_the_lowest_rate_unless_the_study_says_otherwise(make):
    assert make({}).reference_rate() == 5e-5
    assert make({"flow/reference_rate": "200 mL/s"}).reference_rate() == 2e-4


@pytest.mark.parametrize(
    ("flow", "rate"),
    [
        ({}, 2e-4),  # the third of four
        ({"flow/rates": "0.1, 0.2, 0.4 L/s"}, 2e-4),
        ({"flow/rates": "0.1 L/s"}, 1e-4),
        ({"flow/reference_rate": "0.3 L/s"}, 3e-4),
        ({"flow/reference_rate": "0.3 L/s", "flow/playing_rate": "0.1 L/s"}, 1e-4),
        ({"flow/playing_rate": "50 mL/s"}, 5e-5),
    ],
)
def test_the_answer_is_at_the_stated_rate_or_else_at_the_middle(make, flow, rate):
    study = make(flow)
    assert study.playing_rate() == pytest.approx(rate, rel=1e-12)
    again = study_from_mapping(study.resolved(), study.directory)
    assert again.playing_rate() == study.playing_rate()


def test_a_dimension_may_be_left_out_where_it_is_varied(make):
    study = make({"bore/throat/diameter": None, "vary": {"throat.diameter": "drill 30, drill 29"}})
    assert [case.bore.throat.diameter for case in study.cases()] == ["drill 30", "drill 29"]


def test_a_resonance_can_be_held_against_a_fundamental(make):
    study = make({"resonance/fundamental": "116.5 Hz"})
    assert study.resolved()["resonance"]["fundamental"] == "116.5 Hz"


def test_the_resolved_study_is_read_as_the_same_study(make, tmp_path):
    study = make({"vary": {"bore.cup.shape": [0, 1], "throat.entry": ["square", "rounded 1 mm"]}})
    resolved = study.resolved()
    again = study_from_mapping(resolved, tmp_path)
    assert again.resolved() == resolved
    assert again.cases() == study.cases()


def test_tolerances_of_single_dimensions_are_read_and_kept(make, tmp_path):
    stated = {"throat.diameter": "0.0005 in", "bore.cup.shape": 0.02, "length": 0}
    assert make({}).stated_tolerances() == {}
    study = make({"tolerances": stated})
    values = {"throat.diameter": 12.7e-6, "cup.shape": 0.02, "length": 0.0}
    assert study.stated_tolerances() == values
    study.write_resolved(tmp_path / "resolved.yaml")
    again = load_study(tmp_path / "resolved.yaml")
    assert again.tolerances == stated
    assert again.stated_tolerances() == values


def test_the_resolved_study_writes_every_default_out(make):
    resolved = make({}).resolved()
    assert resolved["mesh"] == {"resolution": "medium"}
    assert resolved["air"]["pressure"] == "101.325 kPa"
    assert resolved["flow"]["reference_rate"] == "0.05 L/s"
    assert resolved["combine"] == "grid"


def test_a_resolved_study_finds_its_files_from_another_folder(make, tmp_path):
    column = tmp_path / "column.csv"
    column.write_text("position_mm,diameter_mm\n0,9\n1300,11\n")
    study = make({
        "bore": {"stations": "stations.csv"},
        "vary": {"join": ["straight", "smooth"]},
        "resonance/behind": {"air column": "column.csv"},
    })  # fmt: skip
    other = tmp_path / "results" / "deep"
    other.mkdir(parents=True)
    study.write_resolved(other / "resolved.yaml")
    again = load_study(other / "resolved.yaml")
    assert [path.resolve() for path in again.input_files()] == [
        (tmp_path / "stations.csv").resolve(),
        column.resolve(),
    ]
    assert [case.name for case in again.cases()] == ["join-straight", "join-smooth"]


@pytest.fixture
def two_bores(tmp_path):
    """A study of two measured bores, one of them in a folder of its own."""
    (tmp_path / "shop" / "old").mkdir(parents=True)
    for name in ("new.csv", "old/new.csv"):
        (tmp_path / "shop" / name).write_text("position_mm,diameter_mm\n0,16\n10,4\n15,4\n80,9\n")
    return write(tmp_path / "shop", "vary: {stations: [new.csv, old/new.csv]}\n")


STUDIES = sorted((Path(__file__).parents[2] / "configs").glob("*.yaml"))


@pytest.mark.parametrize("path", [*STUDIES, "two bores"], ids=lambda path: Path(path).stem)
@pytest.mark.parametrize("linked", [False, True], ids=["folder", "link"])
def test_a_study_and_the_resolved_one_have_the_same_cases(
    request, tmp_path, monkeypatch, path, linked
):
    path = request.getfixturevalue("two_bores") if path == "two bores" else path
    monkeypatch.chdir(tmp_path)
    # As the workflow does it: relative paths, and results that may be kept on another disk.
    study = load_study(os.path.relpath(path))
    folder = Path("results") / path.stem
    if linked:
        (tmp_path / "disk" / "deep" / "results").mkdir(parents=True)
        Path("results").symlink_to(tmp_path / "disk" / "deep" / "results")
    folder.mkdir(parents=True)
    study.write_resolved(folder / "resolved.yaml")
    # The rule that writes it reads what the Snakefile resolved, and resolves it once more.
    study_from_mapping(study.resolved(folder), folder).write_resolved(folder / "again.yaml")
    for name in ("resolved.yaml", "again.yaml"):
        read = load_study(folder / name)
        for one, other in zip(study.cases(), read.cases(), strict=True):
            assert other.name == one.name
            assert other.varied == one.varied
            assert other.varied_columns() == one.varied_columns()
            assert other.description() == one.description()
        for one, other in zip(study.input_files(), read.input_files(), strict=True):
            assert other.samefile(one)


def test_measured_bores_need_no_section_of_their_own_where_they_are_varied(two_bores):
    assert [case.name for case in load_study(two_bores).cases()] == [
        "stations-new", "stations-old-new"
    ]  # fmt: skip


def test_the_folder_of_the_files_is_relative_to_the_study(two_bores):
    two_bores.write_text("folder: old\nbore: {stations: new.csv}\n")
    (file,) = load_study(two_bores).input_files()
    assert file.samefile(two_bores.parent / "old" / "new.csv")


def test_the_mapping_given_is_not_changed(mapping, tmp_path):
    before = yaml.safe_dump(mapping)
    study_from_mapping(mapping, tmp_path)
    assert yaml.safe_dump(mapping) == before


@pytest.mark.parametrize(
    ("line", "number", "words"),
    [
        ("bore:\n  length: 88 mm\n  length: 90 mm\n", 3, ["'length' twice"]),
        ("name: a\nbore: {length: 88 mm\nvary: 3\n", 3, ["not YAML"]),
        ("name: a\nbore:\n\tlength: 88 mm\n", 3, ["spaces", "no tabs"]),
        ("name: a\nflow:\n  rates: [0.05, 0.1] L/s\n", 3, ["in quotes", '"0.05, 0.1 L/s"']),
    ],
    ids=["repeated key", "open bracket", "tab", "unit behind a list"],
)
def test_what_is_not_yaml_is_told_with_its_line(tmp_path, line, number, words):
    with pytest.raises(StudyError) as caught:
        load_study(write(tmp_path, line))
    message = str(caught.value)
    assert f"study.yaml, line {number}:" in message
    for word in words:
        assert word in message


BOMB = "a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 10)}]\n" for i in range(1, 10)
)
CHAIN = "a0: &a0 [1]\n" + "".join(f"a{i}: &a{i} [*a{i - 1}]\n" for i in range(1, 2000))


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("bore: &bore\n  length: *bore\n", "line 2: found an alias to what it stands in itself"),
        ("a: &a [*a]\n", "line 1: found an alias to what it stands in itself"),
        (BOMB, "line 5: found 111111 values with all aliases written out; allowed are 100000"),
        (CHAIN, "line 20: found values nested 21 deep; allowed is 20 deep"),
        ("bore: " + 3000 * "[", "line 1: found values nested 21 deep; allowed is 20 deep"),
        ("".join(f"{'  ' * i}a:\n" for i in range(500)), "found values nested 21 deep"),
        ("question: " + "x" * 1_000_000, "found more than 1,000,000 characters; allowed are"),
        ("air: 2001-13-45\n", "line 1: not YAML: found '2001-13-45', which is no timestamp"),
        ("air: " + "9" * 5000, "line 1: not YAML: found '99999"),
        ("? [a]\n: b\n", "line 1: not YAML: found unhashable key"),
        ("air: !!timestamp foo\n", "line 1: not YAML: found 'foo', which is no timestamp"),
        ("air: !!bool foo\n", "line 1: not YAML: found 'foo', which is no bool"),
        ("air: !!float ''\n", "line 1: not YAML: found '', which is no float"),
        ("air: !!map foo\n", "line 1: not YAML: expected a mapping node"),
        ("air: {}\n<<: 3\n", "line 2: not YAML: expected a mapping or list of mappings"),
        ("air: {}\nquestion: a\0b\n", "line 2: not YAML: found the character #x0000"),
        ('question: "\\ud800"\n', "line 1: not YAML: found the character #xd800"),
        ('question: "\\a"\n', "line 1: not YAML: found the character #x0007"),
    ],
    ids=["alias to itself", "list of itself", "billion laughs", "chain of aliases", "brackets",
         "indents", "large file", "no date", "no number", "no key",
         "text for a date", "text for a truth", "nothing for a number", "text for a mapping",
         "number merged", "nought byte", "half a character", "bell"],
)  # fmt: skip
def test_yaml_beyond_all_bounds_is_refused_in_one_line(tmp_path, text, told):
    with pytest.raises(StudyError) as caught:
        load_study(write(tmp_path, text))
    message = str(caught.value)
    assert told in message
    assert "\n" not in message
    assert "allowed" in message
    assert "for example" in message
    assert len(message.removeprefix(str(tmp_path))) < 400


def test_aliases_within_bounds_are_read(tmp_path, example_text):
    text = example_text.replace("length: 88 mm", "length: &long 88 mm") + (
        "vary: {length: [*long, 90 mm]}\n"
    )
    text = text.replace("vary:\n  throat.entry", "combine: grid\n#", 1)
    assert [case.bore.length for case in load_study(write(tmp_path, text)).cases()] == [
        "88 mm", "90 mm"
    ]  # fmt: skip


def test_what_is_merged_into_a_mapping_gives_way_to_its_own_keys(tmp_path, example_text):
    text = example_text + "mesh: {<<: {resolution: fine}}\n"
    assert load_study(write(tmp_path, text)).mesh.resolution == "fine"
    text = example_text + "mesh: {<<: {resolution: fine}, resolution: coarse}\n"
    assert load_study(write(tmp_path, text)).mesh.resolution == "coarse"


def test_a_missing_study_file_is_named(tmp_path):
    with pytest.raises(StudyError, match=r"nowhere\.yaml: cannot be read \(No such file"):
        load_study(tmp_path / "nowhere.yaml")


def test_a_message_names_the_file(tmp_path, example_text):
    path = write(tmp_path, example_text.replace("88 mm", "88"))
    with pytest.raises(StudyError) as caught:
        load_study(path)
    assert str(caught.value).startswith(
        f"{path}, line 5: bore.length: found 88, a number without a unit"
    )


def test_all_mistakes_are_told_at_once_a_line_each(refusal):
    lines = refusal({"bore/length": "-1 mm", "mesh": {"resolution": "finest"}, "tempo": 3})
    assert [line.split(":")[0] for line in lines.splitlines()] == [
        "bore.length", "mesh.resolution", "tempo"
    ]  # fmt: skip


def test_a_study_that_does_not_say_asks_for_the_best_estimate_of_the_flow(make):
    assert make({}).flow.closure == "estimate"
    assert make({"flow/closure": "turbulent"}).flow.closure == "turbulent"


def test_the_place_of_transition_is_by_the_rule_unless_the_study_says_otherwise(make, refusal):
    stated = {"start": "rule", "distance_factor": 1.0, "behind_edge": 0.6}
    assert make({}).flow.transition.settings() == stated
    assert Transition(**stated) == Transition()  # the model's own defaults
    asked = make({"flow/transition": {"from": "rim plane", "distance_factor": 2}})
    assert asked.flow.transition.settings() == stated | {"start": "rim plane", "distance_factor": 2}
    said = refusal({"flow/transition": {"from": "cup", "behind_edge": 9}})
    assert "flow.transition.from: found 'cup'; allowed is rule or rim plane" in said
    assert "flow.transition.behind_edge: found 9; allowed is a number from 0.1 to 5" in said


def test_an_unknown_closure_is_answered_with_those_that_are_known(make):
    with pytest.raises(
        StudyError, match=r"flow\.closure: found 'k-epsilon'.*estimate.*laminar.*turbulent.*both"
    ):
        make({"flow/closure": "k-epsilon"})


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ("shape: 0.6", "shape: 6", "bore.cup.shape"),
        ("entry: square", "enrty: square", "bore.throat.enrty"),
        ("depth: 10.8 mm, ", "", "bore.cup.depth"),
        ("rounded 0.25 mm", "rounded 0.25 kg", "vary.throat.entry[1]"),
        ("question:", "qeustion:", "qeustion"),
    ],
)
def test_a_message_names_the_line_of_the_key(tmp_path, example_text, old, new, key):
    text = example_text.replace(old, new, 1)
    # the line that was changed, or where the section stands that lacks a key
    (line,) = [
        number
        for number, (was, now) in enumerate(
            zip(example_text.splitlines(), text.splitlines(), strict=True), start=1
        )
        if was != now
    ]
    path = write(tmp_path, text)
    with pytest.raises(StudyError) as caught:
        load_study(path)
    said = str(caught.value).removeprefix(str(path)).lstrip(":, \n")
    assert any(part.strip().startswith(f"line {line}: {key}: ") for part in said.splitlines())


def test_what_is_missing_everywhere_has_no_line(tmp_path):
    path = write(tmp_path, "question: Q?\n")
    with pytest.raises(StudyError) as caught:
        load_study(path)
    assert str(caught.value).startswith(f"{path}: bore: missing")
