"""Errors of the best estimate against measurements, handbooks and simulations, a row each.

In the manner of ASME V&V 20-2009 (from memory): with S the estimate and D what was measured, the
comparison error is E = S - D, and the validation uncertainty joins those of both,
u = √(u_num² + u_D²).  An error of the model itself is seen where E is beyond u, and is never known
better than u.

The rows that ship with the program are those of ``snakemake validation``, which compares them with
what it finds (`differences`).
"""

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files
from math import hypot
from pathlib import Path
from typing import TYPE_CHECKING, Literal, get_args

if TYPE_CHECKING:
    import pandas as pd

Part = Literal["entry", "throat friction", "sudden enlargement", "slow cone", "whole"]
Kind = Literal["measurement", "handbook", "simulation"]
PARTS: tuple[str, ...] = get_args(Part)
KINDS: tuple[str, ...] = get_args(Kind)
SHIPPED = "comparison_errors.csv"


@dataclass(frozen=True)
class ComparisonError:
    """One comparison; the fields and the two errors are the columns of the table.

    Attributes
    ----------
    part : str
        Of `PARTS`; ``entry`` is the drop from far before the throat to a place in it, its end.
    flow : str
        Words for the flow, unique together with the throat's Reynolds number.
    kind : str
        Of `KINDS`: what the estimate is compared with.
    throat_reynolds : float
    sharpness : float
        Of the edge before the throat, 1 for a square one (`borestudy.bore.Passage`).
    throat_length_D : float
        From the throat's start to where the drop is taken, or of the throat [throat diameters].
    cone_angle_deg : float
        Included angle behind the throat, 180 for a sudden enlargement, 0 for none.
    area_ratio : float
        Area behind the throat over the throat's.
    estimate, estimate_uncertainty : float
        The estimate and its numerical uncertainty.
    measured, measured_uncertainty : float
        What it is compared with, and about 95 % of that.
    unit : str
        ``q``, the throat's dynamic pressure.
    turbulent_share : float
        Share of the part's length that is behind the place where the flow turns turbulent: 0 where
        the flow is laminar through it, 1 where turbulent.
    source : str
        Of what was measured.
    """

    part: str
    flow: str
    kind: str
    throat_reynolds: float
    sharpness: float
    throat_length_D: float
    cone_angle_deg: float
    area_ratio: float
    estimate: float
    estimate_uncertainty: float
    measured: float
    measured_uncertainty: float
    unit: str
    turbulent_share: float
    source: str

    @property
    def error(self) -> float:
        """Comparison error: the estimate less what was measured."""
        return self.estimate - self.measured

    @property
    def validation_uncertainty(self) -> float:
        """Numerical and measured uncertainty together."""
        return hypot(self.estimate_uncertainty, self.measured_uncertainty)

    @property
    def key(self) -> tuple[str, str, float]:
        """What tells the comparison from all others."""
        return self.part, self.flow, self.throat_reynolds


#: Columns of the table in order.
COLUMNS = [one.name for one in fields(ComparisonError)]
COLUMNS[COLUMNS.index("unit") : COLUMNS.index("unit")] = ["error", "validation_uncertainty"]


def comparison_table(rows: Iterable[ComparisonError]) -> "pd.DataFrame":
    """The rows as a table with `COLUMNS`."""
    import pandas as pd  # which whoever reads the rows need not wait for

    return pd.DataFrame([{name: getattr(row, name) for name in COLUMNS} for row in rows])


def read_comparisons(text: Iterable[str]) -> tuple[ComparisonError, ...]:
    """The rows of a table from its lines; the two errors are worked out anew.

    Raises
    ------
    KeyError
        If a column is missing.
    """
    kinds = {one.name: one.type for one in fields(ComparisonError)}
    return tuple(
        ComparisonError(
            **{name: float(row[name]) if kinds[name] is float else row[name] for name in kinds}  # type: ignore[arg-type]
        )
        for row in csv.DictReader(text)
    )


@cache
def shipped_comparisons() -> tuple[ComparisonError, ...]:
    """The rows that ship with the program, on which its model error rests."""
    text = files(__package__).joinpath(SHIPPED).read_text(encoding="utf-8-sig")
    return read_comparisons(text.splitlines())


def ship_comparisons(rows: Sequence[ComparisonError]) -> Path:
    """Write rows over those that ship, in a checkout of the sources; returns the file."""
    path = Path(str(files(__package__).joinpath(SHIPPED)))
    comparison_table(rows).to_csv(path, index=False, float_format="%.5g", lineterminator="\n")
    return path


def differences(
    shipped: Iterable[ComparisonError], found: Iterable[ComparisonError]
) -> tuple[str, ...]:
    """What differs between the shipped rows and those found now, in words, one a row.

    An estimate differs where it is off by more than both numerical uncertainties and the table's
    last digit; what was measured and its uncertainty where they are not the same.
    """
    before, now = ({row.key: row for row in rows} for rows in (shipped, found))
    words = [f"{_name(key)}: no longer found" for key in before if key not in now]
    words += [f"{_name(key)}: not among the shipped rows" for key in now if key not in before]
    for key in [key for key in now if key in before]:
        old, new = before[key], now[key]
        digit = 1e-4 * abs(old.estimate)
        if not (
            abs(new.estimate - old.estimate)
            <= hypot(old.estimate_uncertainty, new.estimate_uncertainty) + digit
        ):
            words.append(f"{_name(key)}: estimate {new.estimate:.4g}, shipped {old.estimate:.4g}")
        pairs = [(new.measured, old.measured), (new.measured_uncertainty, old.measured_uncertainty)]
        if any(not abs(one - other) <= 1e-4 * abs(other) for one, other in pairs):
            words.append(
                f"{_name(key)}: measured {new.measured:.4g} ± {new.measured_uncertainty:.2g}, "
                f"shipped {old.measured:.4g} ± {old.measured_uncertainty:.2g}"
            )
    return tuple(words)


def _name(key: tuple[str, str, float]) -> str:
    part, flow, reynolds = key
    return f"{flow}, {part}, Re {reynolds:.0f}"
