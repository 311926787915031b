"""Meshes of bores: what they hold, against the exact bore, and that they need gmsh only once."""

import os
import pickle
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import meshio
import numpy as np
import pytest
from skfem import Basis, ElementTriP2, Functional, MeshTri2

from borestudy.bore import Bore, Entry, bore_from_dimensions, cylinder
from borestudy.mesh import (
    ACOUSTICS,
    LAMINAR,
    EndedError,
    MeshError,
    Preset,
    UnmeshedError,
    gmsh_process,
    read_mesh,
    turbulent,
    write_mesh,
)
from borestudy.mesh.generate import calls_for
from borestudy.mesh.run import Calls, run_gmsh

Meshed = Callable[..., MeshTri2]


def bore(entry: Entry) -> Bore:
    return bore_from_dimensions(
        length=88e-3,
        cup_diameter=16e-3,
        cup_depth=11e-3,
        cup_shape=0.7,
        throat_diameter=3.7e-3,
        throat_length=5e-3,
        entry=entry,
        backbore_end_diameter=9e-3,
        backbore_taper="opening early",
    )


ROUNDED = Entry("rounded", (0.5e-3,))


@pytest.fixture
def meshed(tmp_path: Path) -> Meshed:
    """The mesh of a bore, written and read."""

    def mesh(shape: Bore, preset: Preset, level: int) -> MeshTri2:
        path = tmp_path / f"{level}.msh"
        write_mesh(shape, path, preset, level)
        return read_mesh(path)

    return mesh


@Functional
def solid_of_revolution(w):  # type: ignore[no-untyped-def]
    return 2 * np.pi * w.x[1]


def volume(mesh: MeshTri2, part: str | None = None) -> float:
    elements = None if part is None else (mesh.subdomains or {})[part]
    return float(solid_of_revolution.assemble(Basis(mesh, ElementTriP2(), elements=elements)))


@pytest.mark.parametrize("preset", [ACOUSTICS, LAMINAR])
def test_the_mesh_fills_each_part_of_the_bore(meshed: Meshed, preset: Preset) -> None:
    shape = bore(ROUNDED)
    mesh = meshed(shape, preset, preset.finest - 1)
    for part in shape.parts:
        assert volume(mesh, part) == pytest.approx(shape.volume(part), rel=2e-5)


def test_the_curved_wall_converges_with_at_least_the_third_power_of_the_size(
    meshed: Meshed,
) -> None:
    shape = bore(ROUNDED)
    errors = [abs(volume(meshed(shape, ACOUSTICS, n)) / shape.volume() - 1) for n in (-1, 3)]
    # sizes fall by 1.5 four times; whether an error is small by chance decides the rest
    assert np.log(errors[0] / errors[1]) / np.log(1.5**4) > 3


def test_the_walls_nodes_lie_on_the_bore(meshed: Meshed) -> None:
    shape = bore(ROUNDED)
    mesh = meshed(shape, LAMINAR, 0)
    basis = Basis(mesh, ElementTriP2())
    x, r = basis.doflocs[:, basis.get_dofs("wall").flatten()]
    np.testing.assert_allclose(r, shape.radius(np.clip(x, 0, shape.length)), rtol=1e-8)


def test_boundaries_and_sections_have_their_names_and_places(meshed: Meshed) -> None:
    shape = bore(ROUNDED)
    mesh = meshed(shape, ACOUSTICS, 1)
    boundaries = mesh.boundaries or {}
    expected = {"rim_plane", "wall", "axis", "shank_end"}
    sections = {f"section_{part}_end" for part in ("cup", "entry", "throat")}
    assert set(boundaries) == expected | sections
    places = {"rim_plane": 0.0, "shank_end": shape.length}
    places |= {f"section_{part}_end": shape.part_ranges[part][1] for part in ("cup", "throat")}
    for name, x in places.items():
        ends = mesh.p[:, np.unique(mesh.facets[:, boundaries[name]])]
        np.testing.assert_allclose(ends[0], x, atol=1e-9)
        assert ends[1].min() == 0
        assert ends[1].max() == pytest.approx(float(shape.radius(x)))
    outer = [facets for name, facets in boundaries.items() if name in expected]
    np.testing.assert_array_equal(np.sort(np.concatenate(outer)), np.sort(mesh.boundary_facets()))


@pytest.mark.parametrize(
    "preset", [ACOUSTICS, LAMINAR, turbulent(6400)], ids=["sound", "flow", "boundary layer"]
)
def test_the_same_bore_gives_the_same_file_in_another_process(
    tmp_path: Path, preset: Preset
) -> None:
    """The processes differ in what their memory looks like: seeds of hashes, and environment."""
    code = (
        "import pickle, sys; from borestudy.mesh import write_mesh; "
        "write_mesh(*pickle.load(sys.stdin.buffer))"
    )
    files = [tmp_path / name for name in ("first.msh", "in another/folder.msh", "third.msh")]
    for seed, path in enumerate(files):
        subprocess.run(
            [sys.executable, "-c", code],
            input=pickle.dumps((bore(ROUNDED), path, preset, preset.finest - 1)),
            env=os.environ | {"PYTHONHASHSEED": str(seed), "FILL": seed * 1000 * "x"},
            check=True,
        )
    first, *others = (path.read_bytes() for path in files)
    assert [other == first for other in others] == [True, True]


