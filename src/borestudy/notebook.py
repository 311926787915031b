"""Bore, air and lips as a notebook makes them: from texts, as a study file has them."""

import re
from collections.abc import Mapping
from dataclasses import asdict
from decimal import Decimal
from functools import cached_property
from pathlib import Path
from typing import Any, Self, TypeVar

import numpy as np
from pydantic import ValidationError

from borestudy import air, bore
from borestudy.bore import BoreError, describe
from borestudy.bore.cuts.changes import changed
from borestudy.playing import lips
from borestudy.study.building import bore_of_dimensions, changes_of
from borestudy.study.dimensions import dimensions_of
from borestudy.study.errors import StudyError, explain
from borestudy.study.lips import LipsSection
from borestudy.study.models import AirConditions, BoreDimensions, MeasuredBore, Section

#: Arguments that the study file has under another key.
KEYS = {"from_": "from", "termination": "behind", "others": "set"}
Asked = TypeVar("Asked", bound=Section)


def checked(section: type[Asked], **given: Any) -> Asked:
    """A section of a study from arguments, each checked as the study file's key is.

    Parameters
    ----------
    section : type
        The section's model.
    **given
        Arguments, under the study's keys or under other names of `KEYS`.

    Raises
    ------
    StudyError
        One line a mistake: which argument, what was found, what is allowed, an example.
    """
    try:
        return section.model_validate({KEYS.get(name, name): of for name, of in given.items()})
    except ValidationError as error:
        lines = explain(error, section)
        for name in KEYS.keys() & given.keys():
            lines = [re.sub(rf"^{KEYS[name]}\b", name, line) for line in lines]
        raise StudyError("\n".join(lines)) from None


def written(value: Any, unit: str) -> Any:
    """A number of SI as a text with its unit, or each of a list; a text as it stands."""
    if isinstance(value, list | tuple | np.ndarray):
        return [written(one, unit) for one in value]
    if isinstance(value, bool) or not hasattr(value, "__float__"):
        return value
    if unit == "%":
        return f"{100 * Decimal(repr(float(value)))} %"
    return f"{float(value)!r} {unit}"


class Air(air.Air):
    """Air in a bore: the constants that both physics need, SI.

    Parameters
    ----------
    temperature : str or float
        Temperature, such as ``"25 degC"``, or a number of kelvin; −20 to 60 °C.
    relative_humidity : str or float
        Humidity, such as ``"50 %"``, or a number from 0 to 1.
    pressure : str or float
        Static pressure, such as ``"101.325 kPa"``, or a number of pascals; 50 to 110 kPa.

    Raises
    ------
    StudyError
        Naming the argument, what was found, what is allowed, and an example.

    Examples
    --------
    >>> round(Air("25 degC", "50 %").sound_speed, 1)
    347.1
    """

    def __init__(
        self,
        temperature: str | float = "20 degC",
        relative_humidity: str | float = "50 %",
        pressure: str | float = "101.325 kPa",
    ) -> None:
        asked = checked(
            AirConditions,
            temperature=written(temperature, "K"),
            relative_humidity=written(relative_humidity, "%"),
            pressure=written(pressure, "Pa"),
        )
        constants = air.humid_air(
            asked.temperature.value, asked.relative_humidity.value, asked.pressure.value
        )
        super().__init__(**asdict(constants))


class Lips(lips.Lips):
    """Lips that are to start a tone, but for their resonance frequency.

    Parameters
    ----------
    mass_per_area : str or float
        Mass over the area that the pressure works on, such as ``"2 kg/m2"``, or a number of kg/m².
    quality_factor : float
        How slowly the lips' own vibration dies away.
    width, opening : str or float
        Width of the opening between the lips, and its height without pressure, such as ``"8 mm"``
        and ``"0.5 mm"``, or numbers of metres.

    Raises
    ------
    StudyError
        Naming the argument, what was found, what is allowed, and an example.

    Examples
    --------
    >>> Lips(width="9 mm").width
    0.009
    """

    def __init__(
        self,
        mass_per_area: str | float = "2 kg/m2",
        quality_factor: float = 7.0,
        width: str | float = "8 mm",
        opening: str | float = "0.5 mm",
    ) -> None:
        asked = checked(
            LipsSection,
            mass_per_area=written(mass_per_area, "kg/m2"),
            quality_factor=quality_factor,
            width=written(width, "m"),
            opening=written(opening, "m"),
        )
        super().__init__(**asdict(asked.own()))


