"""A large study is looked at once, and again as soon as anything of it changes."""

import pytest

from borestudy.stages.running import accepted
from borestudy.study import StudyError, load_study

STUDY = """
air: {{temperature: 25 degC, relative_humidity: 50 %}}
bore:
  length: 88 mm
  cup: {{diameter: 16.2 mm, depth: 10.8 mm, shape: 0.6}}
  throat: {{diameter: drill 27, length: 5 mm, entry: square}}
  backbore: {{end_diameter: 9.0 mm, taper: straight}}
vary:
  cup.depth: [{depths}]
resonance: {{from: 50 Hz, to: 3000 Hz, behind: anechoic pipe}}
flow: {{rates: 0.05 L/s}}
"""
DEPTHS = ("10 mm", "11 mm", "12 mm")


@pytest.fixture
def look(tmp_path, monkeypatch):
    """Look at a study of some depths; how many were built."""
    looked = []
    whole = accepted.refuse_impossible
    monkeypatch.setattr(
        accepted, "refuse_impossible", lambda study: (looked.append(study), whole(study))
    )
    monkeypatch.setattr(accepted, "MANY", 2)

    def at(*depths):
        looked.clear()
        path = tmp_path / "deep.yaml"
        path.write_text(STUDY.format(depths=", ".join(depths)))
        results = tmp_path / "results" / "deep"
        accepted.refuse_impossible_once(load_study(path), results, tmp_path)
        return len(looked)

    return at


def test_a_large_study_is_looked_at_once(look):
    assert [look(*DEPTHS), look(*DEPTHS), look(*DEPTHS, "13 mm"), look(*DEPTHS)] == [1, 0, 1, 1]


def test_a_small_study_leaves_no_record(look, tmp_path):
    assert [look(DEPTHS[0]), look(DEPTHS[0])] == [1, 1]
    assert not (tmp_path / ".snakemake").exists()


def test_an_impossible_study_is_refused_each_time(look):
    for _ in range(2):
        with pytest.raises(StudyError, match="cup"):
            look(*DEPTHS, "100 mm")


def test_other_sources_look_again(look, monkeypatch):
    assert look(*DEPTHS) == 1
    monkeypatch.setattr(accepted, "source_hash", lambda *modules: "other")
    assert look(*DEPTHS) == 1


def test_a_folder_that_cannot_be_written_is_no_matter(look, tmp_path):
    (tmp_path / ".snakemake").write_text("a file")
    assert [look(*DEPTHS), look(*DEPTHS)] == [1, 1]
