"""What a study means, told before anything is computed: bores, sizes, cases, time."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from borestudy.bore import Bore, describe
from borestudy.drawing.characters import section_in_characters
from borestudy.drawing.outline import outline
from borestudy.drills import nearest_drill
from borestudy.records import to_plain
from borestudy.stages.check import SOUGHT, bores_and_cautions
from borestudy.stages.intentions import claims_lines, lips_lines, tolerance_lines, wish_lines
from borestudy.stages.measured import as_measured, measurement_lines, measurements
from borestudy.study import Study

INCH_MM = 25.4
#: Files of readings that a picture has.
READ = 3
HEADER = (
    ("case", "overall length", "throat diameter", "nearest drill", "throat from", "throat length",
     "cup volume", "backbore volume"),
    ("", "mm (in)", "mm (in)", "(in)", "mm (in)", "mm (in)", "cm³", "cm³"),
)  # fmt: skip


@dataclass(frozen=True)
class Meaning:
    """A study whose bores could all be built.

    Attributes
    ----------
    study : Study
    bores : dict
        Bore of each case by its name, in the order of the cases.
    cautions : dict
        What the models are asked beyond what they are good for, each with the names of the cases.
    """

    study: Study
    bores: dict[str, Bore]
    cautions: dict[str, list[str]]

    def lines(self, width: int = 76) -> list[str]:
        """All that is known, line by line; the section of the first bore in so many characters."""
        study, cases = self.study, self.study.cases()
        resonance, flow = study.resonance, study.flow
        termination = study.air_column_file() or resonance.behind
        count = "1 case" if len(cases) == 1 else f"{len(cases)} cases, compared with the first"
        first = cases[0].name
        return [
            f"{study.name}: {study.question}",
            f"{count}:",
            *_aligned([["case", *cases[0].varied]] + [[c.name, *c.varied.values()] for c in cases]),
            f"section of {first}, diameters drawn larger than lengths:",
            *(
                f"  {line}".rstrip()
                for line in section_in_characters(outline(self.bores[first]), width)
            ),
            f"dimensions of {first}:",
            *_aligned(dimension_rows(self.bores[first])),
            "bores:",
            *_aligned([*HEADER, *(_bore_row(name, bore) for name, bore in self.bores.items())]),
            *measurement_lines(cases),
            f"resonance: {resonance.from_} to {resonance.to}, {resonance.points} frequencies; "
            f"walls {resonance.walls}; behind the shank: {termination}",
            f"flow: {', '.join(flow.rates)}; {flow.inlet} inlet; {SOUGHT[flow.closure]}; "
            f"compared at {flow.reference_rate}",
            f"mesh: {study.mesh.resolution}",
            *tolerance_lines(study, cases[0]),
            *wish_lines(study, cases[0]),
            *claims_lines(study),
            *lips_lines(study),
            *(
                f"caution: {caution} "
                f"({'every case' if len(names) == len(cases) else ', '.join(names)})"
                for caution, names in self.cautions.items()
            ),
        ]

    def draw(self, picture: Path) -> None:
        """Write the sections of the bores as a picture."""
        from borestudy.drawing.measured import readings_figure
        from borestudy.drawing.sections import sections_figure
        from borestudy.drawing.style import save_as

        if measured := as_measured(self.study.cases(), self.bores)[:READ]:
            walls = [outline(bore) for bore, _ in measured]
            save_as(readings_figure(walls, [record for _, record in measured]), picture)
            return
        walls = [outline(bore) for bore in self.bores.values()]
        save_as(sections_figure(walls, [case.label for case in self.study.cases()]), picture)

    def facts(self) -> dict[str, Any]:
        """The same for programs: the study with every default, and each case's bore."""
        cases = []
        for case in self.study.cases():
            bore = self.bores[case.name]
            found = describe(bore)
            drill = nearest_drill(1e-3 * found.throat_diameter_mm)
            sizes = {f"{name.replace(' ', '_')}_mm": size for name, size, _ in dimensions(bore)}
            cases.append(
                {
                    "case": case.name,
                    "varied": case.varied,
                    **sizes,
                    "nearest_drill_to_throat": drill[0] if drill else None,
                    "cup_volume_cm3": found.cup_volume_cm3,
                    "throat_volume_cm3": found.throat_volume_cm3,
                    "backbore_volume_cm3": found.backbore_volume_cm3,
                }
            )
        cautions = [{"caution": one, "cases": names} for one, names in self.cautions.items()]
        read = [to_plain(one) for one in measurements(self.study.cases())]
        return {
            "study": self.study.resolved(),
            "cases": cases,
            "readings": read,
            "cautions": cautions,
        }


def meaning_of(study: Study) -> Meaning:
    """Build every bore of a study.

    Raises
    ------
    StudyError
        If a bore cannot be built, or asks for what no model here can compute.
    """
    return Meaning(study, *bores_and_cautions(study))


def dimensions(bore: Bore) -> list[tuple[str, float, bool]]:
    """Name and size [mm] of what can be measured on a bore, and whether a drill makes it."""
    found = describe(bore)
    return [
        ("overall length", found.length_mm, False),
        ("rim diameter", found.rim_diameter_mm, False),
        ("cup depth", 1e3 * bore.throat_start, False),
        ("throat diameter", found.throat_diameter_mm, True),
        ("throat length", found.throat_length_mm, False),
        ("end diameter", found.end_diameter_mm, True),
    ]


def dimension_rows(bore: Bore) -> list[list[str]]:
    """Dimensions and volumes of a bore in mm, inches and drills, below the names of the columns."""
    rows = [["", "mm", "in", "nearest drill"]]
    for name, size, drilled in dimensions(bore):
        row = [name, f"{size:.3f}", f"{size / INCH_MM:.4f}", ""]
        drill = nearest_drill(1e-3 * size) if drilled else None
        if drill:
            off = size - 1e3 * drill[1]
            how = "" if abs(off) < 5e-4 else f", {1e3 * drill[1]:.3f} mm: {-off:+.3f} mm"
            row[-1] = f"{drill[0]} ({drill[1] / 25.4e-3:.4f} in{how})"
        rows.append(row)
    found = describe(bore)
    rows.append(["", "cm³", "in³", ""])
    for part, volume in (
        ("cup volume", found.cup_volume_cm3),
        ("throat volume", found.throat_volume_cm3),
        ("backbore volume", found.backbore_volume_cm3),
    ):
        rows.append([part, f"{volume:.3f}", f"{volume / (INCH_MM / 10) ** 3:.5f}", ""])
    return rows


def _bore_row(name: str, bore: Bore) -> list[str]:
    """Cells of a case's line under `HEADER`, the length being the overall one."""
    facts = describe(bore)
    throat = facts.throat_diameter_mm
    drill = nearest_drill(1e-3 * throat)

    def both(size: float) -> str:
        return f"{size:.2f} ({size / INCH_MM:.3f})"

    return [
        name,
        both(facts.length_mm),
        f"{throat:.3f} ({throat / INCH_MM:.4f})",
        f"{drill[0]} ({drill[1] / 25.4e-3:.4f})" if drill else "none",
        both(1e3 * bore.throat_start),
        both(facts.throat_length_mm),
        f"{facts.cup_volume_cm3:.3f}",
        f"{facts.backbore_volume_cm3:.3f}",
    ]


def _aligned(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows of cells as lines, in columns."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    return ["  " + "  ".join(map(str.ljust, row, widths)).rstrip() for row in rows]
