"""What `borestudy check` takes, in a process of its own as a user starts it."""

import subprocess
import sys
from pathlib import Path

import pytest

CONFIGS = Path(__file__).parents[2] / "configs"
#: Asked for; measured were 1.1 s with nothing else to do, 1.6 s with a picture.
MOST = 2.0


@pytest.mark.parametrize("study", ["entry-rounding", "measured", "entry-by-throat", "wish"])
@pytest.mark.parametrize("picture", [False, True])
def test_check_is_done_in_two_seconds(benchmark, tmp_path, study, picture):
    command = [sys.executable, "-m", "borestudy", "check", str(CONFIGS / f"{study}.yaml")]
    command += ["--picture", str(tmp_path / "bores.svg")] if picture else []
    benchmark.pedantic(
        subprocess.run, (command,), {"check": True, "stdout": subprocess.DEVNULL}, rounds=3
    )
    assert benchmark.stats.stats.min < MOST
