"""Every field of a study refuses what it cannot be: one message with key and line, exit code 2.

The fields are those of the models, so that a new one is tried as well.
"""

import re

import pytest
import yaml

from borestudy.__main__ import main
from borestudy.study.errors import sections_in
from borestudy.study.measured_bore import MeasuredBore
from borestudy.study.study import Study

STATIONS = "position_mm,diameter_mm\n0,16.2\n10.8,3.66\n15.8,3.66\n88,9.0\n"
#: A study with every section of one of dimensions; of each mapping that people name freely, one.
FULL = {
    "name": "full",
    "question": "Is every field refused?",
    "air": {"temperature": "25 degC"},
    "bore": {
        "length": "88 mm",
        "cup": {"diameter": "16.2 mm", "depth": "10.8 mm"},
        "throat": {"diameter": "drill 27", "length": "5 mm"},
        "backbore": {
            "end_diameter": "9 mm",
            "taper": [{"position": "30 mm", "diameter": "5 mm"}],
        },
    },
    "resonance": {"from": "50 Hz", "to": "5000 Hz", "behind": {"air column": "column.csv"}},
    "flow": {"rates": "0.05, 0.1 L/s", "transition": {"from": "rule"}},
    "mesh": {"resolution": "coarse"},
    "lips": {"width": "8 mm", "sources": {"width": "measured"}},
    "wish": {
        "change": {"resonance": "+5 cents"},
        "free": {"cup.depth": {"from": "10 mm", "to": "11 mm"}},
    },
}
MEASURED = {"bore": {"stations": "stations.csv"}}
#: Texts that no field takes but one that is any text, and in a unit that no field has.
WORD, UNIT = "no such word", "3 kg"
#: Fields that are any sentence, or names of files, in which every text that is long enough may be.
TEXTS = {"question": ("x" * 1001, "  ")} | {
    f"lips.sources.{key}": ("x" * 301, "  ", "=1+1")
    for key in ("mass_per_area", "quality_factor", "width", "opening")
}


def fields(model, above=()):
    """Each field of a section and of those within, with the keys that lead to it."""
    for name, info in model.model_fields.items():
        key = info.alias or name
        inner = [one for one in sections_in(info.annotation)]
        yield (*above, key), info, bool(inner)
        if above == () and key == "bore":
            continue  # told apart below
        for section in inner:
            step = {"taper": (0,), "free": ("cup.depth",)}.get(key, ())
            yield from fields(section, (*above, key, *step))


def all_fields():
    """Paths of all fields: of a study of dimensions, and of the section of a measured bore."""
    found = {path: (FULL, info, inner) for path, info, inner in fields(Study)}
    bore = Study.model_fields["bore"]
    for section in sections_in(bore.annotation):
        base = MEASURED if section is MeasuredBore else FULL
        for path, info, inner in fields(section, ("bore",)):
            found[path if base is FULL else ("measured", *path)] = (base, info, inner)
    return found


FIELDS = all_fields()


def dotted(path):
    return "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path)[1:]


def changed(base, path, change):
    """A copy of a study in which `change` was done to the section that holds a field."""
    study = yaml.safe_load(yaml.safe_dump(base))
    section = study
    for step in path[:-1]:
        if isinstance(step, str) and isinstance(section, dict):
            section.setdefault(step, {})
        section = section[step]
    change(section, path[-1])
    return study


def refused(study, folder, capsys):
    """What `borestudy check` says of a study that must be refused, which writes nothing."""
    (folder / "stations.csv").write_text(STATIONS, encoding="utf-8")
    (folder / "column.csv").write_text("position_mm,diameter_mm\n0,9\n1300,120\n", encoding="utf-8")
    path = folder / "study.yaml"
    path.write_text(yaml.safe_dump(study, sort_keys=False), encoding="utf-8")
    before = {one: one.stat().st_mtime_ns for one in folder.iterdir()}
    assert main(["check", str(path)]) == 2
    shown = capsys.readouterr()
    assert not shown.out
    assert {one: one.stat().st_mtime_ns for one in folder.iterdir()} == before
    assert "Traceback" not in shown.err
    return shown.err.replace(str(path), "study.yaml")


