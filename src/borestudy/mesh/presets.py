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
class WallLayer:
    """Flat triangles that resolve what happens across the wall, not along it.

    Attributes
    ----------
    first : float
        Height of the first triangle at `Preset.sized_level` [throat diameters].
    growth : float
        Each row's height over that of the row before, at level 1.
    thickness : float
        Of all rows, at every level [throat diameters].
    fan : int
        Rows that go round a sharp edge.
    """

    first: float
    growth: float
    thickness: float
    fan: int


@dataclass(frozen=True)
class Preset:
    """One kind of mesh: its levels, and sizes of its triangles in throat diameters.

    Attributes
    ----------
    kind : str
        ``acoustics``, ``laminar`` or ``turbulent``.
    levels : int
        Number of meshes on which every case is solved.
    sized_level : int
        Level at which the sizes hold.
    refinements : int
        Number of finer meshes, for flow rates whose pressure drop the others do not give to the
        study's tolerance.
    edge : float
        At an edge of the wall that turns by more than `blunt_angle` into the air.
    throat_end : float
        At the slight edge between throat and backbore.
    entry_arc : float
        Share of the length of a curved throat entry.
    throat_wall, cup_wall : float
        Along the walls of throat and entry, and of the cup.
    cup_wall_growth : float
        Increase of the size along the cup's wall with distance from the throat, up to `cup_wall`:
        a measured bore's entry is made of the cup's last stretches.
    throat : float
        Inside throat and entry.
    throat_layer : float
        Off the throat's wall, where flow from a sharp edge shears.
    jet : float or None
        In the layer between the jet behind the throat and the air around it.
    narrow, wide : float
        On the axis of the backbore and where it is wide.
    cup : float
        What is added at the rim plane, falling to nothing at the throat.
    growth, edge_growth, jet_growth : float
        Increase of size with distance: in general, from edges, from the jet's layer.
    backbore_wall : float or None
        Along the wall of the backbore, where it has a size of its own.
    stretch : float
        How many times longer than wide triangles are in the backbore and behind it, and
    stretch_from : float
        how far behind the throat they begin to be.
    layer : WallLayer or None
        Flat triangles along the whole wall instead of plain ones.
    """

    kind: str
    levels: int
    sized_level: int
    edge: float
    throat_end: float
    entry_arc: float
    throat_wall: float
    cup_wall: float
    throat: float
    throat_layer: float
    jet: float | None
    narrow: float
    wide: float
    cup: float
    growth: float
    edge_growth: float
    jet_growth: float = 0.1
    cup_wall_growth: float = 1.0
    backbore_wall: float | None = None
    stretch: float = 1.0
    stretch_from: float = 1.0
    layer: WallLayer | None = None
    refinements: int = 0

    #: Edges that turn by less than this [rad] get no refinement of their own.
    blunt_angle: float = 0.2

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
    sized_level=2,
    edge=0.001,
    throat_end=0.08,
    entry_arc=0.15,
    throat_wall=0.2,
    cup_wall=0.35,
    throat=0.2,
    throat_layer=0.2,
    jet=None,
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
    levels=2,
    refinements=1,
    sized_level=1,
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
    growth=0.2,
    edge_growth=0.12,
    jet_growth=0.15,
    cup_wall_growth=0.02,
    stretch=4.0,
)

#: For turbulent flow; the first row's height here is that for a throat Reynolds number of 6000.
#: With long triangles behind the throat a third fewer unknowns give the drop within 0.2 %.
TURBULENT = Preset(
    kind="turbulent",
    levels=2,
    sized_level=1,
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
    growth=0.2,
    edge_growth=0.2,
    backbore_wall=0.15,
    stretch=3.0,
    layer=WallLayer(first=0.002, growth=1.2, thickness=0.12, fan=8),
)
#: The same for a wall with steps lower than the rows are thick, past which rows cannot run.  On a
#: bore without steps plain triangles gave the same pressure drop within 0.5 %, with a y⁺ of 17.
TURBULENT_PLAIN = replace(
    TURBULENT,
    edge=0.004,
    throat_wall=0.006,
    cup_wall=0.15,
    cup_wall_growth=0.02,
    backbore_wall=0.04,
    layer=None,
)
#: Height of the first row times throat Reynolds number: the row then ends at a wall distance y⁺ of
#: about 0.7 in a smooth pipe and below 4 on a tightly rounded entry, where wall shear is greatest.
FIRST_ROW_REYNOLDS = 12.0
#: Highest first row [throat diameters].
HIGHEST_ROW = 0.003


def turbulent(reynolds: float, height: float = 1.0) -> Preset:
    """`TURBULENT` with a first row that resolves the wall up to a throat Reynolds number.

    Parameters
    ----------
    reynolds : float
        The highest one that is solved on the mesh.
    height : float
        Of the first row over that guess, for bores whose walls turned out to need a lower one.
    """
    first = height * min(HIGHEST_ROW, FIRST_ROW_REYNOLDS / reynolds)
    return replace(TURBULENT, layer=WallLayer(first=first, growth=1.2, thickness=0.12, fan=8))
