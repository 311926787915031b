"""Study, stations and claims files are data: whatever they hold, a study or one short message."""

import re
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from borestudy.stages.plan import results_folder
from borestudy.study import StudyError, load_study, read_claims, study_from_mapping
from borestudy.study.texts import LONGEST_CASE, LONGEST_LINE, MOST_LINES, shown

STATIONS = "position_mm,diameter_mm\n0,16.2\n10.8,3.66\n15.8,3.66\n88,9.0\n"
EXAMPLE = """\
name: entry-rounding
question: Does rounding the throat entry lower the flow resistance?
air: {temperature: 25 degC, relative_humidity: 50 %}
bore:
  length: 88 mm
  cup: {diameter: 16.2 mm, depth: 10.8 mm, shape: 0.6}
  throat: {diameter: drill 27, length: 5 mm, entry: square}
  backbore: {end_diameter: 9.0 mm, taper: straight}
vary:
  throat.entry: [square, rounded 0.25 mm, rounded 0.5 mm]
resonance: {from: 50 Hz, to: 5000 Hz, behind: anechoic pipe}
flow: {rates: "0.05, 0.1, 0.2, 0.3 L/s"}
"""

tried = settings(max_examples=60, deadline=None, derandomize=True)
#: What a message may not have in it: characters that steer a terminal.
STEERING = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")


def refused(make, *arguments):
    """The message of a refusal, which must be short and steer no terminal; None where accepted."""
    try:
        make(*arguments)
    except StudyError as problem:
        message = str(problem)
        assert "allowed" in message.lower() or "needed" in message or "not YAML" in message
        assert len(message.splitlines()) <= MOST_LINES + 2
        assert len(message) <= (MOST_LINES + 2) * (LONGEST_LINE + 300)
        assert not STEERING.search(message)
        return message
    return None


@pytest.mark.parametrize(
    ("name", "fault"),
    [
        ("a" * 300 + ".csv", "255 bytes"),
        ("ü" * 200 + ".csv", "255 bytes"),
        ("a/" * 3000 + "b.csv", "1000 bytes"),
        ("a\x00.csv", "control character"),
        ("a\x1b[2J.csv", "control character"),
        ("a\nb.csv", "control character"),
        ("\u202evsc.csv", "control character"),
        ("\udcff.csv", "control character"),
        ("{case}.csv", "brace"),
        ("{0.__class__}.csv", "brace"),
        ("=HYPERLINK(1).csv", "formula"),
        ("@a.csv", "formula"),
    ],
)
@pytest.mark.parametrize("key", ["bore", "air column", "claims", "folder"])
def test_names_of_files_that_others_would_interpret_are_refused(make, key, name, fault):
    changes = {
        "bore": {"bore": {"stations": name}, "vary": {}},
        "air column": {"resonance/behind": {"air column": name}},
        "claims": {"claims": name},
        "folder": {"folder": name},
    }
    message = refused(make, changes[key])
    assert message is not None
    assert fault in message
    assert key in message.replace("bore.stations", "bore")


@pytest.mark.parametrize(
    "name",
    ["..", ".", "{case}", "a{0}", "x$(touch y)", "a;b", "a'b", 'a"b', "a`b", "a|b", "a&b", "a<b",
     "a\nb", "a\x1bb", "\udcff", "-rf", ".hidden", "trailing ", "trailing.", "CON", "nul", "com1",
     "~", "a*", "a?", "a%b", "a#b", "a\\b", "n" * 151, "é" * 80],
)  # fmt: skip
def test_no_folder_of_results_is_named_after_such_a_file(tmp_path, name):
    with pytest.raises(StudyError, match="for example entry-rounding") as caught:
        results_folder(Path("configs") / f"{name}.yaml", base=tmp_path)
    assert not STEERING.search(str(caught.value))


@pytest.mark.parametrize(
    "name", ["entry-rounding", "my study (2)", "größe", "測定", "a.b_c,d+e=f@g"]
)
def test_the_folder_of_results_is_within_results(tmp_path, name):
    folder = results_folder(Path("configs") / f"{name}.yaml", base=tmp_path)
    assert folder == Path("results") / name


def test_a_study_in_a_folder_with_a_brace_is_refused(tmp_path):
    for asked in (None, "."):
        with pytest.raises(StudyError, match="with a brace"):
            results_folder(Path("{case}/study.yaml"), asked, base=tmp_path)


def test_long_names_of_cases_are_cut_and_stay_different(make):
    tapers = [
        [{"position": f"{i} mm", "diameter": "5 mm"} for i in range(1, last)] for last in (59, 60)
    ]
    study = make({"vary": {"backbore.taper": [*tapers, "straight"]}})
    names = [case.name for case in study.cases()]
    assert [len(name) for name in names[:2]] == [LONGEST_CASE, LONGEST_CASE]
    assert len(set(names)) == 3
    # the same on every machine, and however many other cases there are
    again = make({"vary": {"backbore.taper": [tapers[1], "straight"]}})
    assert again.cases()[0].name == names[1]


