"""The air model against published equations that share no code with it."""

import math

import numpy as np
import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI

from borestudy.air import Air, humid_air

ZERO = 273.15


def saturation_pressure(kelvin: float) -> float:
    """Saturation vapour pressure [Pa] (Davis 1992, CIPM-81/91, from memory)."""
    return math.exp(
        1.2378847e-5 * kelvin**2 - 1.9121316e-2 * kelvin + 33.93711047 - 6343.1645 / kelvin
    )


def vapour_fraction(kelvin: float, humidity: float, pressure: float) -> float:
    """Mole fraction of water vapour with its enhancement factor (Davis 1992, from memory)."""
    celsius = kelvin - ZERO
    enhancement = 1.00062 + 3.14e-8 * pressure + 5.6e-7 * celsius**2
    return humidity * enhancement * saturation_pressure(kelvin) / pressure


def cramer_sound_speed(kelvin: float, humidity: float, pressure: float) -> float:
    """Cramer 1993, J. Acoust. Soc. Am. 93, 2510, eq. 15; coefficients from memory."""
    t = kelvin - ZERO
    x_w = vapour_fraction(kelvin, humidity, pressure)
    x_c = 314e-6
    p = pressure
    return (
        331.5024 + 0.603055 * t - 0.000528 * t**2
        + (51.471935 + 0.1495874 * t - 0.000782 * t**2) * x_w
        + (-1.82e-7 + 3.73e-8 * t - 2.93e-10 * t**2) * p
        + (-85.20931 - 0.228525 * t + 5.91e-5 * t**2) * x_c
        - 2.835149 * x_w**2 - 2.15e-13 * p**2 + 29.179762 * x_c**2 + 0.000486 * x_w * p * x_c
    )  # fmt: skip


def cipm_density(kelvin: float, humidity: float, pressure: float) -> float:
    """CIPM-2007 (Picard et al. 2008, Metrologia 45, 149, eq. 3), 400 ppm CO₂; from memory."""
    t = kelvin - ZERO
    x_v = vapour_fraction(kelvin, humidity, pressure)
    compressibility = (
        1
        - pressure / kelvin * (
            1.58123e-6 - 2.9331e-8 * t + 1.1043e-10 * t**2
            + (5.707e-6 - 2.051e-8 * t) * x_v + (1.9898e-4 - 2.376e-6 * t) * x_v**2
        )
        + (pressure / kelvin) ** 2 * (1.83e-11 - 0.765e-8 * x_v**2)
    )  # fmt: skip
    dry_molar_mass = 28.96546e-3
    return pressure * dry_molar_mass / (compressibility * 8.314472 * kelvin) * (1 - 0.3780 * x_v)


STATES = [
    (ZERO + celsius, humidity, pressure)
    for celsius in (0.5, 15.0, 20.0, 27.0)
    for humidity in (0.0, 0.5, 0.95)
    for pressure in (80e3, 101325.0)
]


@pytest.mark.parametrize("state", STATES)
def test_sound_speed_agrees_with_cramer_1993(state):
    assert humid_air(*state).sound_speed == pytest.approx(cramer_sound_speed(*state), rel=2e-4)


@pytest.mark.parametrize("state", STATES)
def test_density_agrees_with_cipm_2007(state):
    assert humid_air(*state).density == pytest.approx(cipm_density(*state), rel=1.5e-4)


def test_iec_61094_2_reference_state():
    reference = humid_air(ZERO + 23, 0.5, 101325.0)
    assert reference.sound_speed == pytest.approx(345.87, rel=2e-4)
    assert reference.density == pytest.approx(1.186, abs=6e-4)


@pytest.mark.parametrize("celsius", [-20.0, 0.0, 20.0, 40.0, 60.0])
@pytest.mark.parametrize("pressure", [50e3, 101325.0])
def test_dry_air_agrees_with_the_reference_equation_of_state(celsius, pressure):
    # CoolProp's pure fluid "Air" is Lemmon et al. 2000, a Helmholtz-energy equation that gives
    # the speed of sound itself: nothing of the moist-air virial model or of our differences.
    air = humid_air(ZERO + celsius, 0.0, pressure)

    def direct(output: str) -> float:
        return PropsSI(output, "T", ZERO + celsius, "P", pressure, "Air")

    assert air.sound_speed == pytest.approx(direct("A"), rel=1e-4)
    assert air.density == pytest.approx(direct("D"), rel=1e-4)
    assert air.specific_heat == pytest.approx(direct("C"), rel=5e-4)
    assert air.heat_capacity_ratio == pytest.approx(direct("C") / direct("O"), rel=5e-4)
    assert air.viscosity == pytest.approx(direct("V"), rel=0.012)
    assert air.thermal_conductivity == pytest.approx(direct("L"), rel=0.03)


@pytest.mark.parametrize("celsius", [0.0, 20.0, 40.0])
def test_viscosity_agrees_with_sutherland(celsius):
    # Sutherland's law with White's constants (White 2006, Viscous Fluid Flow, eq. 1-36).
    kelvin = ZERO + celsius
    sutherland = 1.716e-5 * (kelvin / 273.0) ** 1.5 * (273.0 + 111.0) / (kelvin + 111.0)
    assert humid_air(kelvin).viscosity == pytest.approx(sutherland, rel=0.012)