def test_each_level_divides_sizes_by_the_same_ratio(meshed: Meshed) -> None:
    # uniform sizes: a straight pipe
    counts = [meshed(cylinder(2e-3, 80e-3), ACOUSTICS, level).nelements for level in (1, 3)]
    assert np.sqrt(counts[1] / counts[0]) == pytest.approx(1.5**2, rel=0.1)


def test_triangles_are_smallest_at_a_square_edge(meshed: Meshed) -> None:
    shape = bore(Entry())
    mesh = meshed(shape, LAMINAR, 0)
    edge = shape.corners[0][0]
    lengths = np.linalg.norm(np.diff(mesh.p[:, mesh.facets], axis=1)[:, 0], axis=0)
    middles = mesh.p[:, mesh.facets].mean(axis=1)
    nearest = np.argmin(np.linalg.norm(middles - edge[:, None], axis=0))
    unit = 2 * shape.throat_radius * 1.5
    assert lengths[nearest] == pytest.approx(LAMINAR.edge * unit, rel=0.7)
    assert lengths[nearest] < 3 * lengths.min()


@pytest.mark.parametrize("radius", [0.02e-3, 0.1e-3, 1e-3])
def test_an_entry_has_triangles_along_it_however_small_it_is(meshed: Meshed, radius: float) -> None:
    mesh = meshed(bore(Entry("rounded", (radius,))), ACOUSTICS, 0)
    middles = mesh.p[:, mesh.facets[:, (mesh.boundaries or {})["wall"]]].mean(axis=1)
    start, stop = bore(Entry("rounded", (radius,))).part_ranges["entry"]
    assert np.sum((middles[0] > start) & (middles[0] < stop)) >= 3


def test_a_step_is_kept(meshed: Meshed, tmp_path: Path) -> None:
    from borestudy.bore import bore_from_stations

    path = tmp_path / "step.csv"
    path.write_text("position_mm,diameter_mm\n0,12\n20,12\n20,4\n30,4\n30,8\n60,8\n")
    shape = bore_from_stations(path)
    mesh = meshed(shape, ACOUSTICS, 1)
    for part in shape.parts:
        assert volume(mesh, part) == pytest.approx(shape.volume(part), rel=1e-9)


def test_reading_a_mesh_needs_no_gmsh(tmp_path: Path) -> None:
    path = tmp_path / "pipe.msh"
    write_mesh(cylinder(2e-3, 20e-3), path, ACOUSTICS, 1)
    code = (
        "import sys; sys.modules['gmsh'] = None; from borestudy.mesh import read_mesh; "
        f"print(read_mesh({str(path)!r}).nelements)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert int(done.stdout) == read_mesh(path).nelements


def test_a_missing_system_library_is_told_by_its_package(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    loader = (
        Path(gmsh_process.__file__)
        .read_text()
        .replace("import gmsh\n", 'raise OSError("libGLU.so.1: cannot open shared object file")\n')
    )
    (tmp_path / "without.py").write_text(loader)
    monkeypatch.setattr(gmsh_process, "__file__", str(tmp_path / "without.py"))
    with pytest.raises(MeshError, match=r"libGLU.so.1.*libglu1-mesa"):
        write_mesh(cylinder(2e-3, 20e-3), tmp_path / "pipe.msh", ACOUSTICS, 1)


def test_a_mesh_that_fails_leaves_no_file(tmp_path: Path) -> None:
    calls = Calls()
    calls.model.occ.addLine(1, 2)
    with pytest.raises(MeshError, match=r"made no mesh of this bore: .*point.* 1"):
        run_gmsh(calls, tmp_path, "pipe.msh", 0.0, 1.0)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("memory", "seconds", "told"),
    [(240_000_000, 60, r"limit of 0\.24 GB of memory"), (8_000_000_000, 1, "limit of 1 s")],
)
def test_a_mesh_beyond_its_bound_is_told_by_the_bound(
    tmp_path: Path, memory: int, seconds: int, told: str
) -> None:
    calls, joint = calls_for(bore(Entry()), LAMINAR, 5)
    with pytest.raises(MeshError, match=told):
        run_gmsh(calls, tmp_path, "large.msh", joint, LAMINAR.stretch, memory, seconds)
    assert list(tmp_path.iterdir()) == []


def test_triangles_of_first_order_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "flat.msh"
    points = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0.0]])
    meshio.Mesh(points, [("triangle", np.array([[0, 1, 2]]))]).write(path, file_format="gmsh")
    with pytest.raises(ValueError, match="second-order triangles"):
        read_mesh(path)


@pytest.mark.parametrize(
    ("ending", "kind"),
    [("SIGKILL", EndedError), ("SIGTERM", EndedError), ("SIGSEGV", UnmeshedError)],
)
def test_a_kill_tells_nothing_of_the_bore_but_a_crash_does(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, ending: str, kind: type[RuntimeError]
) -> None:
    program = tmp_path / "ended.py"
    program.write_text(f"import os, signal\nos.kill(os.getpid(), signal.{ending})\n")
    monkeypatch.setattr(gmsh_process, "__file__", str(program))
    with pytest.raises(RuntimeError, match=f"ended by {ending}") as caught:
        run_gmsh(Calls(), tmp_path, "pipe.msh", 0.0, 1.0)
    assert type(caught.value) is kind
