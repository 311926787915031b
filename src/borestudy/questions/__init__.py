"""Questions about one bore that a notebook asks: which dimension, by how much, at what cost."""

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any, TypedDict, Unpack, cast

from borestudy import notebook
from borestudy.acoustics.termination import build_termination
from borestudy.air import Air
from borestudy.flow.models.of_bore import Transition
from borestudy.notebook import Bore
from borestudy.optimisation.solved import Question, solve_case
from borestudy.stages.in_process import solve_study_tolerances
from borestudy.stages.wish import KeptSolves, wish_result
from borestudy.study import Study, models, study_from_mapping
from borestudy.study.errors import StudyError
from borestudy.views.sensitivities import Sensitivities, of_case
from borestudy.views.text import refused
from borestudy.views.tolerances import Scatter
from borestudy.views.trade_off import TradeOff
from borestudy.views.trade_off import trade_off as of_table
from borestudy.views.wish import WishedBores

if TYPE_CHECKING:
    import pandas as pd

#: What a notebook's one bore is called in tables.
NAME = "bore"
#: Begins of a study's keys, and what they are among the arguments here.
ARGUMENTS = {r"wish\.": "", r"tolerances\.": "dimensions.", "tolerance:": "lengths:"}
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


def tolerances(
    bore: Bore,
    air: Air,
    *,
    lengths: str = "0.001 in",
    dimensions: Mapping[str, str | float] | None = None,
    **settings: Unpack[Settings],
) -> Scatter:
    """How far the quantities of a bore scatter when it is cut within its tolerances.

    Every dimension is off by anything within its tolerance, in either direction and independently.

    Parameters
    ----------
    bore : Bore
        A bore that `Bore.from_dimensions` or `Bore.from_stations` made.
    air : Air
        Air at rest.
    lengths : str
        Tolerance of every length and diameter, either way.
    dimensions : mapping, optional
        Tolerances of single dimensions in its place, such as ``{"throat.diameter": "0.0005 in"}``.
    **settings
        As `sensitivities` takes them.

    Returns
    -------
    Scatter
        With `of`, `to_frame` (the columns of ``tolerances.csv``) and `plot`.

    Raises
    ------
    StudyError
        Naming the argument, what was found, what is allowed, and an example.
    MeshError
        If the bore has no mesh.
    """
    asked = question(bore, air, **settings)
    more = {"tolerance": lengths, "tolerances": dict(dimensions or {})}
    return Scatter(solve_study_tolerances(_study_of(bore, asked, more), asked))


def wish(
    bore: Bore,
    air: Air,
    *,
    change: Mapping[str, str] | None = None,
    reach: Mapping[str, str] | None = None,
    keep: Mapping[str, str] | None = None,
    free: Sequence[str] | Mapping[str, Mapping[str, str] | None],
    existing: bool = False,
    **settings: Unpack[Settings],
) -> WishedBores:
    """The bores that come nearest to a wish, each solved on its own mesh, and what they cost.

    Parameters
    ----------
    bore : Bore
        The bore that is to be changed, from `Bore.from_dimensions`.
    air : Air
        Air at rest.
    change : mapping, optional
        How much quantities shall change, such as ``{"resonance": "+15 cents"}`` or
        ``{"flow resistance at 0.2 L/s": "-10 % within 1 %"}``.
    reach : mapping, optional
        Values that quantities shall have, such as ``{"resonance": "900 Hz"}``.
    keep : mapping, optional
        How far quantities may change, such as ``{"cup volume": "within 2 %"}``.
    free : sequence of str or mapping
        The dimensions that may move; or each with ``from``, ``to`` and ``sizes`` (``"drill"``, a
        step, or ``"any"``), such as ``{"throat.diameter": {"to": "drill 22", "sizes": "drill"}}``.
    existing : bool
        Whether the bore exists, so that its wall may only move outward.
    **settings
        As `sensitivities` takes them.

    Returns
    -------
    WishedBores
        With `met`, `bores`, `to_frame` (the columns of ``wishes.csv``) and `plot`.

    Raises
    ------
    StudyError
        Naming the argument, what was found, what is allowed, and an example.
    MeshError
        If the bore has no mesh.
    """
    asked = question(bore, air, **settings)
    wished = {
        "change": dict(change or {}),
        "reach": dict(reach or {}),
        "keep": dict(keep or {}),
        "free": free if isinstance(free, Mapping) else dict.fromkeys(free),
        "bore": "existing" if existing else "new",
    }
    study = _study_of(bore, asked, {"wish": wished})
    with TemporaryDirectory(prefix="borestudy.") as folder:
        return WishedBores(wish_result(study, KeptSolves(Path(folder), asked, "")))


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


def _study_of(bore: Bore, asked: Question, more: Mapping[str, Any]) -> Study:
    """A study that asks of a bore what a notebook does, with its wish or tolerances."""
    behind = {"air column": str(asked.air_column)} if asked.air_column else asked.termination
    lowest, highest = asked.frequency_range
    contents = {
        "bore": bore.section.model_dump(mode="json", by_alias=True),
        "resonance": {"from": f"{lowest!r} Hz", "to": f"{highest!r} Hz", "behind": behind},
        "flow": {"rates": [f"{float(1e3 * rate):.10g} L/s" for rate in asked.rates]},
        **more,
    }
    try:
        return study_from_mapping(contents, bore.directory, NAME)
    except StudyError as problem:
        words = str(problem)
        for key, argument in ARGUMENTS.items():
            words = re.sub(rf"^{key}", argument, words, flags=re.MULTILINE)
        raise StudyError(words) from None
