"""The three kinds of mesh: how large their triangles are, and on how many levels each is made.

Sizes are smallest where the solution is not smooth: at edges that point into the air, where
pressure (flow) and velocity (both) have a singular gradient, and along walls and the jet
downstream of the throat (flow). Each grows with the distance from where it holds.

The meshes of a kind are numbered from 0, the coarsest; the mesh of level N is the file
``KIND-N.msh`` in a case's folder ``mesh``.
"""

from dataclasses import dataclass, replace
from typing import Self

#: Every level divides all sizes by this.
REFINEMENT_RATIO = 1.5
#: By how many levels the meshes of each word of ``mesh.resolution`` are finer than `medium`; those
#: of `draft`, which no study may ask for, do for small differences.
RESOLUTIONS = {"draft": -2, "coarse": -1, "medium": 0, "fine": 1}


@dataclass(frozen=True)
class BoundaryLayer:
    """A boundary-layer mesh: flat triangles that resolve the flow across the wall, not along it."""

    #: Height of the first cell at `Preset.sized_level` [throat diameters].
    first_height: float
    #: Height of each row of cells over that of the row before, at `Preset.sized_level`.
    growth: float = 1.2
    #: Height of all rows together, at every level [throat diameters].
    thickness: float = 0.12
    #: Number of cells in the fan round a sharp edge.
    fan: int = 8


@dataclass(frozen=True, kw_only=True)
class Preset:
    """One kind of mesh: its levels, and sizes of its triangles in throat diameters."""

    #: ``acoustics``, ``laminar`` or ``turbulent``.
    kind: str
    #: Number of meshes on which every case is solved, and of finer ones, for flow rates whose
    #: pressure drop the others do not give to the study's tolerance.
    levels: int = 2
    refinements: int = 1
    #: Level at which the sizes hold.
    sized_level: int = 1
    #: Edges of the wall that turn by less than this [rad] get no refinement of their own, and the
    #: size at those that turn by more into the air.
    blunt_angle: float = 0.2
    edge: float
    #: Size at the slight edge between throat and backbore.
    throat_end: float
    #: Size along a curved throat entry, as a share of its length.
    entry_arc: float
    #: Sizes along the walls of throat and entry, of the cup, and of the backbore where it has one.
    throat_wall: float
    cup_wall: float
    backbore_wall: float | None = None
    #: Increase of the size along the cup's wall with distance from the throat, up to `cup_wall`: a
    #: measured bore's entry is made of the cup's last stretches.
    cup_wall_growth: float = 1.0
    #: Sizes inside throat and entry, and off its wall, where flow from a sharp edge shears.
    throat: float
    throat_layer: float
    #: Size in the layer between the jet downstream of the throat and the air around it.
    jet: float | None = None
    #: Sizes on the axis of the backbore and where it is wide.
    narrow: float
    wide: float
    #: Size that is added at the rim plane, falling to nothing at the throat.
    cup: float
    #: Increase of size with distance: in general, from edges, from the jet's layer.
    growth: float = 0.2
    edge_growth: float = 0.2
    jet_growth: float = 0.1
    #: How many times longer than wide triangles are in the backbore, and how far downstream of the
    #: throat they begin to be.
    stretch: float = 1.0
    stretch_from: float = 1.0
    #: The boundary-layer mesh along the whole wall, instead of plain triangles.
    layer: BoundaryLayer | None = None

    @property
    def finest(self) -> int:
        """The finest level on which every case is solved."""
        return self.levels - 1

    @property
    def names(self) -> list[str]:
        """Names of all its meshes, the coarsest first."""
        return [f"{self.kind}-{level}" for level in range(self.levels + self.refinements)]

    def at(self, resolution: str) -> Self:
        """Return the preset with the sizes of a word of `RESOLUTIONS`."""
        return replace(self, sized_level=self.sized_level - RESOLUTIONS[resolution])

    def unit(self, level: int) -> float:
        """Factor by which all sizes are multiplied at a level."""
        return float(REFINEMENT_RATIO ** (self.sized_level - level))


