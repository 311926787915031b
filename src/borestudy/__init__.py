"""Compare mouthpiece bores before metal is cut: the front door for notebooks.

.. code-block:: python

    import borestudy as bs

    bore = bs.Bore.from_stations("bore.csv")
    air = bs.Air("25 degC", "50 %")
    peaks = bs.acoustics(bore, air).resonances()
    drop = bs.flow(bore, air, rates="0.05, 0.1, 0.3 L/s").pressure_drop
    bore.plot()
    bs.sensitivities(bore, air).plot()  # which dimension, by how much, at what cost
    bs.onset(bore, "air-column.csv", bs.Lips(), air=air).plot()  # what it takes to start a tone

Quantities are texts with their units, as in a study file; the meshes, levels and solvers are those
of the workflow.  Importing this module loads none of them.
"""

import importlib
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

# Python binds a package's name in its parent when the package is loaded, once.  These two hold
# nothing but a docstring and are loaded first, so that the functions below keep their names;
# `from borestudy.flow import …` finds the package all the same.
importlib.import_module("borestudy.acoustics")
importlib.import_module("borestudy.flow")

if TYPE_CHECKING:
    from pathlib import Path

    from borestudy.acoustics.solution import AcousticSolution
    from borestudy.air import Air as Constants
    from borestudy.bore import Bore as Generatrix
    from borestudy.flow.result import FlowResult
    from borestudy.notebook import Air, Bore, Lips
    from borestudy.questions import sensitivities, tolerances, trade_off, wish
    from borestudy.questions.onset import onset

__version__ = "0.1.0"
__all__ = [
    "Air", "Bore", "Lips", "acoustics", "flow", "onset", "sensitivities", "tolerances", "trade_off",
    "wish",
]  # fmt: skip

#: Names that are loaded when they are first asked for, by their modules.
LATE = {
    "Air": "notebook",
    "Bore": "notebook",
    "Lips": "notebook",
    "onset": "questions.onset",
    "sensitivities": "questions",
    "tolerances": "questions",
    "trade_off": "questions",
    "wish": "questions",
}


