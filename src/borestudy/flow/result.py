"""What is known of a bore's steady flow: typed, the same for every model."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from borestudy.provenance import Provenance
from borestudy.quantity import Quantities, Quantity
from borestudy.records import Rows, quantity

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, kw_only=True)
class EnergyBudget:
    """Where the mechanical energy goes, as heads [Pa].

    Attributes
    ----------
    loss : Quantity [Pa]
        Fall of the flux-weighted mechanical energy from rim plane to shank end.
    dissipation : Quantity [Pa]
        Viscous dissipation, the model's eddy viscosity included.
    dissipation_by_part : mapping of str to Quantity [Pa]
        Viscous dissipation in each part of the bore.
    kinetic_energy_rise : Quantity [Pa]
        Rise of the flux-weighted kinetic energy, the rest of the pressure drop.
    """

    loss: Quantity | None = quantity("Pa")
    dissipation: Quantity | None = quantity("Pa")
    dissipation_by_part: Mapping[str, Quantity] | None = quantity("Pa")
    kinetic_energy_rise: Quantity | None = quantity("Pa")


@dataclass(frozen=True, kw_only=True)
class Section:
    """Means over one section: static pressure by area, head by flux; and its flux's error."""

    pressure_Pa: float
    mechanical_energy_head_Pa: float
    kinetic_energy_factor: float
    mass_flux_error: float


@dataclass(frozen=True, kw_only=True)
class AxisLine:
    """Pressure and axial velocity along the axis."""

    position_mm: tuple[float, ...]
    pressure_Pa: tuple[float, ...]
    velocity_m_per_s: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class WallLine:
    """Pressure and wall shear stress along the wall, each at its own positions."""

    position_mm: tuple[float, ...]
    pressure_Pa: tuple[float, ...]
    shear_position_mm: tuple[float, ...]
    shear_Pa: tuple[float, ...]


@dataclass(frozen=True, kw_only=True)
class Separation:
    """Where the flow leaves the wall, and where it is back; None where it is not."""

    separation: Quantity | None = quantity("mm")
    reattachment: Quantity | None = quantity("mm")


@dataclass(frozen=True, kw_only=True)
class DropSlope:
    """First derivative of a rate's figures by one dimension, per unit that people are told it in.

    Per millimetre of a length, per degree of an angle, per 1 of a pure number; the flow rate is
    held.  The two parts are there where the throat's end is a section of the mesh.
    """

    pressure_drop: Quantity | None = quantity("Pa")
    pressure_drop_to_throat_end: Quantity | None = quantity("Pa")
    backbore_pressure_drop: Quantity | None = quantity("Pa")
    differential_resistance: Quantity | None = quantity("kPa_s_per_L")


# with slots, since a study of thousands of cases has one in memory for each of its rates
@dataclass(frozen=True, kw_only=True, repr=False, slots=True)
class FlowAtRate:
    """The flow at one rate; of a rate without a solution, what is known without it.

    Attributes
    ----------
    flow_rate_L_per_s, throat_reynolds, throat_velocity_m_per_s, dynamic_pressure_Pa, mach_number
        The rate, and what follows from it in the throat.
    regime : str
        Regime by the throat's Reynolds number.
    converged : bool
        Whether there is a solution on every mesh it was sought on.
    not_meshed, reason : str or None
        Why there is no mesh; why there is no solution.
    pressure_drop : Quantity [Pa]
        Mean static pressure over the rim plane less that over the shank end; `…_to_throat_end` and
        `backbore_…` are its two parts.
    loss_coefficient, discharge_coefficient : Quantity
        Loss of mechanical energy over the dynamic pressure; flow rate over that of a lossless flow
        with the same drop to the throat's end.
    differential_resistance : Quantity [kPa s/L]
        Slope of the pressure drop against flow rate.
    pressure_drop_estimated_error_Pa, error_estimator_consistent
        The dual-weighted residual estimate on the finest mesh, and whether it agreed with the step
        between the two finest meshes.
    mass_balance, section_mass_flux, energy_balance, residual : float
        Relative errors.
    sections : mapping of str to Section
        By name, in order downstream.  One is missing where the mesh draws no line: `cup_end` where
        a boundary-layer mesh goes round a square edge.
    y_plus, wall_resolution, greatest_eddy_viscosity_ratio
        A turbulence model's wall distance of the first cell in wall units, and what it means.
    transition_position_mm : float or None
        Distance from the rim plane at which the best estimate's flow turns turbulent; None where it
        stays laminar to the shank end.
    pressure_drop_by_transition_Pa : float or None
        Change of the pressure drop if that place were e times as far from the throat, to first
        order.
    by_dimension : mapping of str to DropSlope
        What each dimension of the bore does, by its key; none that were not asked for.
    mesh_levels : tuple of int
        Numbers of the meshes that `levels` are of.
    field : str or None
        Name of the `.vtu` file.
    """

    flow_rate_L_per_s: float
    converged: bool
    throat_reynolds: float | None = None
    throat_velocity_m_per_s: float | None = None
    dynamic_pressure_Pa: float | None = None
    mach_number: float | None = None
    regime: str | None = None
    not_meshed: str | None = None
    reason: str | None = None
    residual: float | None = None
    pressure_drop: Quantity | None = quantity("Pa")
    loss_coefficient: Quantity | None = quantity()
    differential_resistance: Quantity | None = quantity("kPa_s_per_L")
    pressure_drop_to_throat_end: Quantity | None = quantity("Pa")
    backbore_pressure_drop: Quantity | None = quantity("Pa")
    discharge_coefficient: Quantity | None = quantity()
    pressure_drop_estimated_error_Pa: float | None = None
    error_estimator_consistent: bool | None = None
    tolerance_reached: bool | None = None
    mass_balance: float | None = None
    section_mass_flux: float | None = None
    energy_balance: float | None = None
    budget: EnergyBudget | None = None
    sections: Mapping[str, Section] = field(default_factory=dict)
    axis: AxisLine | None = None
    wall: WallLine | None = None
    separations: tuple[Separation, ...] = ()
    jet_contraction: Quantity | None = quantity()
    jet_contraction_position: Quantity | None = quantity("mm")
    y_plus: float | None = None
    wall_resolution: str | None = None
    greatest_eddy_viscosity_ratio: float | None = None
    transition_position_mm: float | None = None
    pressure_drop_by_transition_Pa: float | None = None
    by_dimension: Mapping[str, DropSlope] = field(default_factory=dict)
    mesh_levels: tuple[int, ...] = ()
    field: str | None = None

    def __repr__(self) -> str:
        """Flow rate, pressure drop and regime in a line."""
        why = self.not_meshed or self.reason or "not converged"
        drop = self.pressure_drop or f"no solution, {why}"
        number = self.throat_reynolds or math.nan
        where = f"throat Reynolds number {number:.0f}, {self.regime or 'no regime'}"
        if self.wall_resolution not in (None, "resolved"):
            where += f", {self.wall_resolution}"
        return f"{self.flow_rate_L_per_s:g} L/s: {drop} ({where})"