class Bore(bore.Bore):
    """A bore of revolution; made by `from_dimensions` or `from_stations`."""

    #: What the bore was made from, and the folder from which its file is looked for.
    section: BoreDimensions | MeasuredBore
    directory: Path = Path()

    @classmethod
    def _made(cls, bore: bore.Bore, section: BoreDimensions | MeasuredBore) -> Self:
        made = cls(bore.segments, bore.entry)
        made.section, made.directory = section, Path.cwd()
        return made

    @cached_property
    def dimensions(self) -> tuple[bore.Dimension, ...]:
        """Each dimension that can be changed a little, with what the wall does then.

        Their keys are a study file's (``throat.diameter``); those of a measured bore are the radii
        at its stations (``station 1``) and its length.
        """
        return tuple(dimensions_of(self.section, self.directory))

    @classmethod
    def from_dimensions(
        cls,
        *,
        length: str,
        cup: Mapping[str, Any],
        throat: Mapping[str, Any],
        backbore: Mapping[str, Any],
    ) -> Self:
        """A bore from its dimensions, in the words of a study file.

        Parameters
        ----------
        length : str
            Overall, rim plane to shank end, such as ``"88 mm"`` or ``"3.5 in"``.
        cup : mapping
            ``diameter`` and ``depth``, and ``shape`` from 0 (straight cone) to 1 (full bowl).
        throat : mapping
            ``diameter`` (a length or a drill size, ``"drill 27"``), ``length`` and ``entry``:
            ``"square"``, ``"rounded 0.5 mm"``, ``"chamfered 0.5 mm at 45 deg"`` or
            ``"elliptical 2 mm x 1 mm"``.
        backbore : mapping
            ``end_diameter``, and ``taper``: ``"straight"``, ``"opening early"``,
            ``"opening late"``, a number from -1 to 1, or a list of stations.

        Raises
        ------
        StudyError
            Naming the key, what was found, what is allowed, and an example.
        """
        asked = checked(BoreDimensions, length=length, cup=cup, throat=throat, backbore=backbore)
        try:
            made = bore_of_dimensions(asked)
        except BoreError as problem:
            raise StudyError(f"{problem.key}: {problem}") from None
        return cls._made(made, asked)

    @classmethod
    def from_stations(
        cls,
        path: Path | str,
        *,
        join: str = "straight",
        outliers: str = "refuse",
        **others: Any,
    ) -> Self:
        """A bore from a CSV of measured stations.

        Parameters
        ----------
        path : path
            A CSV of positions and diameters, as the README tells.
        join : {"straight", "smooth"}
            Straight lines, which keep corners and steps, or a monotone cubic between steps.
        outliers : {"refuse", "keep", "leave out"}
            What is done with a station that stands alone far out of its neighbours' line.
        **others
            The other keys of a study's measured bore: of its reading (``unit``, ``first``,
            ``same_position``, ``uncertainty``, ``common_uncertainty``, ``smoothing``, …), and what
            is changed in it, such as ``throat={"entry": "rounded 2 mm"}``.

        Raises
        ------
        StudyError, BoreError
            Naming the line of the file, what was found, what is allowed, and an example.
        """
        asked = checked(MeasuredBore, stations=str(path), join=join, outliers=outliers, **others)
        made = bore.bore_from_stations(path, asked.join, reading=asked.reading())
        return cls._made(changed(made, changes_of(asked)), asked)

    def plot(self, axes: Any | None = None, **style: Any) -> Any:
        """Draw the bore in section, to scale, with its parts named.

        Parameters
        ----------
        axes : matplotlib.axes.Axes, optional
            Axes to draw on; new ones by default.
        **style
            Colour, dashes and label of the wall, as matplotlib takes them.

        Returns
        -------
        matplotlib.axes.Axes
        """
        from borestudy.drawing.plots import plot_bore

        return plot_bore(self, axes, **style)

    def __repr__(self) -> str:
        """Its main dimensions in a line."""
        of = describe(self)
        return (
            f"Bore: {of.length_mm:.4g} mm long, rim {of.rim_diameter_mm:.4g} mm, throat "
            f"{of.throat_diameter_mm:.4g} mm by {of.throat_length_mm:.4g} mm"
            f"{f', {entry} entry' if (entry := of.entry) else ''}, "
            f"shank end {of.end_diameter_mm:.4g} mm"
        )
