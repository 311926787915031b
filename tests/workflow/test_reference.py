"""``snakemake reference`` and ``borestudy reference``: trust in a machine, line by line."""

import pytest

from borestudy.__main__ import main
from borestudy.reference.table import compare, shipped_figures
from borestudy.stages import reference
from borestudy.stages.reference import Reference


def test_this_machine_gets_the_reference_figures(snakemake):
    ran = snakemake("reference")
    assert ran.returncode == 0, ran.stdout
    lines = ran.stdout.splitlines()
    for one in shipped_figures():
        (line,) = [line for line in lines if line.strip().startswith(f"{one.name}  ")]
        assert line.endswith("agrees")
    count = len(shipped_figures())
    assert any(line.startswith(f"all {count} figures agree, ") for line in lines)
    # Asked for again, it is computed again.
    assert snakemake.planned("reference") == {"reference": 1}


@pytest.mark.parametrize(("off", "code"), [(0.9, 0), (1.1, 1)])
def test_the_command_ends_with_1_where_a_figure_is_off_by_more_than_its_tolerance(
    monkeypatch, capsys, tmp_path, off, code
):
    expected = shipped_figures()
    first = expected[0]
    wrong = type(first)(**{**vars(first), "value": first.value + off * first.tolerance})
    found = Reference(compare(expected, [wrong, *expected[1:]]))
    monkeypatch.setattr(reference, "compared_with_reference", lambda: found)
    table = tmp_path / "reference.csv"
    assert main(["reference", "--output", str(table)]) == code
    verdicts = [line.split()[-1] for line in capsys.readouterr().out.splitlines()[1:-2]]
    assert verdicts[0] == ("differs" if code else "agrees")
    assert set(verdicts[1:]) == {"agrees"}
    assert len(table.read_text().splitlines()) == len(expected) + 1