@pytest.mark.parametrize(
    ("celsius", "humidity", "density", "sound_speed", "viscosity", "conductivity", "cp", "gamma"),
    [
        (20, 0.0, 1.20460, 343.340, 1.82057e-5, 0.0258738, 1006.13, 1.40197),
        (25, 0.5, 1.17736, 347.100, 1.83590e-5, 0.0262306, 1014.93, 1.40042),
        (37, 1.0, 1.11188, 356.586, 1.86269e-5, 0.0270106, 1042.82, 1.39592),
    ],
)
def test_the_constants_an_independent_evaluation_of_the_same_model_gave(
    celsius, humidity, density, sound_speed, viscosity, conductivity, cp, gamma
):
    air = humid_air(ZERO + celsius, humidity)
    assert air.density == pytest.approx(density, rel=1e-5)
    assert air.sound_speed == pytest.approx(sound_speed, rel=1e-5)
    assert air.viscosity == pytest.approx(viscosity, rel=1e-5)
    assert air.thermal_conductivity == pytest.approx(conductivity, rel=1e-5)
    assert air.specific_heat == pytest.approx(cp, rel=1e-5)
    assert air.heat_capacity_ratio == pytest.approx(gamma, rel=6e-5)


@pytest.mark.parametrize("state", [(ZERO + 20, 0.0), (ZERO + 37, 1.0), (ZERO + 60, 0.8)])
def test_sound_speed_from_entropy_equals_the_one_from_heat_capacity(state):
    # (∂ρ/∂p)_s = (∂ρ/∂p)_T − T (∂ρ/∂T)_p² / (ρ² cp), an identity that takes the model's own cp
    # and no entropy.  The model's cp and entropy themselves part by 7e-5 at 60 °C.
    kelvin, humidity = state
    pressure, air = 101325.0, humid_air(*state)
    ratio = HAPropsSI("W", "T", kelvin, "P", pressure, "R", humidity)

    def density(t: float, p: float) -> float:
        return 1 / HAPropsSI("Vha", "T", t, "P", p, "W", ratio)

    by_pressure = (density(kelvin, pressure + 100) - density(kelvin, pressure - 100)) / 200
    by_temperature = (density(kelvin + 0.1, pressure) - density(kelvin - 0.1, pressure)) / 0.2
    slope = by_pressure - kelvin * by_temperature**2 / (air.density**2 * air.specific_heat)
    assert air.sound_speed == pytest.approx(slope**-0.5, rel=1e-4)


@pytest.mark.parametrize("humidity", [0.0, 1.0])
@pytest.mark.parametrize("celsius", [-20.0, 60.0])
@pytest.mark.parametrize("pressure", [50e3, 110e3])
def test_every_corner_of_the_allowed_range_gives_air(celsius, humidity, pressure):
    air = humid_air(ZERO + celsius, humidity, pressure)
    assert 1.3 < air.heat_capacity_ratio < 1.41
    assert 315 < air.sound_speed < 395
    assert 0.68 < air.prandtl_number < 0.85


def test_boundary_layers_are_a_twentieth_of_a_millimetre_at_2_kilohertz():
    # δ_V = 2.2 mm/√(f/Hz) (Pierce 1981, §10-3, from memory); Pr 0.71 makes δ_T 2.6 mm.
    air = humid_air()
    omega = 2 * np.pi * np.array([100.0, 2000.0])
    assert air.viscous_layer(omega) == pytest.approx(2.2e-3 / np.sqrt([100.0, 2000.0]), rel=0.02)
    assert air.thermal_layer(omega) == pytest.approx(2.6e-3 / np.sqrt([100.0, 2000.0]), rel=0.02)


def test_ratio_of_the_layers_is_the_root_of_the_prandtl_number():
    air = Air(1.2, 343.0, 1.8e-5, 0.026, 1006.0, 1.4)
    assert air.viscous_layer(100.0) / air.thermal_layer(100.0) == pytest.approx(
        math.sqrt(1.8e-5 * 1006.0 / 0.026)
    )


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((400.0,), ["air.temperature", "126.85 degC", "-20 to 60", "25 degC"]),
        ((25.0,), ["air.temperature", "-248.15 degC", "-20 to 60"]),
        ((math.nan,), ["air.temperature", "nan"]),
        ((293.15, 50.0), ["air.relative_humidity", "5000 %", "0 to 100 %", "50 %"]),
        ((293.15, -0.1), ["air.relative_humidity", "-10 %"]),
        ((293.15, 0.5, 101.325), ["air.pressure", "0.101325 kPa", "50 to 110 kPa", "101.325 kPa"]),
    ],
)
def test_air_outside_the_checked_range_is_refused_by_name(arguments, words):
    with pytest.raises(ValueError, match="allowed is") as refused:
        humid_air(*arguments)
    assert [word for word in words if word not in str(refused.value)] == []