def __getattr__(name: str) -> Any:
    if name in LATE:
        return getattr(importlib.import_module(f"borestudy.{LATE[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def acoustics(
    bore: "Generatrix",
    air: "Constants",
    *,
    termination: str | Mapping[str, str] = "anechoic pipe",
    from_: str | float = "50 Hz",
    to: str | float = "5000 Hz",
    walls: str = "curved",
    resolution: str = "medium",
) -> "AcousticSolution":
    """Solve the linear acoustics of a bore between its rim plane and its shank end.

    Parameters
    ----------
    bore : Bore
        A bore that `Bore.from_dimensions` or `Bore.from_stations` made.
    air : Air
        Air at rest.
    termination : str or mapping
        What follows the shank end: ``"anechoic pipe"``, ``"open"``, ``"open flanged"``,
        ``"closed"``, or ``{"air column": "air-column.csv"}``.
    from_, to : str or float
        Range of frequencies, such as ``"50 Hz"``, or a number of hertz.
    walls : {"curved", "plain", "lossless"}
        Losses at the walls: with their curvature, as on a plane wall, or none.
    resolution : {"coarse", "medium", "fine"}
        Resolution of the finest of three meshes.

    Returns
    -------
    AcousticSolution
        The solution, with `resonances`, `impedance`, `with_termination`, `to_frame` and `plot`.

    Raises
    ------
    StudyError
        Naming the argument, what was found, what is allowed, and an example.
    MeshError
        If the bore has no mesh.
    """
    from borestudy import mesh, notebook
    from borestudy.acoustics.solution import AcousticSolution, terminated
    from borestudy.acoustics.two_port import solve_two_port
    from borestudy.study import models

    asked = notebook.checked(
        models.Resonance,
        termination=termination,
        from_=notebook.written(from_, "Hz"),
        to=notebook.written(to, "Hz"),
        walls=walls,
    )
    preset = mesh.ACOUSTICS.at(notebook.checked(models.Mesh, resolution=resolution).resolution)
    end = terminated(termination, bore.shank_radius, asked.walls)
    ends = asked.from_.value, asked.to.value
    two_port = solve_two_port(mesh.mesh_ladder(bore, preset), air, *ends, asked.walls)
    return AcousticSolution(two_port, end)


def flow(
    bore: "Generatrix",
    air: "Constants",
    *,
    rates: str | float | Sequence[str | float] = "0.05, 0.1, 0.2, 0.3 L/s",
    model: str = "estimate",
    transition: Mapping[str, Any] | None = None,
    inlet: str = "uniform",
    tolerance: str | float = "1 %",
    resolution: str = "medium",
    fields: "Path | str | None" = None,
) -> "FlowResult":
    """Solve the steady flow through a bore at several rates.

    Parameters
    ----------
    bore : Bore
        A bore that `Bore.from_dimensions` or `Bore.from_stations` made.
    air : Air
        The air's density, viscosity and speed of sound.
    rates : str, float or sequence
        Rising flow rates, such as ``"0.05, 0.1 L/s"``, or numbers of m³/s.
    model : {"estimate", "laminar", "turbulent"}
        Best estimate, turbulent from where `transition` says; or one of two extremes: laminar
        everywhere, or turbulent from the rim plane on by the Spalart–Allmaras model, which a throat
        Reynolds number of 2500 or more allows.
    transition : mapping, optional
        Where the best estimate turns turbulent, in the keys of a study's ``flow.transition``, such
        as ``{"from": "rim plane"}`` or ``{"distance_factor": 2}``.
    inlet : {"uniform", "developed"}
        Velocity profile over the rim plane.
    tolerance : str or float
        Numerical uncertainty wanted of a pressure drop, such as ``"1 %"`` of it.
    resolution : {"coarse", "medium", "fine"}
        Resolution of the finest mesh that every rate is solved on.
    fields : path, optional
        Folder for a ``.vtu`` file of each rate, for ParaView.

    Returns
    -------
    FlowResult
        The result, with `pressure_drop`, `rates`, `to_frame` and `plot`.

    Raises
    ------
    StudyError, ValueError
        Naming the argument, what was found, what is allowed, and an example.
    MeshError
        If the bore has no mesh.
    """
    from dataclasses import replace
    from pathlib import Path
    from tempfile import TemporaryDirectory

    from borestudy import notebook
    from borestudy.flow.meshes import PRESETS, FlowMeshes, solve_bore
    from borestudy.flow.models.of_bore import Transition
    from borestudy.flow.refinement import with_floors
    from borestudy.flow.regime import rate_scale
    from borestudy.study import models

    asked = notebook.checked(
        models.Flow,
        rates=notebook.written(rates, "m³/s"),
        inlet=inlet,
        transition=transition or {},
        tolerance=notebook.written(tolerance, "%"),
    )
    size = notebook.checked(models.Mesh, resolution=resolution).resolution
    if model not in PRESETS:
        allowed = f"{' or '.join(PRESETS)}, for example estimate"
        raise ValueError(f"model: found {model!r}; allowed is {allowed}")
    wanted, share = [rate.value for rate in asked.rates], asked.tolerance.value
    kept = None if fields is None else Path(fields)
    greatest = rate_scale(air, wanted[-1], 2 * bore.throat_radius).reynolds
    with TemporaryDirectory(prefix="borestudy.") as folder:
        paths = [Path(folder) / f"{name}.msh" for name in PRESETS[model].names]
        files = FlowMeshes(bore, paths, model, size, greatest)
        files.make()
        found = solve_bore(
            files,
            air,
            wanted,
            asked.inlet,
            transition=Transition(**asked.transition.settings()),
            tolerance=share,
            fields=kept,
        )
    return replace(found, rates=with_floors(found.rates, share))
