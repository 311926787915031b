"""A whole study: what is asked, of which bores, and how it is computed."""

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

import numpy as np
import yaml
from numpy.typing import NDArray
from pydantic import BeforeValidator, PrivateAttr, ValidationError
from pydantic_core import to_jsonable_python

from borestudy.files import replacing
from borestudy.study import models
from borestudy.study.asking import checked_wish
from borestudy.study.cases import Case, expand
from borestudy.study.errors import StudyError, explain
from borestudy.study.kept import KINDS, Kept
from borestudy.study.lips import LipsSection
from borestudy.study.models import AirColumn, MeasuredBore, Section, setting
from borestudy.study.quantities import ClaimsFile, MachiningError, Name
from borestudy.study.texts import checked_folder, plain, printable
from borestudy.study.tolerances import check_tolerances
from borestudy.study.vary import canonical_keys, check_values, variable_keys
from borestudy.study.vary_lists import listed, lists
from borestudy.study.wish import Asked, Wish
from borestudy.units import quoted

#: First line of a resolved study.
HEADING = "# The study as it was computed: every default written out."


class Study(Section):
    """A question about bores, and everything needed to compute its answer."""

    name: Name = setting(
        "what the report calls the study, by default the study file's name, after "
        "which the folder of results is named in any case",
        "entry-rounding",
    )
    question: Annotated[str, BeforeValidator(printable)] = setting(
        "what the study asks, as a sentence of up to 1000 characters",
        "Does rounding the throat entry lower the flow resistance?",
        default="How do these bores compare?",
        pattern=r"\S",
        max_length=1000,
    )
    air: models.AirConditions = setting("a mapping", default_factory=models.AirConditions)
    bore: models.BoreSection = setting("a mapping")
    vary: Annotated[dict[str, list[Any]], BeforeValidator(lists)] = setting(
        "dimensions of the bore (or air.…), each with a list of values",
        "throat.entry: [square, rounded 0.5 mm]",
        default_factory=dict,
    )
    combine: Literal["grid", "paired"] = setting(
        "grid: every combination; paired: first with first, second with second",
        "grid",
        default="grid",
    )
    resonance: models.Resonance = setting("a mapping", default_factory=models.Resonance)
    flow: models.Flow = setting("a mapping", default_factory=models.Flow)
    mesh: models.Mesh = setting("a mapping", default_factory=models.Mesh)
    tolerance: MachiningError = setting(
        "a length: machining error either way of every diameter and length",
        "0.001 in",
        default="0.001 in",
    )
    tolerances: dict[str, Any] = setting(
        "a mapping from dimensions of the first case to tolerances in place of that one: lengths, "
        "or numbers of a shape or a taper",
        "{throat.diameter: 0.0005 in}",
        default_factory=dict,
    )
    wish: Wish | None = setting(
        "a mapping: what shall become of the first case's bore, and which dimensions may move",
        '{change: {resonance: "+15 cents"}, free: {throat.diameter: {}}}',
        default=None,
    )
    lips: LipsSection | None = setting(
        "a mapping: lips that are to start a tone; {} for the default ones", "{}", default=None
    )
    claims: ClaimsFile | None = setting(
        "a CSV or YAML file of claims about these bores, each held against what is computed",
        "claims.csv",
        default=None,
    )
    keep: Kept = setting(
        "a list of tables, fields, meshes, sounds, with tables in it: what is kept of each case",
        "[tables, fields]",
        default=KINDS,
    )
    folder: Annotated[str, BeforeValidator(checked_folder)] = setting(
        "the folder that files are named from, relative to the study file",
        "measurements",
        default=".",
    )

    _directory: Path = PrivateAttr(default=Path())
    _varied: dict[str, list[Any]] = PrivateAttr(default_factory=dict)
    _cases: list[Case] = PrivateAttr(default_factory=list)
    _tolerances: dict[str, float] = PrivateAttr(default_factory=dict)
    _asked: Asked | None = PrivateAttr(default=None)

    @property
    def directory(self) -> Path:
        """Where the files that the study names are looked for."""
        return self._directory / self.folder

    def cases(self) -> list[Case]:
        """All cases, the first of them the one that the others are compared with."""
        return list(self._cases)

    def case(self, name: str) -> Case:
        """The case of that name.

        Raises
        ------
        StudyError
            If the study has no such case.
        """
        cases = {case.name: case for case in self._cases}
        if name not in cases:
            raise StudyError(
                f"case: found {name!r}; allowed is one of {', '.join(cases)}, "
                f"for example {next(iter(cases))}"
            )
        return cases[name]

    def asked(self) -> Asked | None:
        """The wish with the values that its texts stand for; None of a study without one."""
        return self._asked

    def frequency_range(self) -> tuple[float, float]:
        """Lowest and highest frequency [Hz]."""
        return self.resonance.from_.value, self.resonance.to.value

    def flow_rates(self) -> NDArray[np.float64]:
        """Flow rates in ascending order, shape (n_rates,) [m³/s]."""
        return np.array([rate.value for rate in self.flow.rates])

    def reference_rate(self) -> float:
        """Flow rate that cases are compared at, one of `flow_rates` [m³/s]."""
        assert self.flow.reference_rate is not None
        return self.flow.reference_rate.value

    def playing_rate(self) -> float:
        """Flow rate that the answer is given at, one of `flow_rates` [m³/s]."""
        assert self.flow.playing_rate is not None
        return self.flow.playing_rate.value

    def pipe_behind(self) -> float:
        """Length of the straight pipe that the flow has after the shank end, 0 without [m]."""
        return 0.0 if self.flow.pipe_behind is None else self.flow.pipe_behind.value

    def air_column_file(self) -> Path | None:
        """Stations of the instrument after the shank end, where the study names a file."""
        behind = self.resonance.behind
        return self.directory / behind.air_column if isinstance(behind, AirColumn) else None

    def claims_file(self) -> Path | None:
        """The claims about the study's bores, where it names a file of them."""
        return None if self.claims is None else self.directory / self.claims

    def termination(self) -> str:
        """What follows the shank end, in the words of the acoustics."""
        return "air column" if self.air_column_file() else str(self.resonance.behind)

    def fundamental(self) -> float | None:
        """Fundamental whose harmonics resonances are compared with [Hz]."""
        asked = self.resonance.fundamental
        return None if asked is None else asked.value

    def stated_tolerances(self) -> dict[str, float]:
        """Tolerances of single dimensions of the first case by their keys [SI]."""
        return dict(self._tolerances)

    def input_files(self) -> list[Path]:
        """All files that decide what is computed."""
        return [self.directory / name for key, name in self._named_files() if key != "claims"]

    def resolved(self, directory: Path | str | None = None) -> dict[str, Any]:
        """The study with every default written out, as it may be read again from a directory.

        ``folder`` leads from there to the files, whose names stay as the study writes them, since
        cases are named after them.
        """
        written = self.model_dump(mode="json", by_alias=True)
        written["vary"] = to_jsonable_python(self._varied)
        if directory is not None:
            # Both may be links: a path that climbs out of one leads elsewhere than it says.
            there, here = os.path.realpath(self.directory), os.path.realpath(directory)
            written["folder"] = Path(os.path.relpath(there, here)).as_posix()
        return written

    def write_resolved(self, path: Path | str) -> None:
        """Write `resolved` as YAML, to be read again as the same study from where it is written."""
        text = yaml.safe_dump(
            self.resolved(Path(path).parent), sort_keys=False, allow_unicode=True, width=100
        )
        with replacing(path) as unfinished:
            unfinished.write_text(f"{HEADING}\n{text}", encoding="utf-8")

    def _named_files(self) -> list[tuple[str, str]]:
        named = []
        if isinstance(self.bore, MeasuredBore):
            varied = self._varied.get("stations")
            named += [(f"vary.stations[{i}]", name) for i, name in enumerate(varied or [])]
            named += [] if varied else [("bore.stations", self.bore.stations)]
        if isinstance(self.resonance.behind, AirColumn):
            named.append(("resonance.behind.air column", self.resonance.behind.air_column))
        return named + ([("claims", self.claims)] if self.claims else [])


