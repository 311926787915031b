"""What it takes to start a tone on one bore, as a notebook asks."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Unpack

from borestudy import notebook
from borestudy.air import Air
from borestudy.notebook import Bore
from borestudy.playing.lips import Lips
from borestudy.questions import NAME, Settings, question
from borestudy.stages.onset_of_bore import HIGHEST, solve_onset
from borestudy.study.errors import StudyError
from borestudy.study.lips import LipsSection
from borestudy.views.onset import Onset


def onset(
    bore: Bore,
    column: Path | str | None = None,
    lips: Lips | Mapping[str, Any] | None = None,
    *,
    air: Air | None = None,
    others: int = 50,
    **settings: Unpack[Settings],
) -> Onset:
    """What it takes to start a tone in each register of a bore with an air column.

    Parameters
    ----------
    bore : Bore
        A bore that `Bore.from_dimensions` or `Bore.from_stations` made.
    column : path, optional
        A CSV file of the stations of what follows the shank end. Without one the onset is that of
        the mouthpiece on its own pipe, or with what ``termination`` says.
    lips : Lips or mapping, optional
        The lips that are to start a tone; those of ``bs.Lips()`` by default. A mapping has the keys
        of a study's section ``lips``.
    air : Air, optional
        Air at rest; by default ``bs.Air()``.
    others : int
        How many lips of a fixed set are tried besides, from 10 to 200.
    **settings
        As `sensitivities` takes them, but that ``to`` is ``"2500 Hz"`` by default.

    Returns
    -------
    Onset
        With `registers`, `to_frame` (the columns of ``onset.csv``) and `plot`; it prints itself.

    Raises
    ------
    StudyError
        Naming the argument, what was found, what is allowed, and an example.
    MeshError
        If the bore has no mesh.
    """
    if column is not None and not isinstance(column, str | Path):
        raise StudyError(
            f"column: found {column!r}; allowed is a file of stations, and the air goes by its "
            'name, for example bs.onset(bore, "air-column.csv", bs.Lips(), air=bs.Air())'
        )
    if column is not None and "termination" in settings:
        raise StudyError(
            "termination: found one beside an air column; allowed is one of both, for example "
            'bs.onset(bore, "air-column.csv")'
        )
    if lips is not None and not isinstance(lips, Lips | Mapping):
        raise StudyError(
            f"lips: found {lips!r}; allowed is one that Lips made, or a mapping, for example "
            'bs.Lips(width="9 mm")'
        )
    given = dict(lips) if isinstance(lips, Mapping) else {}
    section = notebook.checked(LipsSection, **given, others=others)
    own = lips if isinstance(lips, Lips) else section.own()
    if column is not None:
        settings["termination"] = {"air column": str(column)}
    settings.setdefault("to", HIGHEST)
    asked = question(bore, air or notebook.Air(), **settings)
    return Onset(solve_onset(NAME, bore, asked, own, section.others()), own)
