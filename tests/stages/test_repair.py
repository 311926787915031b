"""Files of the future and records cut short are put right before Snakemake reads them."""

import json
import os
import time
from base64 import urlsafe_b64encode

import pytest

from borestudy.files import FileError
from borestudy.stages.running import repair
from borestudy.stages.running.locks import SNAKEMAKE

DAY = 86_400.0


@pytest.fixture
def base(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def written(path, age=0.0, text="made\n"):
    """A file that was changed so many seconds ago."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text)
    changed = time.time() - age
    os.utime(path, (changed, changed))
    return path


def test_files_of_the_future_come_before_now_and_keep_their_order(base):
    results = base / "results" / "small"
    ages = {"old": 100.0, "first": -DAY, "second": -DAY - 5, "figures/third": -2 * DAY}
    paths = [written(results / name, age) for name, age in ages.items()]
    case = written(results / "cases" / "square" / "flow.json", -DAY)
    assert repair.settle_times("results/small") == 3
    times = [path.stat().st_mtime for path in paths]
    assert times == sorted(times)
    assert len(set(times)) == 4
    assert times[-1] <= time.time()
    assert case.stat().st_mtime > time.time()  # which nothing reads the time of
    assert repair.settle_times("results/small") == 0


def test_a_study_file_of_the_future_is_one_line_with_what_to_do(base):
    stations = written(base / "bore.csv", -DAY)
    with pytest.raises(FileError) as caught:
        repair.refuse_future_inputs([stations])
    message = str(caught.value)
    assert message.startswith(f"{stations}: found a time of change in the future (20")
    assert message.endswith(f"for example touch {stations}")
    assert "\n" not in message
    written(stations)
    repair.refuse_future_inputs([stations, base / "absent.csv"])


def record(result, text):
    """Snakemake's record of a result."""
    name = urlsafe_b64encode(result.encode()).decode()
    parts = [name[start : start + 254] for start in range(0, len(name), 254)]
    path = SNAKEMAKE.joinpath("metadata", *(f"@{part}" for part in parts[:-1]), parts[-1])
    return written(path, text=text)


@pytest.mark.parametrize("text", ["", '{"rule": "coll', "[]", '"text"'])
def test_a_record_cut_short_goes_with_its_result_and_whole_ones_stay(base, text):
    long = f"results/small/air/{'warm-' * 40}.json"
    for name in ("results/small/cases.csv", "results/small/flow.csv", long):
        written(base / name)
    cut = [record("results/small/cases.csv", text), record(long, text)]
    whole = record("results/small/flow.csv", json.dumps({"rule": "collate"}))
    assert sorted(repair.forget_cut_records("results/small")) == [long, "results/small/cases.csv"]
    assert not any(path.exists() for path in cut)
    assert whole.exists()
    assert [path.name for path in base.glob("results/small/*.csv")] == ["flow.csv"]


def test_what_lies_elsewhere_is_left_where_its_record_is_cut_short(base):
    others = [written(base / name) for name in ("notes.txt", "results/other/cases.csv")]
    for name in ("notes.txt", "results/other/cases.csv", "results/small/../../notes.txt"):
        record(name, "")
    assert repair.forget_cut_records("results/small") == []
    assert all(path.exists() for path in others)
