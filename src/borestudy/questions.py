"""Questions about one bore that a notebook asks: which dimension, by how much, at what cost."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypedDict, Unpack, cast

from borestudy import notebook
from borestudy.acoustics.termination import build_termination
from borestudy.air import Air
from borestudy.flow.models.of_bore import Transition
from borestudy.notebook import Bore
from borestudy.optimisation.solved import Question, solve_case
from borestudy.study import models
from borestudy.study.errors import StudyError
from borestudy.views.sensitivities import Sensitivities, of_case
from borestudy.views.text import refused
from borestudy.views.trade_off import TradeOff
from borestudy.views.trade_off import trade_off as of_table

if TYPE_CHECKING:
    import pandas as pd

#: What a notebook's one bore is called in tables.
NAME = "bore"
EXAMPLE = 'bs.Bore.from_stations("bore.csv")'


class Settings(TypedDict, total=False):
    """How a bore is solved: the arguments of `borestudy.acoustics` and of `borestudy.flow`."""

    rates: str | float | Sequence[str | float]
    termination: str | Mapping[str, str]
    from_: str | float
    to: str | float
    walls: str
    transition: Mapping[str, Any]
    inlet: str
    tolerance: str | float
    resolution: str


def sensitivities(bore: Bore, air: Air, **settings: Unpack[Settings]) -> Sensitivities:
    """What a small change of each dimension does to each quantity of a bore, to first order.

    Parameters
    ----------
    bore : Bore
        A bore that `Bore.from_dimensions` or `Bore.from_stations` made.
    air : Air
        Air at rest.
    **settings
        ``rates`` (by default ``"0.05, 0.1, 0.2, 0.3 L/s"``), ``transition``, ``inlet`` and
        ``tolerance`` as `borestudy.flow` takes them; ``termination``, ``from_``, ``to`` and
        ``walls`` as `borestudy.acoustics` does; ``resolution`` of both.

    Returns
    -------
    Sensitivities
        With `to_frame` (the columns of ``sensitivities.csv``), `of` and `plot`; it prints itself.

    Raises
    ------
    StudyError
        Naming the argument, what was found, what is allowed, and an example.
    MeshError
        If the bore has no mesh.
    """
    asked = question(bore, air, **settings)
    return of_case(solve_case(NAME, bore, bore.dimensions, asked), bore)


def trade_off(
    table: "pd.DataFrame | Path | str",
    x: str,
    y: str,
    *,
    better_x: str | None = None,
    better_y: str | None = None,
) -> TradeOff:
    """Two columns of a table of cases against each other, the non-dominated cases marked.

    Parameters
    ----------
    table : DataFrame or path
        A row a case, the base case first; or a CSV file of such; or a folder of results, of which
        ``comparison.csv`` is taken.
    x, y : str
        Names of two columns of numbers, such as ``resonance_Hz``.
    better_x, better_y : {"lower", "higher", "near"}, optional
        What is better in each column; near is near to the base case's value. By default a flow
        resistance or pressure drop is better lower, anything else near.

    Returns
    -------
    TradeOff
        With `to_frame` and `plot`.

    Raises
    ------
    ValueError
        Naming the argument, what was found, what is allowed, and an example.
    """
    return of_table(table, x, y, (better_x, better_y))


def question(bore: Bore, air: Air, **settings: Unpack[Settings]) -> Question:
    """What is asked of a bore, each argument checked as the study's key is.

    Raises
    ------
    StudyError
        Naming the argument, what was found, what is allowed, and an example.
    """
    if not isinstance(bore, Bore) or not hasattr(bore, "section"):
        raise StudyError(
            f"bore: found {bore!r}, whose dimensions are not known; allowed is one that "
            f"Bore.from_dimensions or Bore.from_stations made, for example {EXAMPLE}"
        )
    known = Settings.__optional_keys__
    for name in settings.keys() - known:
        raise StudyError(refused("argument", name, sorted(known)))
    sound, flow, mesh = sections(settings)
    column = sound.behind.air_column if isinstance(sound.behind, models.AirColumn) else None
    kind = "air column" if column else str(sound.behind)
    build_termination(kind, bore.shank_radius, sound.walls, column)  # refused before it is solved
    return Question(
        air=air,
        frequency_range=(sound.from_.value, sound.to.value),
        walls=sound.walls,
        termination=kind,
        air_column=column,
        rates=tuple(rate.value for rate in flow.rates),
        inlet=flow.inlet,
        transition=Transition(**flow.transition.settings()),
        tolerance=flow.tolerance.value,
        resolution=mesh.resolution,
    )


def sections(settings: Settings) -> tuple[models.Resonance, models.Flow, models.Mesh]:
    """The settings as sections of a study, checked as those are."""

    def given(units: Mapping[str, str]) -> dict[str, Any]:
        plain = cast("Mapping[str, Any]", settings)
        return {
            name: notebook.written(plain[name], unit) if unit else plain[name]
            for name, unit in units.items()
            if plain.get(name) is not None
        }

    sound = {"termination": "", "from_": "Hz", "to": "Hz", "walls": ""}
    flow = {"rates": "m³/s", "inlet": "", "transition": "", "tolerance": "%"}
    return (
        notebook.checked(models.Resonance, **given(sound)),
        notebook.checked(models.Flow, **given(flow)),
        notebook.checked(models.Mesh, **given({"resolution": ""})),
    )
