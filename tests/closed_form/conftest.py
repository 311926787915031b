"""The gas in which the published and computed values below hold."""

import pytest

from borestudy.air import Air


@pytest.fixture(scope="session")
def dry_air() -> Air:
    """Dry air at 20 °C and 101 325 Pa."""
    return Air(
        density=1.2046,
        sound_speed=343.34,
        viscosity=1.8206e-5,
        thermal_conductivity=0.025874,
        specific_heat=1006.14,
        heat_capacity_ratio=1.4020,
    )
