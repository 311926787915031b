"""Each mistake is answered with the key, what was found, what is allowed and an example."""

import contextlib
import copy
import re

import pytest
import yaml

from borestudy.stages.check import refuse_impossible
from borestudy.study import StudyError, study_from_mapping

from .mistakes import IMPOSSIBLE, MISTAKES


@pytest.mark.parametrize(("changes", "key", "words"), MISTAKES.values(), ids=MISTAKES.keys())
def test_a_mistake_is_told_by_key_what_was_found_and_what_is_allowed(refusal, changes, key, words):
    message = refusal(changes)
    assert "\n" not in message
    assert message.startswith(f"{key}: ")
    for word in words:
        assert word in message


def steps_of(key):
    """Steps from the top of a study to a key."""
    return [
        int(step) if step.isdigit() else step
        for step in re.split(r"\.|(?<=\w)\[|\]\.?", key)
        if step
    ]


def placed(contents, key, example):
    """Studies that take an example literally: as the key's value, or in the place of the key."""
    values = [yaml.safe_load(part) for part in [example, *example.split(" or ")]]
    dimensions = re.match(r"(vary|tolerances)\.(.+?)(?:\[(\d+)\])?$", key)
    steps = [step for step in dimensions.groups() if step] if dimensions else steps_of(key)
    steps = [int(step) if isinstance(step, str) and step.isdigit() else step for step in steps]
    for value in values:
        # The example of one rate may be that of the list.
        for path in (steps, steps[:-1] if isinstance(steps[-1], int) else steps):
            changed = copy.deepcopy(contents)
            section = changed
            for step in path[:-1]:
                section = section[step] if isinstance(step, int) else section.setdefault(step, {})
            if isinstance(section, str):  # "0, 0.1 L/s" has no entry to be replaced
                continue
            if isinstance(value, dict) and not isinstance(path[-1], int):
                beside = copy.deepcopy(changed)
                within = beside
                for step in path[:-1]:
                    within = within[step]
                within.pop(path[-1], None)
                within.update(value)
                yield beside
            section[path[-1]] = value
            yield changed


def complaint(contents, folder):
    """What is said of a study or of its bores; nothing where all is well."""
    try:
        refuse_impossible(study_from_mapping(contents, folder))
    except StudyError as problem:
        return str(problem)
    return ""


@pytest.mark.parametrize("mistake", [*MISTAKES, *IMPOSSIBLE])
def test_the_example_of_a_message_is_accepted_in_its_place(make, mapping, tmp_path, mistake):
    changes, key, *_ = MISTAKES.get(mistake) or IMPOSSIBLE[mistake]
    for name in ("one.csv", "two.csv", "air-column.csv"):
        (tmp_path / name).write_text((tmp_path / "stations.csv").read_text())
    (tmp_path / "measurements").mkdir()
    with contextlib.suppress(StudyError):
        make(({"vary": {}} if mistake in IMPOSSIBLE else {}) | changes)
    message = complaint(mapping, tmp_path)
    assert message.removeprefix("case base: ").startswith(f"{key}: ")
    *_, example = message.partition("for example ")
    assert example
    left = [complaint(contents, tmp_path) for contents in placed(mapping, key, example)]
    assert "" in left, left


@pytest.mark.parametrize("mistake", MISTAKES)
def test_no_message_speaks_the_validation_librarys_language(refusal, mistake):
    message = refusal(MISTAKES[mistake][0])
    for word in ("pydantic", "validation error", "type=", "Input should", "Field required"):
        assert word not in message


@pytest.mark.parametrize("contents", [None, [], "text", 3], ids=str)
def test_a_file_that_holds_no_mapping_is_refused_with_an_example(tmp_path, contents):
    with pytest.raises(StudyError, match=r"^study: found .*; allowed is a mapping.*for example"):
        study_from_mapping(contents, tmp_path)
