"""The schema that editors complete keys from, and the studies that ship."""

import json
import re
from pathlib import Path

import pytest
import yaml

from borestudy.study import load_study, study_schema

CONFIGS = Path(__file__).parents[2] / "configs"
STUDIES = sorted(CONFIGS.glob("*.yaml"))
#: Of a published geometry, with its source.
PUBLISHED = {"nozzle-benchmark"}


def test_the_schema_beside_the_studies_is_the_models():
    shipped = json.loads((CONFIGS / "study.schema.json").read_text(encoding="utf-8"))
    assert shipped == study_schema(), "run: borestudy schema configs/study.schema.json"


def keys_known_to(schema, part, contents):
    """Whether every key of the contents is in the schema, through references and unions."""
    part = schema["$defs"][part["$ref"].rsplit("/", 1)[1]] if "$ref" in part else part
    for word in ("anyOf", "oneOf"):
        if word in part:
            return any(keys_known_to(schema, choice, contents) for choice in part[word])
    if isinstance(contents, dict):
        known = part.get("properties", {})
        named_freely = part.get("patternProperties", {})
        found = {
            key: known.get(key)
            or next((one for name, one in named_freely.items() if re.search(name, key)), None)
            for key in contents
        }
        return all(
            found[key] is not None and keys_known_to(schema, found[key], value)
            for key, value in contents.items()
        )
    return True


@pytest.mark.parametrize("path", STUDIES, ids=lambda path: path.stem)
def test_the_schema_knows_every_key_of_the_studies_that_ship(path):
    schema = study_schema()
    contents = yaml.safe_load(path.read_text(encoding="utf-8"))
    assert keys_known_to(schema, schema, contents)
    assert not keys_known_to(schema, schema, contents | {"tempo": 3})


@pytest.mark.parametrize("path", STUDIES, ids=lambda path: path.stem)
def test_every_bore_of_the_studies_that_ship_can_be_built(path):
    study = load_study(path)
    assert study.name == path.stem
    for case in study.cases():
        bore = case.build_bore()
        assert 0.07 < bore.length < 0.1 or path.stem in PUBLISHED
        assert bore.throat_radius < bore.shank_radius <= bore.rim_radius


@pytest.mark.parametrize("path", STUDIES, ids=lambda path: path.stem)
def test_a_study_that_ships_says_that_its_data_are_invented_or_where_they_are_from(path):
    notes = [line for line in path.read_text().splitlines() if line.startswith("#")]
    assert notes[0] == "# yaml-language-server: $schema=study.schema.json"
    word = "public domain" if path.stem in PUBLISHED else "invented"
    texts = [file.read_text() for file in load_study(path).input_files()]
    assert all(word in text.lower() for text in texts)
    if word == "invented":
        assert word in " ".join(notes)
