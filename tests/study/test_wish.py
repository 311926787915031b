"""A wish: what its texts stand for, and what is said of each mistake."""

import copy
import re

import pytest
import yaml

from borestudy.drills import drill_diameter
from borestudy.study import StudyError, study_from_mapping

WISH = """\
change: {resonance: "+15 cents", flow resistance at 0.2 L/s: "-10 % within 1 %"}
reach: {pressure_drop at 300 mL/s: 200 Pa}
keep: {cup volume: within 2 %}
free:
  throat.diameter: {from: drill 28, to: drill 22, sizes: drill}
  cup.depth: {from: 9 mm, to: 12 mm, sizes: 0.5 mm}
  backbore.end_diameter:
"""


@pytest.fixture
def wished(mapping, tmp_path):
    """The study with a wish, some of whose entries are changed; None removes one."""

    def with_changes(*changes):
        contents = copy.deepcopy(mapping) | {"wish": yaml.safe_load(WISH)}
        for path, value in changes:
            *above, last = path
            section = contents
            for step in above:
                section = section[step]
            if value is None:
                section.pop(last, None)
            else:
                section[last] = value
        return contents

    return with_changes


@pytest.fixture
def read(wished, tmp_path):
    (tmp_path / "stations.csv").write_text("position_mm,diameter_mm\n0,16\n10,4\n15,4\n88,9\n")
    return lambda *changes: study_from_mapping(wished(*changes), tmp_path)


def test_a_wish_is_read_with_its_targets_and_how_near_they_must_be_met(read):
    wanted = {one.quantity.name: one for one in read().asked().wanted}
    assert list(wanted) == [
        "resonance", "flow resistance at 0.2 L/s", "pressure drop at 0.3 L/s", "cup volume",
    ]  # fmt: skip
    assert [(one.kind, one.target, one.within) for one in wanted.values()] == [
        ("change", 15.0, 1.0), ("change", -10.0, 1.0), ("reach", 200.0, 0.5), ("keep", 0.0, 2.0),
    ]  # fmt: skip
    rates = [one.quantity.rate for one in wanted.values()]
    assert rates == [None, 0.2e-3, pytest.approx(0.3e-3, rel=1e-12), None]


def test_limits_and_tool_sizes_are_those_of_the_standard_or_multiples_of_the_step(read):
    throat, depth, end = read().asked().free
    assert [word for word, _ in throat.sizes] == [f"drill {n}" for n in range(28, 21, -1)]
    assert [size for _, size in throat.sizes] == [drill_diameter(str(n)) for n in range(28, 21, -1)]
    assert (throat.low, throat.high) == (drill_diameter("28"), drill_diameter("22"))
    assert [size for _, size in depth.sizes] == pytest.approx(
        [9e-3, 9.5e-3, 10e-3, 10.5e-3, 11e-3, 11.5e-3, 12e-3]
    )
    assert (end.low, end.high, end.sizes) == (pytest.approx(8.1e-3), pytest.approx(9.9e-3), ())


def test_the_resolved_study_writes_the_limits_of_a_wish_out_and_is_read_again(read, tmp_path):
    study = read()
    resolved = study.resolved()
    written = {"from": "8.1 mm", "to": "9.9 mm", "sizes": "any"}
    assert resolved["wish"]["free"]["backbore.end_diameter"] == written
    assert resolved["wish"]["bore"] == "new"
    assert study_from_mapping(resolved, tmp_path).asked() == study.asked()


def test_a_study_without_a_wish_has_none(mapping):
    assert study_from_mapping(mapping).asked() is None


def test_the_first_case_is_the_bore_that_a_wish_starts_from(read):
    rounded = {"throat.entry": ["rounded 0.5 mm", "square"]}
    study = read((["vary"], rounded), (["wish", "free", "throat.entry.radius"], {}))
    entry = study.asked().free[-1]
    assert (entry.low, entry.high) == (pytest.approx(0.45e-3), pytest.approx(0.55e-3))


