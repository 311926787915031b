"""Every example runs without a screen, holds its number, and draws its figure."""

import re
import runpy
from pathlib import Path

import matplotlib
import pytest
from matplotlib import pyplot

FOLDER = Path(__file__).parent
EXAMPLES = sorted(path for path in FOLDER.glob("*.py") if not path.name.startswith("test_"))


@pytest.mark.parametrize("path", EXAMPLES, ids=[path.stem for path in EXAMPLES])
def test_the_example_holds_its_number_and_draws_its_figure(path, tmp_path, capsys):
    matplotlib.use("Agg")
    try:
        axes = runpy.run_path(str(path))["axes"]  # its last line asserts
        figure = tmp_path / f"{path.stem}.png"
        axes.figure.savefig(figure)
        assert figure.stat().st_size > 5_000
        for label in (axes.get_xlabel(), axes.get_ylabel()):
            assert re.search(r", \S+", label), f"{label!r} has no unit"
    finally:
        pyplot.close("all")
    assert capsys.readouterr().out


@pytest.mark.parametrize("path", EXAMPLES, ids=[path.stem for path in EXAMPLES])
def test_the_example_opens_with_equation_weak_form_and_numbers(path):
    code = path.read_text(encoding="utf-8")
    words = code.split('"""')[1]
    assert all(word in words.casefold() for word in ("strong form", "weak form", "numbers:"))
    assert len(re.findall(r"^assert ", code, re.M)) == 1
