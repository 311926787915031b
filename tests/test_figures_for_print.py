"""``borestudy figures``: options are refused by name, and figures come from results."""

from pathlib import Path

import pytest

from borestudy.command_line.main import main
from borestudy.stages.figures_for_print import look_of

USUAL = {"width": "84 mm", "font": "serif", "size": "9 pt", "formats": "pdf,svg"}


def test_options_make_a_look() -> None:
    look = look_of(**USUAL, only=["headline"])
    assert look.width_mm == pytest.approx(84.0)
    assert (look.size_pt, look.font) == (9.0, "serif")
    assert (look.formats, look.only) == (("pdf", "svg"), ("headline",))
    assert look_of(**USUAL | {"width": "3.3 in"}).width_mm == pytest.approx(83.82)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"width": "84"}, "--width: found '84'; allowed is 70 mm to 300 mm, for example"),
        ({"width": "10 mm"}, "--width: found '10 mm'; allowed is 70 mm to 300 mm"),
        ({"width": "wide"}, "--width: found 'wide'"),
        ({"size": "nine"}, "--size: found 'nine'; allowed is 6 pt to 12 pt, for example"),
        ({"size": "40 pt"}, "--size: found '40 pt'"),
        ({"formats": "pfd"}, "--format: found 'pfd'; did you mean pdf?"),
        ({"formats": ""}, "--format: found ''"),
        ({"font": "serf"}, "--font: found 'serf'; did you mean serif?"),
        ({"only": ["headlin"]}, "--only: found 'headlin'; did you mean headline?"),
    ],
)
def test_an_option_that_cannot_be_is_refused_with_what_is_allowed(
    changed: dict[str, str], words: str
) -> None:
    with pytest.raises(ValueError, match="llowed is") as caught:
        look_of(**USUAL | changed)
    assert str(caught.value).startswith(words)


def test_without_results_nothing_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    output = tmp_path / "print"
    assert main(["figures", str(tmp_path), "--output", str(output)]) == 2
    assert "found no resolved.yaml with comparison.csv" in capsys.readouterr().err
    assert main(["figures", str(tmp_path), "--output", str(output), "--width", "1 mm"]) == 2
    assert "--width" in capsys.readouterr().err
    assert main(["figures", str(tmp_path)]) == 2
    assert "--output" in capsys.readouterr().err
    file = tmp_path / "print.pdf"
    file.write_text("a file")
    assert main(["figures", str(tmp_path), "--output", str(file)]) == 2
    assert "which is a file" in capsys.readouterr().err
    assert not output.exists()
