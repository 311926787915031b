"""Meshes that move with the wall, against bores built anew."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from skfem import Basis, ElementTriP2, Functional, MeshTri2

from borestudy.bore import (
    Bore,
    Dimension,
    Entry,
    bore_from_dimensions,
    bore_from_stations,
    cylinder,
    places_on_wall,
    variation,
)
from borestudy.bore.stations import station_dimensions
from borestudy.bore.variation import nearest
from borestudy.fem.motion import moved, node_velocities
from borestudy.mesh import ACOUSTICS, Preset, read_mesh, turbulent, write_mesh

SIZES: dict[str, Any] = {
    "length": 60e-3, "cup_diameter": 16e-3, "cup_depth": 11e-3, "cup_shape": 0.6,
    "throat_diameter": 4e-3, "throat_length": 5e-3, "backbore_end_diameter": 9e-3,
    "entry": Entry("rounded", (0.5e-3,)), "backbore_taper": 0.3,
}  # fmt: skip
#: How far each dimension is changed: about a hundredth of it.
STEPS = {name: 0.01 * size for name, size in SIZES.items() if isinstance(size, float)}


def build(argument: str, value: float) -> Bore:
    return bore_from_dimensions(**SIZES | {argument: value})


def dimension(argument: str) -> Dimension:
    return variation(lambda value: build(argument, value), SIZES[argument], key=argument)


@pytest.fixture(scope="module")
def meshed(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., MeshTri2]:
    """The mesh of a bore, written and read."""
    folder = tmp_path_factory.mktemp("meshes")

    def mesh(bore: Bore, preset: Preset = ACOUSTICS, level: int = 0) -> MeshTri2:
        write_mesh(bore, folder / "bore.msh", preset, level)
        return read_mesh(folder / "bore.msh")

    return mesh


@pytest.fixture(scope="module", params=["acoustics", "boundary layer"])
def case(request: pytest.FixtureRequest, meshed: Callable[..., MeshTri2]) -> Any:
    """A bore with its mesh and all node velocities."""
    bore = bore_from_dimensions(**SIZES)
    preset = ACOUSTICS if request.param == "acoustics" else turbulent(2e4)
    mesh = meshed(bore, preset)
    velocities = node_velocities(mesh, bore, [dimension(name) for name in STEPS])
    return bore, mesh, dict(zip(STEPS, velocities, strict=True))


def wall_nodes(mesh: MeshTri2) -> np.ndarray:
    facets = mesh.boundaries["wall"]
    return np.concatenate([np.unique(mesh.facets[:, facets]), mesh.dofs.facet_dofs[0, facets]])


def off_the_wall(points: np.ndarray, bore: Bore) -> np.ndarray:
    """Distance of points, shape (2, n), to the nearest segment [m]."""
    return np.min([nearest(segment, points.T)[1] for segment in bore.segments], axis=0)


@pytest.mark.parametrize("name", STEPS)
def test_the_walls_nodes_move_onto_the_bore_built_anew(case: Any, name: str) -> None:
    _, mesh, velocities = case
    wall, step = wall_nodes(mesh), STEPS[name]
    found = []
    for factor in (1, 2):
        there = build(name, SIZES[name] + factor * step)
        points = mesh.doflocs[:, wall] + factor * step * velocities[name][:, wall]
        found.append(off_the_wall(points, there).max())
    off = off_the_wall(mesh.doflocs[:, wall], build(name, SIZES[name] + step)).max()
    drawn = off_the_wall(mesh.doflocs[:, wall], build(name, SIZES[name])).max()
    # Where the mesh's own nodes are, and the second order, at most a fifth at these steps.
    assert found[0] < 0.2 * off + 2 * drawn
    assert found[1] < 4.5 * found[0] + 2 * drawn + 1e-13


@pytest.mark.parametrize("name", STEPS)
def test_sections_stay_plane_and_the_axis_stays_the_axis(case: Any, name: str) -> None:
    bore, mesh, velocities = case
    velocity, step = velocities[name], STEPS[name]
    places = {"rim_plane": 0.0, "shank_end": bore.length}
    for boundary, facets in mesh.boundaries.items():
        nodes = np.concatenate([np.unique(mesh.facets[:, facets]), mesh.dofs.facet_dofs[0, facets]])
        if boundary == "axis":
            np.testing.assert_array_equal(velocity[1, nodes], 0.0)
        elif boundary != "wall":
            assert np.ptp(velocity[0, nodes]) < 1e-12
            radius = mesh.doflocs[1, nodes]
            outward = velocity[1, nodes[np.argmax(radius)]] * radius / radius.max()
            np.testing.assert_allclose(velocity[1, nodes], outward, atol=1e-12)
    there = build(name, SIZES[name] + step)
    for boundary, place in places.items():
        facets = mesh.boundaries[boundary]
        new = mesh.p[:, mesh.facets[:, facets]] + step * velocity[:, mesh.facets[:, facets]]
        wanted = there.length if place else 0.0
        np.testing.assert_allclose(new[0], wanted, atol=1e-12)
        edge = there.shank_radius if place else there.rim_radius
        assert new[1].max() == pytest.approx(edge, abs=1e-12)


@Functional
def solid_of_revolution(w):  # type: ignore[no-untyped-def]
    return 2 * np.pi * w.x[1]


def volume(mesh: MeshTri2, part: str | None = None) -> float:
    elements = None if part is None else (mesh.subdomains or {})[part]
    return float(solid_of_revolution.assemble(Basis(mesh, ElementTriP2(), elements=elements)))


@pytest.mark.parametrize("name", STEPS)
def test_the_volume_of_each_part_changes_as_that_of_the_bore(case: Any, name: str) -> None:
    bore, mesh, velocities = case
    step = STEPS[name]
    scale = bore.volume() * step / SIZES[name]
    # a flow's mesh has the cup and the entry in one
    for part in (None, *(bore.parts if set(bore.parts) <= set(mesh.subdomains) else ())):
        larger, smaller = (
            volume(moved(mesh, sign * step * velocities[name]), part) for sign in (1, -1)
        )
        there, here = (build(name, SIZES[name] + sign * step).volume(part) for sign in (1, -1))
        # Both differences have errors of the step's third power; the mesh's arcs are parabolas.
        assert larger - smaller == pytest.approx(there - here, rel=2e-3, abs=1e-4 * scale)


@pytest.mark.parametrize("name", STEPS)
@pytest.mark.parametrize("sign", [1, -1])
def test_a_mesh_can_be_moved_by_several_per_cent(case: Any, name: str, sign: float) -> None:
    _, mesh, velocities = case
    found = moved(mesh, 5 * sign * STEPS[name] * velocities[name])
    assert found.t is mesh.t
    assert found.boundaries.keys() == mesh.boundaries.keys()
    assert found.subdomains.keys() == mesh.subdomains.keys()
    basis = Basis(found, ElementTriP2())
    before = Basis(mesh, ElementTriP2())
    # Every triangle keeps its sense wherever it is integrated, curved sides included.
    assert (np.sign(basis.mapping.detDF(basis.X)) == np.sign(before.mapping.detDF(before.X))).all()


def test_a_cylinder_stretches_evenly_and_swells_evenly(meshed: Callable[..., MeshTri2]) -> None:
    radius, length = 4e-3, 30e-3
    bore = cylinder(radius, length)
    mesh = meshed(bore)
    dimensions = [
        variation(lambda value: cylinder(radius, value), length, key="length"),
        variation(lambda value: cylinder(value, length), radius, key="radius"),
    ]
    longer, wider = node_velocities(mesh, bore, dimensions)
    x, r = mesh.doflocs
    np.testing.assert_allclose(longer, [x / length, 0 * r], atol=1e-8)
    np.testing.assert_allclose(wider, [0 * x, r / radius], atol=1e-8)


def test_the_sections_of_a_throat_follow_its_ends(case: Any) -> None:
    _, mesh, velocities = case
    ends = {name: facets for name, facets in mesh.boundaries.items() if "throat" in name}
    assert "section_throat_end" in ends
    end = np.unique(mesh.facets[:, ends["section_throat_end"]])
    for name in ("cup_depth", "throat_length"):
        np.testing.assert_allclose(velocities[name][0, end], 1.0, atol=1e-9)
    for name in ("length", "cup_diameter", "backbore_end_diameter"):
        np.testing.assert_allclose(velocities[name][0, end], 0.0, atol=1e-9)


def test_a_station_moves_the_mesh_beside_it_only(
    tmp_path: Path, meshed: Callable[..., MeshTri2]
) -> None:
    path = tmp_path / "stations.csv"
    rows = ["0,16", "4,12", "9,6.5", "9,5", "12,3.7", "16,3.7", "22,4.4", "30,5.1", "44,7", "60,9"]
    path.write_text("\n".join(["position_mm,diameter_mm", *rows]))
    bore, dimensions = bore_from_stations(path, outliers="keep"), station_dimensions(path)
    mesh = meshed(bore)
    velocities = node_velocities(mesh, bore, dimensions)
    wall = wall_nodes(mesh)
    x = mesh.doflocs[0, wall]
    stations = np.array([float(row.split(",")[0]) for row in rows]) * 1e-3
    for index, velocity in enumerate(velocities[:-1]):
        low, high = stations[max(index - 1, 0)], stations[min(index + 1, len(rows) - 1)]
        outside = (x < low - 1e-9) | (x > high + 1e-9)
        np.testing.assert_array_equal(velocity[:, wall[outside]], 0.0)
        # straight lines: from one at the station to nothing at its neighbours
        assert velocity[1, wall].max() == pytest.approx(1.0, abs=1e-6)
        assert np.abs(velocity).max() <= 1 + 1e-6
    # all stations together widen the bore by one everywhere
    together = velocities[:-1].sum(axis=0)
    np.testing.assert_allclose(together[1, wall], 1.0, atol=1e-6)
    np.testing.assert_allclose(together[0, wall], 0.0, atol=1e-6)


def test_velocities_are_those_of_the_wall_itself(case: Any) -> None:
    bore, mesh, velocities = case
    wall = wall_nodes(mesh)
    places = places_on_wall(bore, mesh.doflocs[:, wall])
    for name, velocity in velocities.items():
        np.testing.assert_allclose(velocity[:, wall], dimension(name).velocity(places), atol=1e-12)


def test_a_mesh_moved_too_far_is_refused(case: Any) -> None:
    _, mesh, velocities = case
    with pytest.raises(ValueError, match="cannot be moved so far: a triangle turns inside out"):
        moved(mesh, -1.1 * SIZES["throat_length"] * velocities["throat_length"])