@pytest.mark.parametrize(
    "changes",
    [
        {"vary": {f"k{i}": [1] for i in range(2000)}},
        {"tolerances": {f"k{i}": 1 for i in range(2000)}},
        {"k" * 100_000: 1},
        {"vary": {"k" * 100_000: [1]}},
        {"vary": {"length": [f"{80 + i / 10000} mm" for i in range(10_001)]}},
        {"vary": {"length": ["88." + "0" * 1000 + "1 mm", "88.0 mm", "88 mm"]}},
        {"flow/rates": [f"{0.05 + i / 1000} L/s" for i in range(101)]},
        {"bore/backbore/taper": [{"position": f"{i} um", "diameter": "5 mm"} for i in range(1002)]},
        {"question": "a\x1b[2J"},
        {"question": "a" * 1001},
        {"vary": {"\x1b]0;x\x07": [1]}},
        {"wish": {"change": {f"r{i}": "1 %" for i in range(500)}, "free": {"length": {}}}},
    ],
    ids=lambda changes: next(iter(changes))[:20],
)  # fmt: skip
def test_what_is_too_much_is_refused_in_few_words(make, changes):
    assert refused(make, changes)


def test_values_nested_without_end_are_refused():
    endless = []
    endless.append(endless)
    assert refused(study_from_mapping, {"bore": endless})


BOMB = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{new}: &{new} [{', '.join([f'*{old}'] * 9)}]\n"
    for old, new in zip("abcdefgh", "bcdefghi", strict=True)
)


@pytest.mark.parametrize(
    "text",
    [
        BOMB,
        "a: &a [*a]",
        "[" * 5000,
        "{a: " * 5000,
        "!!python/object/apply:os.system ['touch pwned']",
        "bore: !!python/name:os.system",
        "a: !!binary x",
        "? [a, b]\n: c",
        "bore: {<<: [1, 2]}",
        "a: 2026-99-99",
        "a: \x00",
        "a: 0x" + "f" * 5000,
        "a: 1" + ":59" * 5000,
        "--- a\n--- b",
        "%YAML 9.9\n---\na: b",
        "a: 'x",
        "\ufeffa: b",
    ],
    ids=lambda text: text[:16],
)
@pytest.mark.parametrize("kind", ["study", "claims"])
def test_no_yaml_runs_code_or_grows(tmp_path, monkeypatch, kind, text):
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "hostile.yaml"
    path.write_text(text, encoding="utf-8")
    if kind == "study":
        assert refused(load_study, path)
    else:
        study = study_from_mapping(yaml.safe_load(EXAMPLE))
        assert refused(read_claims, study, path)
    assert not (tmp_path / "pwned").exists()


@pytest.mark.parametrize(
    "line",
    ["resonance," + "9" * 200_000, "=1+1,2", "resonance,900 Hz,=1+1", "resonance,900 Hz,@x",
     "resonance,900 Hz,a\x1b[2J", "resonance,1e999 Hz,x", "resonance,nan,x", '"' * 30_000 + ",1,1"],
    ids=lambda line: line[:24],
)  # fmt: skip
def test_a_hostile_claim_is_refused(tmp_path, line):
    path = tmp_path / "claims.csv"
    path.write_text(f"quantity,value,where\n{line}\n", encoding="utf-8")
    study = study_from_mapping(yaml.safe_load(EXAMPLE) | {"vary": {}})
    assert refused(read_claims, study, path)


def test_a_column_that_steers_a_terminal_is_shown_and_not_obeyed(tmp_path):
    path = tmp_path / "claims.csv"
    path.write_text("quantity,value,\x1b[2J" + "x" * 10_000 + "\n1,2,3\n", encoding="utf-8")
    study = study_from_mapping(yaml.safe_load(EXAMPLE))
    message = refused(read_claims, study, path)
    assert message is not None
    assert r"\x1b[2j" in message


@given(st.text(max_size=500).map(lambda text: text * 8))
@tried
def test_messages_are_bounded_and_printable(text):
    found = shown(text)
    assert not STEERING.search(found.replace("\t", " "))
    assert len(found.split("\n")) <= MOST_LINES + 1
    if text.isprintable() and len(text) <= LONGEST_LINE:
        assert found == text


#: Values that no field expects, and those of a study put where they do not belong.
VALUES = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(),
        st.floats(),
        st.text(max_size=30),
        st.sampled_from(["88 mm", "drill 27", "rounded 1 mm", "0.05, 0.1 L/s", "1/0 mm", "../x.csv",
                         "stations.csv", "as measured", "50 %", "1e99 mm", "{x}", "=1", "smooth"]),
    ),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4)
    ),
    max_leaves=8,
)  # fmt: skip


def places(value, above=()):
    """Every place in nested mappings and lists."""
    yield above
    inside = value.items() if isinstance(value, dict) else ()
    for key, entry in inside:
        yield from places(entry, (*above, key))