def study_from_mapping(
    mapping: Mapping[str, Any], directory: Path | str = ".", name: str | None = None
) -> Study:
    """A validated study from the contents of a study file.

    Parameters
    ----------
    mapping : mapping
        Contents as YAML or Snakemake's ``config`` gives them; they are not changed.
    directory : path
        Folder of the study file, from which the files that it names are looked for.
    name : str, optional
        Name of a study whose mapping has none.

    Raises
    ------
    StudyError
        One line a mistake: which key, what was found, what is allowed, an example.
    """
    if not isinstance(mapping, Mapping):
        raise StudyError(
            f"study: found {quoted(mapping)}; allowed is a mapping with the key bore at least, "
            "for example bore: {stations: stations.csv}"
        )
    try:
        contents = plain(mapping)
    except ValueError as problem:
        raise StudyError(str(problem)) from None
    if name is not None:
        contents.setdefault("name", name)
    _fill_varied(contents)
    try:
        study = Study.model_validate(contents)
    except ValidationError as error:
        raise StudyError("\n".join(explain(error, Study))) from None
    study._directory = Path(directory)
    if not study.directory.is_dir():
        raise StudyError(
            f"folder: found {study.folder!r}, and no such folder in {study._directory}; allowed is "
            "a folder relative to the study file, for example ."
        )
    known, mistakes = canonical_keys(study.vary, type(study.bore))
    study._varied, wrong_values = check_values(known, study.bore, study.air)
    mistakes += wrong_values + [
        f"{key}: found {file!r}, and no such file in {study.directory}; allowed is the name of a "
        f"file relative to the study file, for example {key if key == 'claims' else 'stations'}.csv"
        for key, file in study._named_files()
        if not (study.directory / file).is_file()
    ]
    if mistakes:
        raise StudyError("\n".join(mistakes))
    study._cases = expand(study._varied, study.combine, study.bore, study.air, study.directory)
    study._tolerances, mistakes = check_tolerances(study.tolerances, study._cases[0])
    if mistakes:
        raise StudyError("\n".join(mistakes))
    if study.wish is not None:
        study._asked = checked_wish(study.wish, study._cases[0].bore, study.resonance, study.flow)
    return study


def _fill_varied(contents: dict[str, Any]) -> None:
    """Put the first varied value where the bore leaves a varied dimension out."""
    vary = contents.get("vary")
    if not isinstance(vary, dict):
        return
    varied = {key.removeprefix("bore.") for key in vary}
    if "stations" in varied:
        contents.setdefault("bore", {})
    bore = contents.get("bore")
    measured = models.is_measured([*varied, *(bore if isinstance(bore, dict) else ())])
    model: type[Section] = MeasuredBore if measured else models.BoreDimensions
    if not isinstance(bore, dict):
        return
    for written, values in ((key, listed(values)) for key, values in vary.items()):
        path = variable_keys(model).get(written.removeprefix("bore."))
        if path is None or path[0] == "air" or not isinstance(values, list) or not values:
            continue
        section: Any = bore
        for step in path[:-1]:
            section = section.setdefault(step, {}) if isinstance(section, dict) else None
        if isinstance(section, dict):
            section.setdefault(path[-1], values[0])
