"""Moist air at rest: the constants both physics need, from an equation of state.

The mixture model is CoolProp's ``HumidAir`` (Bell et al. 2014, Ind. Eng. Chem. Res. 53, 2498;
virial equation of state after Herrmann, Kretzschmar & Gatley 2009, ASHRAE RP-1485).  It gives
density, entropy, heat capacity and transport coefficients, but no speed of sound.  Sound is an
isentropic change at fixed composition, so with the humidity ratio W held constant

    1/c² = (∂ρ/∂p)_{s,W},        γ = (∂ρ/∂p)_{T,W} · c²,

the second being the exact identity K_s/K_T = cp/cv.  Taking γ from it, and not from a table of
heat capacities, keeps ρ, c and γ consistent with one another, which is what the wall-loss theory
supposes.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, TypeVar

from numpy.typing import NDArray

#: An angular frequency: real, complex (at a pole) or an array of either.
Frequency = TypeVar("Frequency", float, complex, NDArray[Any])

CELSIUS_ZERO = 273.15

#: Range in which the speed of sound was compared with Cramer (1993) and with the reference
#: equation of state of dry air; outside it the program refuses instead of extrapolating.
TEMPERATURE_RANGE = (CELSIUS_ZERO - 20.0, CELSIUS_ZERO + 60.0)
PRESSURE_RANGE = (50e3, 110e3)

# Half-width of the central difference in pressure [Pa].  Its truncation error in c, of order
# (step/p)², is 1e-7 at 100 Pa; below 1 Pa the tolerance of CoolProp's entropy inversion shows.
_PRESSURE_STEP = 100.0


@dataclass(frozen=True)
class Air:
    """Constants of quiescent air, SI.

    Attributes
    ----------
    density : float
        Density ρ [kg/m³].
    sound_speed : float
        Speed of sound c at zero frequency (no relaxation) [m/s].
    viscosity : float
        Dynamic viscosity μ [Pa s].
    thermal_conductivity : float
        Thermal conductivity κ [W/(m K)].
    specific_heat : float
        Heat capacity cp at constant pressure per kilogram of moist air [J/(kg K)].
    heat_capacity_ratio : float
        Ratio γ = cp/cv.
    """

    density: float
    sound_speed: float
    viscosity: float
    thermal_conductivity: float
    specific_heat: float
    heat_capacity_ratio: float

    @property
    def kinematic_viscosity(self) -> float:
        """Kinematic viscosity ν = μ/ρ [m²/s]."""
        return self.viscosity / self.density

    @property
    def prandtl_number(self) -> float:
        """Prandtl number Pr = μ cp/κ."""
        return self.viscosity * self.specific_heat / self.thermal_conductivity

    def viscous_layer(self, omega: Frequency) -> Frequency:
        """Thickness of the viscous boundary layer, δ_V = √(2μ/ρω) [m]."""
        return (2 * self.kinematic_viscosity / omega) ** 0.5

    def thermal_layer(self, omega: Frequency) -> Frequency:
        """Thickness of the thermal boundary layer, δ_T = δ_V/√Pr [m]."""
        return self.viscous_layer(omega) / self.prandtl_number**0.5


@lru_cache(maxsize=256)
def humid_air(
    temperature: float = 293.15, relative_humidity: float = 0.0, pressure: float = 101325.0
) -> Air:
    """Air at a temperature, relative humidity and static pressure.

    Parameters
    ----------
    temperature : float
        Absolute temperature [K], −20 to 60 °C.
    relative_humidity : float
        Fraction of saturation, 0 to 1.
    pressure : float
        Static pressure [Pa], 50 to 110 kPa.

    Returns
    -------
    Air

    Raises
    ------
    ValueError
        If an argument lies outside the range in which the model was checked.

    Examples
    --------
    >>> round(humid_air(298.15, 0.5).sound_speed, 1)
    347.1
    """
    celsius = [kelvin - CELSIUS_ZERO for kelvin in (temperature, *TEMPERATURE_RANGE)]
    kilopascal = [pascal / 1e3 for pascal in (pressure, *PRESSURE_RANGE)]
    _require_within("temperature", celsius, "degC", "25 degC")
    _require_within("relative_humidity", [100 * relative_humidity, 0.0, 100.0], "%", "50 %")
    _require_within("pressure", kilopascal, "kPa", "101.325 kPa")
    # CoolProp takes seconds to load; whoever only reads results does not wait for it.
    from CoolProp.CoolProp import HAPropsSI

    humidity_ratio = HAPropsSI("W", "T", temperature, "P", pressure, "R", relative_humidity)

    def at(output: str, temperature: float = temperature, pressure: float = pressure) -> float:
        return float(HAPropsSI(output, "T", temperature, "P", pressure, "W", humidity_ratio))

    def moist_density(temperature: float, pressure: float) -> float:
        # CoolProp's volume is per kilogram of *dry* air; the moisture rides along.
        return (1 + humidity_ratio) / at("Vda", temperature, pressure)

    entropy = at("Sda")

    def isentropic_density(pressure: float) -> float:
        changed = HAPropsSI("T", "P", pressure, "Sda", entropy, "W", humidity_ratio)
        return moist_density(changed, pressure)

    above, below = pressure + _PRESSURE_STEP, pressure - _PRESSURE_STEP
    isentropic_slope = isentropic_density(above) - isentropic_density(below)
    isothermal_slope = moist_density(temperature, above) - moist_density(temperature, below)
    return Air(
        density=moist_density(temperature, pressure),
        sound_speed=(2 * _PRESSURE_STEP / isentropic_slope) ** 0.5,
        viscosity=at("mu"),
        thermal_conductivity=at("K"),
        specific_heat=at("Cha"),
        heat_capacity_ratio=isothermal_slope / isentropic_slope,
    )


def _require_within(name: str, values: list[float], unit: str, example: str) -> None:
    found, least, greatest = values
    # A comparison with NaN is false, so this form refuses it too; the slack is for the rounding
    # of degrees Celsius to kelvin and back.
    slack = 1e-9 * max(1.0, abs(greatest))
    if not least - slack <= found <= greatest + slack:
        raise ValueError(
            f"air.{name}: found {found:g} {unit}; "
            f"allowed is {least:g} to {greatest:g} {unit}, for example {example}"
        )