WHOLE = yaml.safe_load(EXAMPLE) | {
    "tolerances": {"throat.diameter": "0.0005 in"},
    "wish": {"change": {"resonance": "+15 cents"}, "keep": {"cup volume": "within 1 %"},
             "free": {"throat.diameter": {"from": "drill 28", "to": "drill 22"}}},
    "lips": {"width": "8 mm", "quality_factor": 7, "sources": {"opening": "measured"}, "set": 50,
             "register": 4, "soft": 1.2, "loud": 2.5},
    "mesh": {"resolution": "coarse"}, "combine": "grid", "tolerance": "0.001 in", "folder": ".",
}  # fmt: skip
PLACES = sorted(place for place in places(WHOLE) if place)


@given(st.lists(st.tuples(st.sampled_from(PLACES), VALUES), min_size=1, max_size=3))
@settings(max_examples=120, deadline=None, derandomize=True)
def test_a_study_with_anything_anywhere_is_a_study_or_refused(changes):
    contents = yaml.safe_load(yaml.safe_dump(WHOLE))
    for place, value in changes:
        section = contents
        for step in place[:-1]:
            section = section.get(step) if isinstance(section, dict) else None
        if isinstance(section, dict):
            section[place[-1]] = value
    with TemporaryDirectory() as folder:
        (Path(folder) / "stations.csv").write_text(STATIONS)
        if refused(study_from_mapping, contents, folder, "tried") is None:
            for case in study_from_mapping(contents, folder, "tried").cases():
                assert re.fullmatch(
                    rf"[A-Za-z0-9][A-Za-z0-9._-]{{0,{LONGEST_CASE - 1}}}", case.name
                )


LIPS = {
    "mass_per_area": ["2 kg/m²", "0.2 g/cm2", "2 kg", "-2 kg/m2", "1e9 kg/m²", 2],
    "quality_factor": [7, "7", 0, -1, float("nan"), float("inf"), True, 1e300],
    "width": ["8 mm", "drill 1", "0 mm", "1/3 in", "8e9 mm"],
    "opening": ["0.5 mm", "20 thou", "1e-9 mm", "0.5"],
    "sources": [{}, {"width": "measured"}, {"width": "=1"}, {"opening": "\x1b[2J"}, {"x": "y"}],
    "set": [50, 10, 9, 1e6, "50", True, 20.5],
    "register": [4, 12, 13, 0, "4", None],
    "soft": [1.2, 1.0, 4, "x"],
    "loud": [2.5, 1.1, 11, "2.5"],
}


#: A key of the lips with a value that may be one, or rarely with any.
CHANGES_OF_LIPS = st.one_of(
    *(
        st.tuples(st.just(key), st.integers(0, 4).flatmap(lambda n, of=known: VALUES if n == 0
                                                          else st.sampled_from(of)))
        for key, known in LIPS.items()
    )
)  # fmt: skip


@given(st.lists(CHANGES_OF_LIPS, max_size=3))
@settings(max_examples=300, deadline=None, derandomize=True)
def test_any_lips_are_lips_within_the_limits_or_refused(changes):
    contents = yaml.safe_load(EXAMPLE) | {"lips": dict(changes), "vary": {}}
    if refused(study_from_mapping, contents) is not None:
        return
    lips = study_from_mapping(contents).lips
    own = lips.own()
    assert 0.1 <= own.mass_per_area <= 100
    assert 0.5 <= own.quality_factor <= 50
    assert 1e-3 <= own.width <= 40e-3
    assert 1e-5 <= own.opening_at_rest <= 5e-3
    assert 1 <= lips.register <= 12
    assert 10 <= lips.set_ <= 200
    assert 1.01 <= lips.soft < lips.loud <= 10
    for source in lips.sources.model_dump().values():
        assert 0 < len(source) <= 300
        assert not STEERING.search(source)
        assert not source.startswith(("=", "+", "-", "@"))


LINES = st.lists(
    st.one_of(
        st.text(max_size=40),
        st.sampled_from(["resonance", "value", "900 Hz", "quantity,value", "2 %", ";", '"', "\t",
                         "resonance,812 Hz", "quantity;value;where", "cup volume,1 cm3", "- {",
                         "a: &a"]),
    ),
    max_size=8,
)  # fmt: skip


@given(LINES, st.sampled_from([",", "\n", ";", "\t", ": "]), st.sampled_from(["csv", "yaml"]))
@tried
def test_any_text_is_a_file_of_claims_or_refused(parts, between, kind):
    study = study_from_mapping(yaml.safe_load(EXAMPLE) | {"vary": {}})
    with TemporaryDirectory() as folder:
        path = Path(folder) / f"claims.{kind}"
        path.write_bytes(between.join(parts).encode("utf-8", "surrogatepass"))
        refused(read_claims, study, path)


@given(st.one_of(st.text(max_size=300), st.binary(max_size=300)), st.integers(0, len(EXAMPLE)))
@tried
def test_any_text_put_into_a_study_file_is_a_study_or_refused(text, place):
    data = text.encode("utf-8", "surrogatepass") if isinstance(text, str) else text
    with TemporaryDirectory() as folder:
        path = Path(folder) / "study.yaml"
        path.write_bytes(EXAMPLE[:place].encode() + data + EXAMPLE[place:].encode())
        refused(load_study, path)