def assert_located(message, key, *words):
    """A message has a line for the key, what was found or is missing, and an example."""
    lines = [line.strip().removeprefix("study.yaml, ") for line in message.splitlines()]
    about = [
        line for line in lines if re.match(rf"(line \d+: )?(case \S+: )?{re.escape(key)}\b", line)
    ]
    assert about, message
    assert any(re.match(r"line \d+: ", line) for line in about), message
    assert any("for example" in line for line in about), message
    for word in words:
        assert any(word in line for line in about), message


def named(path):
    return dotted(path[1:] if path[0] == "measured" else path)


def within(path):
    return path[1:] if path[0] == "measured" else path


IDS = {path: "-".join(map(str, path)) for path in FIELDS}


def test_the_study_itself_is_accepted(tmp_path, capsys):
    (tmp_path / "column.csv").write_text("position_mm,diameter_mm\n0,9\n1300,120\n")
    (tmp_path / "stations.csv").write_text(STATIONS, encoding="utf-8")
    for name, study in (("full", FULL), ("measured", MEASURED)):
        path = tmp_path / f"{name}.yaml"
        path.write_text(yaml.safe_dump(study, sort_keys=False), encoding="utf-8")
        assert main(["check", str(path)]) == 0, capsys.readouterr().err


def test_fields_are_found_at_every_depth():
    assert len(FIELDS) > 50
    for path in (
        ("bore", "cup", "depth"),
        ("bore", "backbore", "taper", 0, "position"),
        ("flow", "transition", "from"),
        ("lips", "sources", "width"),
        ("resonance", "behind", "air column"),
        ("wish", "free", "cup.depth", "sizes"),
        ("measured", "bore", "stations"),
    ):
        assert path in FIELDS


@pytest.mark.parametrize("path", FIELDS, ids=IDS.get)
def test_a_wrong_type_is_refused(path, tmp_path, capsys):
    base, _, inner = FIELDS[path]
    # a section is given a number, and everything else a mapping of keys that none has
    wrong = 3.25 if inner else {"zzz": {"zzz": 1}}
    study = changed(base, within(path), lambda section, key: section.update({key: wrong}))
    assert_located(refused(study, tmp_path, capsys), named(path))


@pytest.mark.parametrize("path", FIELDS, ids=IDS.get)
def test_a_wrong_unit_or_word_is_refused(path, tmp_path, capsys):
    base, _, _ = FIELDS[path]
    for text in TEXTS.get(named(path), (UNIT, WORD)):
        study = changed(base, within(path), lambda section, key, v=text: section.update({key: v}))
        assert_located(refused(study, tmp_path, capsys), named(path))


OUTSIDE = (
    "-7", "-7 mm", "1e9 m", "-500 degC", "900 %", "1e9 Hz", "-1 L/s", "1e9 kPa", 10**9, -(10**9),
)  # fmt: skip


#: Fields that hold one value, and not any sentence.
VALUES = [path for path, (_, _, inner) in FIELDS.items() if not inner and named(path) not in TEXTS]


@pytest.mark.parametrize("path", VALUES, ids=IDS.get)
def test_a_value_out_of_range_is_refused(path, tmp_path, capsys):
    base = FIELDS[path][0]
    for value in OUTSIDE:
        study = changed(base, within(path), lambda section, key, v=value: section.update({key: v}))
        assert_located(refused(study, tmp_path, capsys), named(path))


@pytest.mark.parametrize("path", FIELDS, ids=IDS.get)
def test_a_misspelt_key_is_told_which_was_meant(path, tmp_path, capsys):
    base, _, _ = FIELDS[path]
    key = path[-1]
    misspelt = f"{key[:-1]}{key[-1]}{key[-1]}" if len(key) > 3 else f"{key}x"

    def misspell(section, key):
        section[misspelt] = section.pop(key, "3 kg")

    message = refused(changed(base, within(path), misspell), tmp_path, capsys)
    place = named((*path[:-1], misspelt))
    assert_located(message, place, f"did you mean {key}?")


@pytest.mark.parametrize(
    "path",
    # a study without a name is called after its file
    [path for path, (_, info, _) in FIELDS.items() if info.is_required() and path != ("name",)],
    ids=IDS.get,
)
def test_a_missing_key_is_told_with_what_is_needed(path, tmp_path, capsys):
    base, _, _ = FIELDS[path]
    study = changed(base, within(path), lambda section, key: section.pop(key, None))
    message = refused(study, tmp_path, capsys)
    if path == ("measured", "bore", "stations"):  # which alone says that the bore is measured
        assert "bore.length: missing; needed is" in message
    else:
        assert f"{named(path)}: missing; needed is" in message
