"""What it takes to start a tone on one bore, solved in this process; no file is left."""

import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from pydantic import ValidationError

from borestudy.acoustics.two_port import solve_two_port
from borestudy.bore import Bore
from borestudy.mesh import ACOUSTICS
from borestudy.mesh.read import read_mesh
from borestudy.optimisation.solved import Question, solve_case, solve_sound
from borestudy.playing.lips import Lips
from borestudy.results.case import CaseResults
from borestudy.stages.check import refuse_impossible
from borestudy.stages.geometry import write_halves
from borestudy.stages.layout import HALVES
from borestudy.stages.loads import case_loads
from borestudy.stages.onset import onset_of
from borestudy.stages.question import question_of
from borestudy.study import Case, Study, StudyError, study_from_mapping
from borestudy.study.errors import explain
from borestudy.study.lips import LipsSection

#: Up to where the sound of a bore is solved where no study says so.
HIGHEST = "2500 Hz"
#: Begin of a study's refusal, and which option of ``borestudy onset`` it is of.
REFUSED = {
    r"bore\.stations": "BORE-OR-STUDY",
    r"resonance\.behind(\.air column)?": "--column",
    r"flow\.rates(\[\d+\])?": "--rates",
    r"lips\.mass_per_area": "--mass-per-area",
    r"lips\.quality_factor": "--quality-factor",
    r"lips\.width": "--width",
    r"lips\.opening": "--opening",
}


def solve_onset(
    name: str, bore: Bore, question: Question, own: Lips, others: Sequence[Lips]
) -> CaseResults:
    """Mesh and solve a bore as a study with lips does, in a folder that does not stay.

    Parameters
    ----------
    name : str
        What the results are called.
    bore : Bore
        What is solved.
    question : Question
        What is asked of it, at all of its flow rates.
    own : Lips
        The lips that are to start a tone.
    others : sequence of Lips
        A set of other lips.

    Raises
    ------
    UnmeshedError
        If there is no mesh of the bore.
    """
    sound = whole, end = solve_sound(bore, (), question)
    with TemporaryDirectory(prefix="borestudy.") as folder:
        paths = [Path(folder) / f"{half}.msh" for half in HALVES]
        write_halves(bore, paths, ACOUSTICS.at(question.resolution))
        meshes = [read_mesh(path) for path in paths]
    halves = [solve_two_port([mesh], whole.air, *whole.range_Hz, whole.walls) for mesh in meshes]
    found = solve_case(name, bore, (), question, sound=sound)
    loads = case_loads(halves, whole, end, found.flow, 2 * bore.throat_radius)
    return replace(found, onset=onset_of(loads, own, others))


def onset_study(
    stations: Path,
    column: Path | None,
    lips: Mapping[str, str],
    rates: str | None = None,
    resolution: str | None = None,
) -> Study:
    """A study of one measured bore that asks what it takes to start a tone on it.

    Parameters
    ----------
    stations : Path
        File of the bore's stations.
    column : Path, optional
        File of the stations of what follows the shank end.
    lips : mapping of str to str
        What is given of the lips, by the study's keys.
    rates, resolution : str, optional
        As a study has them.

    Raises
    ------
    StudyError
        Naming the option, what was found, what is allowed, and an example.
    """
    contents = {
        "bore": {"stations": stations.name},
        "resonance": {"to": HIGHEST},
        "flow": {} if rates is None else {"rates": rates},
        "mesh": {} if resolution is None else {"resolution": resolution},
        "lips": _numbers(lips),
    }
    if column is not None:
        beside = os.path.relpath(column, stations.parent)
        contents["resonance"]["behind"] = {"air column": beside}
    try:
        study = study_from_mapping(contents, stations.parent, stations.stem)
        refuse_impossible(study)
    except StudyError as problem:
        raise StudyError(in_options(str(problem))) from None
    return study


def with_lips(study: Study, lips: Mapping[str, str]) -> Study:
    """A study with what is given of its lips in their place, and with some where it has none.

    Raises
    ------
    StudyError
        As of `onset_study`.
    """
    if not lips and study.lips is not None:
        return study
    section = {} if study.lips is None else study.lips.model_dump(mode="json", by_alias=True)
    for key in lips:
        section.get("sources", {}).pop(key, None)
    try:
        found = LipsSection.model_validate(section | _numbers(lips))
    except ValidationError as problem:
        told = [f"lips.{line}" for line in explain(problem, LipsSection)]
        raise StudyError(in_options("\n".join(told))) from None
    return study.model_copy(update={"lips": found})


def _numbers(lips: Mapping[str, str]) -> dict[str, Any]:
    """What was given of lips, numbers as such."""
    return {
        key: float(value) if re.fullmatch(r"\d+(\.\d*)?", value.strip()) else value
        for key, value in lips.items()
    }


def in_options(words: str) -> str:
    """A study's refusal in the words of the command's options, a line for each mistake."""
    told = []
    for line in words.splitlines():
        for begin, option in REFUSED.items():
            if found := re.match(rf"(case [^:]+: )?{begin}(?=:)", line):
                line = f"{option}{line[found.end() :]}"
                break
        told.append(line)
    return "\n".join(dict.fromkeys(told))


def onset_of_study(study: Study, case: Case) -> tuple[CaseResults, Lips]:
    """A case of a study with its onset, solved now, and the lips that it is of."""
    section = study.lips or LipsSection()
    own = section.own()
    question = question_of(study, case.build_air())
    return solve_onset(case.name, case.build_bore(), question, own, section.others()), own
