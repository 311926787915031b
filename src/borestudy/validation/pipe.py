"""A long smooth pipe: friction, and the velocity's profile at its wall.

It is turbulent from its inlet on, the other choice of place: the rule of the best estimate is for
throats, and a developed flow has no memory of where it turned turbulent.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from fluids.friction import Prandtl_von_Karman_Nikuradse

from borestudy.bore import Bore
from borestudy.bore.segment import polyline
from borestudy.flow.interpolation import velocity_at
from borestudy.flow.observables.lines import wall_line, wall_shear
from borestudy.quantity import Quantity
from borestudy.results.check import Check
from borestudy.results.comparison_errors import ComparisonError
from borestudy.validation.comparing import compared
from borestudy.validation.ladder import Curve, FlowOnMesh, Solved, curve, quantity_of, solve_ladder

REYNOLDS = (5e3, 1e4, 2e4, 1e5)
#: Length of the pipe and the stretch its friction is read from [diameters].
LENGTH, STRETCH_OF_WALL = 80.0, (48.0, 72.0)
#: Permitted deviation of the friction factor: twice the 2 % by which friction measured in smooth
#: pipes scatters about the law (from memory).
SCATTER = 0.02
FRICTION_PERCENT = 200 * SCATTER
SOURCE = "Prandtl, von Karman, Nikuradse, as in fluids.friction"
#: Permitted deviation of the velocity: 2 % by which measured profiles scatter about their
#: logarithm (from memory), and 1 % of the friction velocity, half of the friction's own scatter.
PROFILE_PERCENT = 3.0
#: Where the profile is taken, and Nikuradse's (1932) logarithmic law, measured in pipes.
PROFILE_AT, SLOPE, INTERCEPT = 65.0, 2.5, 5.5
#: The law is compared from this Reynolds number on, where its range of y⁺ is wide enough.
LOWEST_FOR_LAW = 1e4


@dataclass(frozen=True)
class PipeFlow(Solved):
    """Darcy friction factor, and u⁺ against y⁺, each by Reynolds number."""

    friction: Mapping[str, Quantity]
    profiles: Mapping[str, Curve]


def pipe_bore() -> Bore:
    """The pipe."""
    return Bore(polyline((0.0, 0.5), (1.0, 0.5, "throat"), (LENGTH, 0.5, "backbore")))


def solve_pipe(directory: Path) -> PipeFlow:
    """Solve the turbulent flow at each Reynolds number on a mesh of its own."""
    bore = pipe_bore()
    friction, profiles = {}, {}
    for reynolds in REYNOLDS:
        name = f"{reynolds:.0f}"
        (solutions,) = solve_ladder(bore, "turbulent", [reynolds], directory, f"pipe-{name}")
        ladder = [-solution.wall.fit(*STRETCH_OF_WALL)[0] for solution in solutions]
        friction[name] = quantity_of(ladder)
        profiles[name] = profile(solutions[-1])
    return PipeFlow(friction, profiles)


def profile(solution: FlowOnMesh) -> Curve:
    """Velocity over the friction velocity against the wall distance in wall units."""
    space, state = solution.space, solution.state
    wall = wall_line(space)
    middle = 0.5 * (wall.position[0, 1:] + wall.position[0, :-1])
    friction_velocity = np.sqrt(np.interp(PROFILE_AT, middle, wall_shear(space, state, wall)))
    scale = friction_velocity * state.reynolds
    y_plus = np.geomspace(0.5, 0.499 * scale, 60)
    places = np.stack([np.full(len(y_plus), PROFILE_AT), 0.5 - y_plus / scale])
    return curve(y_plus, velocity_at(space, state.unknowns, places)[0] / friction_velocity)


def pipe_checks(pipe: PipeFlow) -> list[Check]:
    """Compare the friction with Prandtl and von Kármán and the profiles with the wall's law."""
    quantity = "Darcy friction factor"
    checks = []
    for reynolds, found in pipe.friction.items():
        known = float(Prandtl_von_Karman_Nikuradse(float(reynolds)))
        name, error = f"smooth pipe, Re {reynolds}", found.uncertainty
        checks.append(
            Check(name, quantity, "1", found.value, known, FRICTION_PERCENT, SOURCE, error)
        )
    high = {name: found for name, found in pipe.profiles.items() if float(name) >= LOWEST_FOR_LAW}
    return checks + [log_law(name, found) for name, found in high.items()]


def pipe_errors(pipe: PipeFlow) -> list[ComparisonError]:
    """The drop over one diameter as comparison errors; friction scatters by 2 % about the law."""
    rows = []
    for reynolds, found in pipe.friction.items():
        known = float(Prandtl_von_Karman_Nikuradse(float(reynolds)))
        computed = Quantity(found.value, found.uncertainty, "q")
        rows.append(
            compared(
                "throat friction", "smooth pipe, turbulent from its inlet on", "handbook",
                float(reynolds), pipe_bore(), computed, (known, SCATTER * known), SOURCE, 1.0, 1.0,
            )
        )  # fmt: skip
    return [replace(row, sharpness=0.0) for row in rows]


def log_law(reynolds: str, found: Curve) -> Check:
    """Compare a profile with the logarithmic law between y⁺ 40 and a third of R⁺."""
    y_plus, u_plus = np.array(found.position), np.array(found.value)
    inside = (y_plus >= 40) & (y_plus <= y_plus[-1] / 3)
    law = SLOPE * np.log(y_plus[inside]) + INTERCEPT
    name, quantity = f"law of the wall, Re {reynolds}", "mean velocity over the logarithmic law's"
    ratio = float(np.mean(u_plus[inside] / law))
    source = "u+ = 2.5 ln y+ + 5.5, y+ from 40 to a third of the radius: Nikuradse 1932"
    return Check(name, quantity, "1", ratio, 1.0, PROFILE_PERCENT, source)
