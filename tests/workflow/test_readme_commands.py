"""The README's command for each of its readers, run as it stands there, on smaller studies."""

import re
import shlex
import shutil
import subprocess
import sys

import pytest
import yaml

from .conftest import REPOSITORY

#: What the commands of a reader leave in the folder in which they are called.
LEFT = {
    "maker": ("entry.svg",),
    "student": ("claims.html", "results/chapter/report.html"),
    "researcher": ("results/throat-sweep/report.html", "results/throat-sweep/comparison.csv"),
}
#: How the last line of a reader's last command begins.
LAST = {
    "maker": "Picture: entry.svg",
    "student": "Page: claims.html",
    "researcher": "Report: results/throat-sweep/report.html",
}
#: What makes a command quicker that reads no study.
QUICKER = {"entry": ["--resolution", "coarse"]}


def commands(reader):
    text = (REPOSITORY / "README.md").read_text(encoding="utf-8")
    block = re.search(rf"<!-- command: {reader} -->\n```sh\n(.*?)```", text, re.S)
    assert block, f"README.md has no command for the {reader}"
    return [line.partition(" #")[0].strip() for line in block[1].splitlines() if line]


def smaller(text):
    """The same study on coarse meshes, with few values, one flow rate and few frequencies."""
    study = yaml.safe_load(text)
    study["mesh"] = {"resolution": "coarse"}
    study["vary"] = {key: values[:2] for key, values in study.get("vary", {}).items()}
    study["flow"] = {"rates": "0.1 L/s"}
    study["resonance"]["points"] = 101
    return yaml.safe_dump(study, allow_unicode=True)


@pytest.fixture
def clone(tmp_path):
    """A folder with the studies of this repository, made smaller."""
    shutil.copytree(REPOSITORY / "configs", tmp_path / "configs")
    for path in (tmp_path / "configs").glob("throat-sweep.yaml"):
        path.write_text(smaller(path.read_text(encoding="utf-8")), encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize("reader", LEFT)
def test_the_command_of_a_reader_does_what_the_readme_says(clone, reader):
    for command in commands(reader):
        program, *arguments = shlex.split(command)
        assert program == ".venv/bin/borestudy"
        ran = subprocess.run(
            [sys.executable, "-m", "borestudy", *arguments, *QUICKER.get(arguments[0], [])],
            cwd=clone,
            text=True,
            capture_output=True,
        )
        assert ran.returncode == 0, ran.stdout + ran.stderr
    for name in LEFT[reader]:
        assert (clone / name).stat().st_size > 200
    assert ran.stdout.splitlines()[-1] == LAST[reader]
