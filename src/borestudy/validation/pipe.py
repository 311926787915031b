"""A long smooth pipe: friction, and the velocity's profile at its wall."""

from pathlib import Path
from typing import Any

import numpy as np
from fluids.friction import Prandtl_von_Karman_Nikuradse

from borestudy.bore import Bore
from borestudy.bore.segment import line
from borestudy.closure.measures import wall_units
from borestudy.flow.interpolation import velocity_at
from borestudy.flow.lines import wall_line
from borestudy.results.check import Check
from borestudy.validation.walls import Wall, row, solve_walls, uncertainty

REYNOLDS = (5e3, 1e4, 2e4, 1e5)
LENGTH, STRETCH_OF_WALL = 80.0, (48.0, 72.0)
#: Permitted deviation of the friction factor: twice the 2 % by which friction measured in smooth
#: pipes scatters about the law (from memory).
FRICTION_PERCENT = 4.0
#: Of the velocity: 2 % by which measured profiles scatter about their logarithm (from memory), and
#: 1 % of the friction velocity, half of the friction's own scatter.
PROFILE_PERCENT = 3.0
#: Where the profile is taken, and Nikuradse's (1932) logarithmic law, measured in pipes.
PROFILE_AT, SLOPE, INTERCEPT = 65.0, 2.5, 5.5


def pipe_flow(directory: Path) -> dict[str, Any]:
    """Friction factor between 48 and 72 diameters from the inlet, and u⁺ over y⁺ at 65."""
    rows, friction, profiles = [], [], {}
    for reynolds in REYNOLDS:
        bore = Bore(
            [line((0.0, 0.5), (1.0, 0.5), "throat"), line((1.0, 0.5), (LENGTH, 0.5), "backbore")]
        )
        walls = solve_walls(bore, [reynolds], directory, f"pipe-{reynolds:.0f}")
        ladder = [-wall.pressures[0].line(*STRETCH_OF_WALL)[0] for wall in walls]
        check = Check(
            check=f"smooth pipe, Re {reynolds:.0f}",
            quantity="Darcy friction factor",
            unit="1",
            computed=ladder[-1],
            reference=float(Prandtl_von_Karman_Nikuradse(reynolds)),
            tolerance_percent=FRICTION_PERCENT,
            source="Prandtl, von Karman, Nikuradse, as in fluids.friction",
        )
        error = uncertainty(ladder)
        rows.append(row(check, error))
        friction.append({"reynolds": reynolds, "friction": ladder[-1], "uncertainty": error})
        profiles[f"{reynolds:.0f}"] = profile(walls[-1])
    rows += [log_law(float(name), found) for name, found in profiles.items() if float(name) >= 1e4]
    return {"checks": rows, "friction": friction, "profiles": profiles}


def profile(wall: Wall) -> dict[str, list[float]]:
    """Velocity over the friction velocity against the wall distance in wall units."""
    task, state = wall.level.task, wall.level.states[0]
    chain = wall_line(task.space.flow)
    shear, _ = wall_units(task, state, chain)
    middle = 0.5 * (chain.position[0, 1:] + chain.position[0, :-1])
    friction_velocity = np.sqrt(np.interp(PROFILE_AT, middle, shear))
    scale = friction_velocity * state.reynolds
    y_plus = np.geomspace(0.5, 0.499 * scale, 60)
    places = np.stack([np.full(len(y_plus), PROFILE_AT), 0.5 - y_plus / scale])
    speed = velocity_at(task.space.flow, state.unknowns, places)[0] / friction_velocity
    return {"y_plus": y_plus.round(3).tolist(), "u_plus": speed.round(4).tolist()}


def log_law(reynolds: float, found: dict[str, list[float]]) -> dict[str, Any]:
    """The profile's mean deviation from the logarithmic law, between y⁺ 40 and a third of R⁺."""
    y_plus, u_plus = np.array(found["y_plus"]), np.array(found["u_plus"])
    inside = (y_plus >= 40) & (y_plus <= y_plus[-1] / 3)
    law = SLOPE * np.log(y_plus[inside]) + INTERCEPT
    check = Check(
        check=f"law of the wall, Re {reynolds:.0f}",
        quantity="mean velocity over the logarithmic law's",
        unit="1",
        computed=float(np.mean(u_plus[inside] / law)),
        reference=1.0,
        tolerance_percent=PROFILE_PERCENT,
        source="u+ = 2.5 ln y+ + 5.5, y+ from 40 to a third of the radius: Nikuradse 1932",
    )
    return row(check)
