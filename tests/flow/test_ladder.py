"""Meshes are made when they are asked for, and the files say which there are."""

import pytest

from borestudy.bore import cylinder
from borestudy.flow.ladder import Ladder
from borestudy.flow.meshes import PRESETS, FlowMeshes
from borestudy.mesh import UnmeshedError


def test_a_mesh_is_made_once_when_it_is_asked_for():
    asked = []

    def make(level):
        asked.append(level)
        return f"made {level}"

    ladder = Ladder(["first"], 3, make)
    assert len(ladder) == 3
    assert ladder[0] == "first"
    assert asked == []
    assert ladder[2] == "made 2"
    assert ladder[1] == "made 1"
    assert asked == [1, 2]
    for level in (-1, 3):
        with pytest.raises(IndexError, match=f"found {level}; allowed is 0 to 2"):
            ladder[level]


def test_a_mesh_that_cannot_be_made_leaves_the_coarser_ones():
    def refuse(level):
        raise UnmeshedError(f"none of level {level}")

    ladder = Ladder(["first"], 2, refuse)
    with pytest.raises(UnmeshedError, match="none of level 1"):
        ladder[1]
    assert ladder[0] == "first"


@pytest.mark.parametrize("model", PRESETS)
def test_the_file_of_a_finer_mesh_is_written_where_it_is_wanted_and_not_left_behind(
    model, tmp_path
):
    names = PRESETS[model].names
    paths = [tmp_path / f"{name}.msh" for name in names]
    files = FlowMeshes(cylinder(2e-3, 10e-3), paths, model, "draft", 3000.0)
    ladder = files.make()
    assert len(ladder) == len(names) == 3
    assert files.made() == paths[:2]
    finer = ladder[2].t.shape[1]
    assert finer > 1.5 * ladder[1].t.shape[1]
    assert files.made() == paths
    first = files.hashes()
    assert len(first) == 3
    # of the same sizes the same again
    assert files.make() is files.ladder
    assert files.made() == paths[:2]
    assert files.hashes() == first[:2]
    assert files.ladder[2].t.shape[1] == finer
    assert files.hashes() == first