#: Second-order elements for pressure resolve the wave with a handful of triangles: nearly all of
#: them serve the singular velocity at the throat's edge.
ACOUSTICS = Preset(
    kind="acoustics",
    levels=3,
    refinements=0,
    sized_level=2,
    edge=0.001,
    throat_end=0.08,
    entry_arc=0.15,
    throat_wall=0.2,
    cup_wall=0.35,
    throat=0.2,
    throat_layer=0.2,
    narrow=0.3,
    wide=0.3,
    cup=0.1,
    growth=0.3,
    edge_growth=0.3,
)

#: At a sharp edge the pressure drop's error falls with the first power of the size there, since
#: the cup's boundary layer is thinnest just before it: 0.006 is 8 % high at Reynolds number 4500.
#: Along the backbore the jet changes slowly: with triangles four times as long as wide half of the
#: unknowns do and are, at Reynolds numbers from 1100 to 6700, no less exact.
LAMINAR = Preset(
    kind="laminar",
    edge=0.0007,
    throat_end=0.025,
    entry_arc=0.04,
    throat_wall=0.012,
    cup_wall=0.15,
    throat=0.06,
    throat_layer=0.03,
    jet=0.03,
    narrow=0.12,
    wide=0.18,
    cup=0.2,
    edge_growth=0.12,
    jet_growth=0.15,
    cup_wall_growth=0.02,
    stretch=4.0,
)

#: The first cell's height here is that for a throat Reynolds number of 6000.  With long triangles
#: downstream of the throat a third fewer unknowns give the drop within 0.2 %.
TURBULENT = Preset(
    kind="turbulent",
    edge=0.005,
    throat_end=0.03,
    entry_arc=0.08,
    throat_wall=0.08,
    cup_wall=0.2,
    throat=0.08,
    throat_layer=0.05,
    jet=0.05,
    narrow=0.08,
    wide=0.14,
    cup=0.3,
    backbore_wall=0.15,
    stretch=3.0,
    layer=BoundaryLayer(first_height=0.002),
)
#: Meshes of the best estimate: half as many triangles, with which its pressure drop is within 0.3 %
#: of that on `TURBULENT`, where its model's error is some ten times that.
#: At a square edge, where they are coarsest, more cells round the edge make up for it: with as few
#: as `TURBULENT` has the coarsest mesh's drop scattered by 2 % with the last digits of its sizes.
ESTIMATE = replace(
    TURBULENT,
    kind="estimate",
    sized_level=2,
    edge=0.0025,
    layer=BoundaryLayer(first_height=0.002, fan=24),
)
#: Plain triangles, for a wall with steps lower than the boundary-layer mesh is thick, past which it
#: cannot run.  On a bore without steps they gave the same pressure drop within 0.5 %, with a y⁺ of
#: 17.
TURBULENT_PLAIN = replace(
    TURBULENT,
    edge=0.004,
    throat_wall=0.006,
    cup_wall=0.15,
    cup_wall_growth=0.02,
    backbore_wall=0.04,
    layer=None,
)
#: Height of the first cell times throat Reynolds number: the cell then ends at a wall distance y⁺
#: of about 0.7 in a smooth pipe and below 4 on a tightly rounded entry, where wall shear stress is
#: greatest.  And its greatest height [throat diameters].
FIRST_CELL_REYNOLDS, HIGHEST_FIRST_CELL = 12.0, 0.003


def turbulent(reynolds: float, height: float = 1.0, preset: Preset = TURBULENT) -> Preset:
    """A preset with a first cell that resolves the wall up to a throat Reynolds number.

    The first cell is as high as a guess times `height`, for bores that need a lower one.
    """
    first_height = height * min(HIGHEST_FIRST_CELL, FIRST_CELL_REYNOLDS / reynolds)
    layer = preset.layer or BoundaryLayer(first_height)
    return replace(preset, layer=replace(layer, first_height=first_height))


def plain(preset: Preset) -> Preset:
    """`TURBULENT_PLAIN` under the name and at the level of a preset with a layer."""
    return replace(TURBULENT_PLAIN, kind=preset.kind, sized_level=preset.sized_level)
