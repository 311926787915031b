"""What cases cost beside their solves, and whether one of many costs more than one of few."""

import csv
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from borestudy.files import read_json

PROJECT = Path(__file__).parents[2]
#: Share of the solver's time that starting may take: of Python, imports and Snakemake.
SHARE = 0.15
#: Numbers of cases whose cost is compared, and by how much a case of many may cost more.
FEW = int(os.environ.get("BORESTUDY_FEW_CASES", "6"))
MANY = int(os.environ.get("BORESTUDY_MANY_CASES", "48"))
MORE = 0.15
#: Bores of coarse meshes at one soft flow rate, of throats and cups that all differ.
STUDY = """
air: {{temperature: 25 degC, relative_humidity: 50 %}}
bore:
  length: 88 mm
  cup: {{diameter: 16.2 mm, depth: 10.8 mm, shape: 0.6}}
  throat: {{diameter: 3.66 mm, length: 5 mm, entry: rounded 0.5 mm}}
  backbore: {{end_diameter: 9.0 mm, taper: straight}}
combine: paired
vary:
  throat.diameter: [{throats}]
  cup.depth: [{depths}]
resonance: {{from: 50 Hz, to: 3000 Hz, behind: anechoic pipe}}
flow: {{rates: 0.05 L/s}}
mesh: {{resolution: coarse}}
keep: [tables]
"""


def solve(study: Path, cores: int) -> float:
    """Solve the cases of a study, and nothing else of it; the seconds that this took."""
    command = [
        sys.executable, "-m", "snakemake", "--snakefile", PROJECT / "Snakefile",
        "--configfile", study, "--cores", str(cores), "--until", "solve", "--quiet", "all",
        "--workflow-profile", "none",
    ]  # fmt: skip
    begin = time.perf_counter()
    subprocess.run(command, cwd=study.parent, check=True)
    return time.perf_counter() - begin


def steps_of(results: Path) -> list[float]:
    """Seconds of all steps of each case."""
    records = map(read_json, sorted(results.glob("cases/*/case.json")))
    return [sum(step["wall_time_s"] for step in one["steps"].values()) for one in records]


def jobs_of(results: Path) -> float:
    """Seconds of all jobs that solved cases."""
    total = 0.0
    for path in results.glob("benchmarks/solve/*.tsv"):
        with open(path, encoding="utf-8", newline="") as stream:
            total += sum(float(row["s"]) for row in csv.DictReader(stream, delimiter="\t"))
    return total


def write_study(path: Path, count: int) -> None:
    """A study of so many cases; few ones are spread over the same ranges as many."""
    shares = [place / max(count - 1, 1) for place in range(count)]
    throats = ", ".join(f"{3.3 + 0.8 * one:.5f} mm" for one in shares)
    # In another order than the throats: steps of the golden section.
    depths = ", ".join(f"{9.5 + 2.5 * (0.618034 * one * count % 1):.5f} mm" for one in shares)
    path.write_text(STUDY.format(throats=throats, depths=depths), encoding="utf-8")


def test_starting_takes_a_small_share_of_what_solving_the_demonstration_takes(benchmark, tmp_path):
    """All of Snakemake's run on one core, but what the steps of the cases took."""
    study = tmp_path / "entry-rounding.yaml"
    study.write_bytes((PROJECT / "configs" / study.name).read_bytes())
    seconds = benchmark.pedantic(solve, (study, 1), rounds=1)
    solved = sum(steps_of(tmp_path / "results" / "entry-rounding"))
    share = (seconds - solved) / solved
    benchmark.extra_info.update(solved_s=solved, share=share)
    assert share < SHARE


def test_a_case_of_many_costs_no_more_than_one_of_few(benchmark, tmp_path):
    """Time of a core for a case, its job's start included, in studies of few and of many.

    `BORESTUDY_FEW_CASES` and `BORESTUDY_MANY_CASES` set the numbers, such as 50 and 1000.
    """
    costs = {}

    def both():
        for count in (FEW, MANY):
            study = tmp_path / f"{count}-bores.yaml"
            write_study(study, count)
            solve(study, os.cpu_count() or 1)
            results = tmp_path / "results" / study.stem
            assert len(steps_of(results)) == count
            costs[count] = jobs_of(results) / count

    benchmark.pedantic(both, rounds=1)
    benchmark.extra_info.update({f"case_of_{count}_s": cost for count, cost in costs.items()})
    assert costs[MANY] == pytest.approx(costs[FEW], rel=MORE)
