"""One case's work: its part of the study, its folder, and what its steps read and write."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from borestudy.air import Air
from borestudy.mesh import ACOUSTICS
from borestudy.stages.air import read_air
from borestudy.stages.layout import HALVES, Layout
from borestudy.study import Case, Study


@dataclass(frozen=True)
class CaseWork:
    """What the steps of one case need.

    Attributes
    ----------
    layout : Layout
        Of the study.
    case : Case
        The case.
    sources : mapping
        Hash of the sources of each step, by its name.
    """

    layout: Layout
    case: Case
    sources: Mapping[str, str]

    @property
    def study(self) -> Study:
        """The study that the case is of."""
        return self.layout.study

    @cached_property
    def home(self) -> Path:
        """The case's folder."""
        return Path(self.layout.result(f"cases/{self.case.name}"))

    @cached_property
    def air(self) -> Air:
        """Constants of the case's air, from its file."""
        return read_air(self.air_file)

    @property
    def air_file(self) -> Path:
        """File of the constants of the case's air."""
        return Path(self.layout.air_of(self.case))

    @property
    def air_column(self) -> Path | None:
        """Stations of what follows the shank end, where the study names a file of them."""
        return self.study.air_column_file()

    @property
    def acoustic_meshes(self) -> list[Path]:
        """Meshes of the whole bore for its sound, coarsest first."""
        return [self.home / "mesh" / f"{name}.msh" for name in ACOUSTICS.names]

    @property
    def halves(self) -> list[Path]:
        """Meshes of the bore before and after the middle of its throat."""
        return [self.home / "mesh" / f"{name}.msh" for name in HALVES]

    def flow_meshes(self, model: str) -> list[Path]:
        """Meshes for a model of the flow, coarsest first, without those that few rates ask for."""
        levels = range(self.layout.models[model].levels)
        return [self.home / "mesh" / f"{model}-{level}.msh" for level in levels]