@dataclass(frozen=True, kw_only=True, repr=False)
class FlowResult:
    """A bore's flow at several rates by one model.

    Attributes
    ----------
    model : str
        ``estimate``, ``laminar`` or ``turbulent``.
    model_options : mapping
        Options of the model, by name.
    inlet : str
        Velocity profile over the rim plane.
    tolerance : float
        Numerical uncertainty wanted of a pressure drop, as a share of it.
    rates : tuple of FlowAtRate
        One for each rate that was asked for, in that order, solved or not.
    unknowns, solver_steps, shortened_steps, factorisations, solve_seconds : tuple
        Numbers of each mesh, coarsest first; none where every rate was reused.
    boundary_layer_mesh : bool or None
        Whether the meshes have a layer of flat cells along the wall, of a turbulence model.
    wall_refinements : int
        How often this run made the meshes again for y⁺.
    first_cell_height : float
        Height of the cells along the wall, over that of the preset.
    pipe_behind_mm : float
        Length of the straight pipe that follows the shank.
    reused_rates_L_per_s : tuple of float
        Rates that a former run had solved from the same things.
    warnings : tuple of str
    not_meshed : str or None
        Why there is no mesh.
    provenance : Provenance or None
        Versions, sources and files that the result was made from.
    """

    model: str
    inlet: str = "uniform"
    tolerance: float | None = None
    rates: tuple[FlowAtRate, ...] = ()
    model_options: Mapping[str, Any] = field(default_factory=dict)
    unknowns: tuple[int, ...] = ()
    solver_steps: tuple[int, ...] = ()
    shortened_steps: tuple[int, ...] = ()
    factorisations: tuple[int, ...] = ()
    solve_seconds: tuple[float, ...] = ()
    boundary_layer_mesh: bool | None = None
    wall_refinements: int = 0
    first_cell_height: float = 1.0
    pipe_behind_mm: float = 0.0
    reused_rates_L_per_s: tuple[float, ...] = ()
    warnings: tuple[str, ...] = ()
    not_meshed: str | None = None
    provenance: Provenance | None = None

    @property
    def pressure_drop(self) -> Quantities:
        """The pressure drop at each rate [Pa], rim plane to shank end; None without a solution."""
        return Quantities(rate.pressure_drop for rate in self.rates)

    def to_frame(self) -> "pd.DataFrame":
        """A table with a row for each rate; columns carry their units, as in ``flow.csv``."""
        return Rows(self.rates).to_frame()

    def plot(self, axes: Any | None = None, **style: Any) -> Any:
        """Draw the pressure drop against flow rate, each with its numerical uncertainty.

        Marks are filled where the air is in the model's regime and hollow where it is not.

        Parameters
        ----------
        axes : matplotlib.axes.Axes, optional
            Axes to draw on; new ones by default.
        **style
            Colour and label, as matplotlib takes them.

        Returns
        -------
        matplotlib.axes.Axes
        """
        from borestudy.drawing.plots import plot_pressure_drops

        return plot_pressure_drops(self, axes, **style)

    def __repr__(self) -> str:
        """The model, and a line for each rate."""
        of = "the best estimate" if self.model == "estimate" else f"the {self.model} model"
        head = f"Pressure drop by {of}, {self.inlet} inlet:"
        return "\n  ".join([head, *map(repr, self.rates), *self.warnings])
