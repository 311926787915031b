"""The flow solver with the study's own mesh settings against answers that are known.

A solution that is not found makes a figure that is not a number, which fails.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from skfem import MeshTri2

from borestudy.air import Air
from borestudy.bore import Bore, cone, cylinder
from borestudy.bore.segment import conic, polyline
from borestudy.closed_form import pipe_flow
from borestudy.closed_form.cone_flow import CreepingCone
from borestudy.flow.boundary import Inlet, boundary_values
from borestudy.flow.discretisation import discretise
from borestudy.flow.edges import EdgeTables
from borestudy.flow.models.laminar import Laminar, creeping_flow
from borestudy.flow.observables.lines import wall_line, wall_shear
from borestudy.flow.observables.sections import (
    bore_sections,
    pressure_work,
    scaled_figures,
    section_tables,
)
from borestudy.flow.observables.separation import bubbles
from borestudy.flow.problem import Problem, State
from borestudy.flow.regime import rate_scale
from borestudy.flow.result import DropSlope
from borestudy.flow.sensitivity.slopes import Variations, drop_slopes
from borestudy.flow.solver import Level, follow, next_level, prepare
from borestudy.mesh import LAMINAR, Preset
from borestudy.results.check import Check
from borestudy.verification import finest_mesh
from borestudy.verification.exponents import by_size, power

RADIUS = 1.83e-3
DIAMETER = 2 * RADIUS


@dataclass(frozen=True)
class Solved:
    """A check's flow on its mesh: what a figure is read from, beside a state."""

    problem: Problem
    sections: dict[str, EdgeTables]


@dataclass(frozen=True)
class Bench:
    """Where and how finely a check's bore is meshed."""

    preset: Preset
    directory: Path

    def mesh(self, bore: Bore, name: str) -> MeshTri2:
        """Mesh a bore; its file is named after the check."""
        return finest_mesh(bore, self.directory / f"laminar-{name}.msh", self.preset)

    def figures(
        self,
        bore: Bore,
        name: str,
        inlet: Inlet,
        reynolds: Sequence[float],
        read: Callable[[Solved, State], float],
    ) -> list[float]:
        """Solve the laminar flow and read a figure at each Reynolds number, NaN where none is.

        Without the adjoint solutions, which only error estimates and derivatives need.
        """
        model = Laminar()
        problem = prepare(model, self.mesh(bore, name), DIAMETER, inlet)
        states = follow(model, problem, reynolds).points
        solved = Solved(problem, section_tables(problem.space))
        return [read(solved, state) if state else float("nan") for state in states]


def pressure_drop(solved: Solved | Level, state: State) -> float:
    """Read the whole pressure drop [q]."""
    return scaled_figures(solved.problem, state, solved.sections)["pressure_drop"]


def verify_flow(air: Air, resolution: str, directory: Path) -> list[Check]:
    """Solve flows with known answers."""
    bench = Bench(LAMINAR.at(resolution), directory)
    return [
        *check_developed(air, bench),
        check_developing(bench),
        check_creeping_cone(air, bench),
        check_contraction(bench),
        *check_expansion(bench),
        *check_long_radius_nozzle(bench),
    ]


def check_developed(air: Air, bench: Bench) -> list[Check]:
    """Pressure drop of developed flow in a throat-sized pipe, with its derivatives by the pipe.

    The drop goes with the power -4 of the diameter, the flow rate being held, and with the length.
    """
    sizes, reynolds = {"radius": RADIUS, "length": 6 * DIAMETER}, 500.0
    bore = cylinder(sizes["radius"], sizes["length"])
    mesh, model = bench.mesh(bore, "developed"), Laminar()
    variations = Variations(bore, by_size(cylinder, **sizes), model)
    level = next_level(model, None, mesh, DIAMETER, "developed", [reynolds], variations=variations)
    rate = reynolds * air.kinematic_viscosity * np.pi / 4 * DIAMETER
    name, source = "developed pipe flow, Re 500", "Hagen 1839, Poiseuille 1840"
    (state,) = level.states
    scale, computed = rate_scale(air, rate, DIAMETER), float("nan")
    slopes: Mapping[str, DropSlope] = {}
    if state is not None:
        computed = scale.factor("Pa") * pressure_drop(level, state)
        slopes = drop_slopes(variations, scale, [state], [level.motion], ratio=1.0)
    exact = pipe_flow.developed_flow_drop(air, RADIUS, sizes["length"], rate)
    checks = [Check(name, "pressure drop", "Pa", computed, exact, 0.1, source)]
    for key, known in {"radius": -4.0, "length": 1.0}.items():
        slope = slopes[key].pressure_drop if slopes else None
        found = power(slope, sizes[key], computed)
        words = f"exponent of {key} in the pressure drop"
        checks.append(Check(name, words, "", found, known, 0.1, source))
    return checks