FREE, CHANGE = ["wish", "free"], ["wish", "change"]
#: Changes to the study; the key that must be named; what must be said of it.
MISTAKES = {
    "unknown quantity": (
        ([*CHANGE, "resonanse"], "+1 cents"), "wish.change.resonanse", ["did you mean resonance?"]),
    "a peak without an instrument": (
        ([*CHANGE, "peak 4"], "+1 cents"), "wish.change.peak 4", ["air column"]),
    "a rate that is not computed": (
        ([*CHANGE, "flow resistance at 0.4 L/s"], "-1 %"),
        "wish.change.flow resistance at 0.4 L/s", ["'0.4 L/s'", "0.05 L/s, 0.1 L/s"]),
    "a flow without a rate": (
        ([*CHANGE, "pressure drop"], "-1 %"), "wish.change.pressure drop", ["no rate", "'at'"]),
    "percent of a frequency": (
        ([*CHANGE, "resonance"], "+1 %"), "wish.change.resonance", ["'+1 %'", "in cents"]),
    "a change without a unit": (
        ([*CHANGE, "throat volume"], 15), "wish.change.throat volume", ["'15'", "in %"]),
    "a change of everything": (
        ([*CHANGE, "throat volume"], "-100 %"), "wish.change.throat volume", ["-90 to 900 %"]),
    "a mapping that is a list": ((CHANGE, ["resonance"]), "wish.change", ["['resonance']"]),
    "both changed and kept": (
        (["wish", "keep", "resonance"], "within 2 cents"), "wish.keep.resonance",
        ["again after wish.change.resonance", "once"]),
    "kept within nothing": (
        (["wish", "keep", "cup volume"], "within 0 %"), "wish.keep.cup volume", ["above zero"]),
    "an absolute value in another unit": (
        (["wish", "reach", "throat volume"], "3 Hz"), "wish.reach.throat volume", ["cm³"]),
    "a frequency outside the range": (
        (["wish", "reach"], {"resonance Q": "1.9", "resonance impedance": "4e7 Pa·s/m³",
                             "resonance": "9 kHz"}),
        "wish.reach.resonance", ["again after wish.change.resonance"]),
    "no dimension": ((FREE, {}), "wish.free", ["no dimension that may move"]),
    "dimensions left out": ((FREE, None), "wish.free", ["missing"]),
    "unknown dimension": (
        ([*FREE, "throat.diametre"], {}), "wish.free.throat.diametre",
        ["did you mean throat.diameter?", "Allowed keys are length, cup.diameter"]),
    "size of a square entry": (
        ([*FREE, "throat.entry.radius"], {}), "wish.free.throat.entry.radius",
        ["a square entry has no size"]),
    "limits the wrong way round": (
        ([*FREE, "cup.depth"], {"from": "12 mm", "to": "9 mm"}), "wish.free.cup.depth.to",
        ["'9 mm'", "from: 12 mm"]),
    "unknown limit": (
        ([*FREE, "cup.depth"], {"fro": "12 mm"}), "wish.free.cup.depth.fro",
        ["did you mean from?", "Allowed keys are from, to, sizes"]),
    "limit without a unit": (
        ([*FREE, "cup.depth"], {"from": 9}), "wish.free.cup.depth.from", ["without a unit"]),
    "limits beyond the geometry": (
        ([*FREE, "cup.depth"], {"from": "1 mm", "to": "87 mm"}), "wish.free",
        ["cup.depth 87 mm", "throat.length", "every combination"]),
    "unknown tool": (
        ([*FREE, "cup.depth"], {"sizes": "reamer"}), "wish.free.cup.depth.sizes",
        ["'reamer'", "any, drill, or a step"]),
    "no drill between the limits": (
        ([*FREE, "throat.diameter"], {"from": "3.66 mm", "to": "3.68 mm", "sizes": "drill"}),
        "wish.free.throat.diameter.sizes", ["no such size from 3.66 mm to 3.68 mm"]),
    "bore that is neither": (
        (["wish", "bore"], "old"), "wish.bore", ["'old'", "new or existing"]),
    "unknown key": ((["wish", "wants"], {}), "wish.wants", ["change, reach, keep, free, bore"]),
    "wish that is a list": ((["wish"], ["resonance"]), "wish", ["['resonance']", "a mapping"]),
}  # fmt: skip


def told(read, *changes):
    with pytest.raises(StudyError) as caught:
        read(*changes)
    return str(caught.value)


@pytest.mark.parametrize(("change", "key", "words"), MISTAKES.values(), ids=MISTAKES.keys())
def test_a_mistake_is_told_by_key_with_an_example_that_is_accepted(read, change, key, words):
    message = told(read, change)
    assert message.startswith(f"{key}: ")
    assert all(word in message for word in words), message
    example = yaml.safe_load(message.rpartition("for example ")[2])
    path, _ = change
    place = [*path, key.rpartition(".")[2]] if re.search(r"\.(from|to|sizes|fro)$", key) else path
    if key == "wish.free":
        place = FREE
    elif isinstance(example, dict) and place != ["wish"] and not isinstance(change[1], list):
        # An example with the key that is right in place of the wrong one.
        right = [(place, None), *(([*place[:-1], name], one) for name, one in example.items())]
        assert read(change, *right)
        return
    if "again after" in message:
        place, example = key.split(".", 2), None
    assert read(change, (place, example)), message


def test_something_must_be_wished(read):
    message = told(read, (CHANGE, {}), (["wish", "reach"], {}))
    assert message.startswith("wish.change: found nothing that shall change")


def test_a_frequency_to_be_reached_lies_in_the_range(read):
    message = told(read, (CHANGE, {}), (["wish", "reach"], {"resonance": "9 kHz"}))
    assert "resonance.from (50 Hz) and resonance.to (5000 Hz), for example 500 Hz" in message


def test_a_measured_bore_can_have_no_wish_and_is_told_why(read):
    message = told(read, (["bore"], {"stations": "stations.csv"}), (["vary"], {}))
    assert message.startswith("wish: found a bore from measured stations")
    assert "no single station can be cut" in message


@pytest.mark.parametrize(
    ("dimension", "limits", "words"),
    [
        ("throat.diameter", {"from": "3 mm", "to": "3.5 mm"}, "at least that"),
        ("length", {"from": "89 mm", "to": "90 mm"}, "at most that"),
    ],
)
def test_a_bore_that_exists_gets_no_metal_by_its_limits(read, dimension, limits, words):
    message = told(read, (["wish", "bore"], "existing"), ([*FREE, dimension], limits))
    assert "no metal can be added" in message
    assert words in message