def check_developing(bench: Bench) -> Check:
    """Pressure between two stations of pipe flow that develops from a uniform inlet.

    The table belongs to the limit of high Reynolds numbers; upstream influence of the inlet's
    edge, which the limit leaves out, is 0.4 % of this difference at the one used here.
    """
    reynolds, first, last = 1000.0, 0.01, 0.02
    ends = [first * reynolds * DIAMETER, last * reynolds * DIAMETER]
    legs = [(ends[0], RADIUS, "cup"), (ends[1], RADIUS, "throat")]
    bore = Bore(polyline((0.0, RADIUS), *legs, (1.03 * ends[1], RADIUS, "pipe")))

    def between(solved: Solved, state: State) -> float:
        sections = bore_sections(solved.problem, state, solved.sections)
        return 2 * (sections["cup_end"].pressure - sections["throat_end"].pressure)

    (computed,) = bench.figures(bore, "developing", "uniform", [reynolds], between)
    known = pipe_flow.DEVELOPING_FLOW_TABLE[last] - pipe_flow.DEVELOPING_FLOW_TABLE[first]
    quantity = f"pressure difference from x/(D Re) = {first:g} to {last:g}"
    source = "computed on two grids that agree to 4e-4; Shah 1978 (from memory) within 2 %"
    return Check("developing pipe flow, Re 1000", quantity, "q", computed, known, 1.0, source)


def check_creeping_cone(air: Air, bench: Bench) -> Check:
    """Work that creeping flow takes through a cone, against its exact dissipation."""
    first, last, angle = RADIUS, 2 * RADIUS, 0.1
    length = (last - first) / np.tan(angle)
    space = discretise(bench.mesh(cone(first, last, length), "creeping-cone"), DIAMETER)
    # scaled by the throat's diameter and mean velocity, with unit viscosity
    exact = CreepingCone(angle, -0.5 / np.tan(angle), np.pi / 4, viscosity=1.0)
    values = boundary_values(space, exact.velocity, exact.velocity)
    problem = Laminar().problem(space, values)
    unknowns = creeping_flow(problem, 1.0)
    state = State(1.0, unknowns, np.zeros_like(unknowns), 1, 1)
    residual = space.residual(unknowns, 1.0, problem.equations.stabilisation, inertia=0.0)
    work = sum(pressure_work(problem, residual, state, end) for end in ("rim_plane", "shank_end"))
    flow_rate = 1e-6
    unit = air.viscosity * flow_rate / (np.pi / 4 * DIAMETER**3)
    known = unit * exact.dissipation(0.0, length / DIAMETER) / (np.pi / 4)
    quantity = "pressure drop, flux-weighted, at 0.001 L/s"
    source = "exact solution of the Stokes equations (Harrison 1919)"
    return Check("creeping flow in a cone", quantity, "Pa", unit * work, known, 0.5, source)


def check_contraction(bench: Bench) -> Check:
    """Pressure drop of a sharp 3:1 contraction beyond developed friction."""
    reynolds, before, after = 100.0, 6 * DIAMETER, 10 * DIAMETER
    wide = 3 * RADIUS
    legs = [(before, wide, "cup"), (before, RADIUS, "cup"), (before + after, RADIUS, "throat")]
    bore = Bore(polyline((0.0, wide), *legs))
    (drop,) = bench.figures(bore, "contraction", "developed", [reynolds], pressure_drop)
    friction = 64 / reynolds * (after + before / 81) / DIAMETER
    name, quantity = "sharp 3:1 contraction, Re 100", "pressure drop beyond developed friction"
    law = "2.30 + 18.2/Re, computed for Re 20 to 100 on meshes graded to the edge; no publication"
    known = pipe_flow.contraction_excess(reynolds)
    return Check(name, quantity, "q", drop - friction, known, 2.0, law)


def check_expansion(bench: Bench) -> list[Check]:
    """Reattachment length downstream of a sudden 1:2 expansion."""
    numbers, before, after = [50.0, 100.0, 200.0], 2 * DIAMETER, 14 * DIAMETER
    ring = [(before, RADIUS, "throat"), (before, DIAMETER, "backbore")]
    bore = Bore(polyline((0.0, RADIUS), *ring, (before + after, DIAMETER, "backbore")))

    def reattachment(solved: Solved, state: State) -> float:
        space = solved.problem.space
        wall = wall_line(space)
        found = bubbles(wall, wall_shear(space, state, wall))
        ends = [bubble.reattachment for bubble in found if bubble.reattachment is not None]
        return (max(ends, default=float("nan")) - before / DIAMETER) / 0.5

    lengths = bench.figures(bore, "expansion", "developed", numbers, reattachment)
    source = "0.0882 Re, computed; 0.0876 Re, Hammad, Otugen & Arik 1999 (from memory)"
    quantity, checks = "reattachment length over step height", []
    for reynolds, computed in zip(numbers, lengths, strict=True):
        name = f"sudden 1:2 expansion, Re {reynolds:g}"
        known = pipe_flow.expansion_reattachment(reynolds)
        checks.append(Check(name, quantity, "1", computed, known, 3.0, source))
    return checks


def check_long_radius_nozzle(bench: Bench) -> list[Check]:
    """Shortfall of the discharge coefficient of a nozzle with an elliptical inlet from one.

    The shortfall is the displacement by laminar boundary layers, which are as thin as Re^−½.  The
    standard holds from a pipe Reynolds number of 1e4 on (ISO 5167-3:2003, scope), which with a
    throat of 3/7 of the pipe is 2.33e4 in the throat; for pipes of 50 mm and more, which makes no
    difference by similarity.  It knows C itself to 2 %, which is half of the shortfall, and its
    taps are not those of the sections used here.  Allowed is a fifth of that, 0.4 % of C or 8 % of
    the shortfall, since a boundary layer whose thickness goes wrong has to be seen.
    """
    numbers = [2.5e4, 3e4]
    # pipe, quarter ellipse of one throat diameter by two thirds, throat, and a little more
    face, start, end = 2 * DIAMETER, 3 * DIAMETER, 3.6 * DIAMETER
    wide = RADIUS + 2 / 3 * DIAMETER
    entry = conic((face, wide), (face, RADIUS), (start, RADIUS), np.sqrt(0.5), "entry")
    legs = [(end, RADIUS, "throat"), (end + DIAMETER, RADIUS, "backbore")]
    cup = polyline((0.0, wide), (face, wide, "cup"))
    bore = Bore([*cup, entry, *polyline((start, RADIUS), *legs)])

    def shortfall(solved: Solved, state: State) -> float:
        return 1 - scaled_figures(solved.problem, state, solved.sections)["discharge_coefficient"]

    found = bench.figures(bore, "long-radius-nozzle", "uniform", numbers, shortfall)
    law = "C = 0.9965 - 6.53 Re^-0.5, ISO 5167-3:2003, pipe Reynolds number from 1e4"
    checks = []
    for reynolds, computed in zip(numbers, found, strict=True):
        name, quantity = f"long-radius nozzle, Re {reynolds:.0f}", "1 - discharge coefficient"
        known = 1 - float(pipe_flow.long_radius_nozzle_discharge(reynolds))
        checks.append(Check(name, quantity, "1", computed, known, 8.0, law))
    return checks
