"""No curve of the best estimate against flow rate or throat radius jumps or turns back."""

import numpy as np
import pytest

import borestudy as bs
from borestudy.bore import passage
from borestudy.flow.models.of_bore import model_of
from borestudy.flow.regime import rate_scale
from borestudy.flow.solve import solve_rates
from borestudy.mesh import ESTIMATE, read_mesh, turbulent, write_mesh
from borestudy.results.model_error import model_error

AIR = bs.Air("25 degC", "50 %")
RATES = 40
REYNOLDS = (500.0, 12000.0)
RADII_MM = np.linspace(1.5, 2.2, 20)
#: One rate of each kind: laminar, breaking up in the backbore, turbulent early on [L/s].
RATES_OF_RADII = (0.04, 0.12, 0.3)


def bore(entry, throat="3.6576 mm"):
    return bs.Bore.from_dimensions(
        length="88 mm",
        cup={"diameter": "16.2 mm", "depth": "10.8 mm", "shape": 0.6},
        throat={"diameter": throat, "length": "5 mm", "entry": entry},
        backbore={"end_diameter": "9 mm", "taper": "straight"},
    )


def solved(of, rates, folder):
    """The drop [Pa] at each rate, and how far off it may be on either side, on the coarsest mesh.

    What one mesh leaves open is not in these: a part of it differs from mesh to mesh, so that it
    would hide a jump.
    """
    scale = rate_scale(AIR, float(rates[-1]), 2 * of.throat_radius)
    path = folder / "one.msh"
    folder.mkdir(exist_ok=True)
    write_mesh(of, path, turbulent(scale.reynolds, preset=ESTIMATE).at("coarse"), 0)
    found = solve_rates(
        [read_mesh(path)], AIR, list(rates), 2 * of.throat_radius, model=model_of("estimate", of),
        parts=of.part_ranges, least_levels=1,
    )  # fmt: skip
    assert all(rate.converged for rate in found.rates)
    sides = [model_error(passage(of), rate).drops["pressure_drop"] for rate in found.rates]
    drops = np.array([rate.pressure_drop.value for rate in found.rates])
    return drops, np.array([[one.low, one.high] for one in sides])


def refuse_jumps(drops, sides, along):
    """Refuse a second difference of the coefficient beyond the middle's stated width.

    Three values that are each off by half of it may bend their curve by twice as much.

    `along` is what the curve is drawn against; steps in its logarithm are even.
    """
    bend = drops[2:] - 2 * drops[1:-1] + drops[:-2]
    stated = sides[1:-1].sum(axis=1)
    worst = int(np.argmax(np.abs(bend) / stated))
    assert np.abs(bend[worst]) <= stated[worst], f"a jump at {along[worst + 1]:.4g}"


@pytest.mark.parametrize("entry", ["square", "rounded 0.5 mm"])
def test_the_pressure_drop_rises_smoothly_with_the_flow_rate(entry, tmp_path):
    of = bore(entry)
    unit = rate_scale(AIR, 1e-3, 2 * of.throat_radius)
    reynolds = np.geomspace(*REYNOLDS, RATES)
    rates = reynolds * 1e-3 / unit.reynolds
    drops, sides = solved(of, rates, tmp_path)
    assert (np.diff(drops) > 0).all()
    refuse_jumps(drops / reynolds**2, sides / reynolds[:, None] ** 2, reynolds)


def test_the_pressure_drop_falls_smoothly_with_the_throats_radius(tmp_path):
    drops, sides = [], []
    for radius in RADII_MM:
        folder = tmp_path / f"{radius:.3f}"
        found, apart = solved(
            bore("rounded 0.5 mm", f"{2 * radius:.4f} mm"), np.array(RATES_OF_RADII) * 1e-3, folder
        )
        drops.append(found)
        sides.append(apart)
    of_rates = zip(np.transpose(drops), np.transpose(sides, (1, 0, 2)), strict=True)
    for rate, (values, apart) in zip(RATES_OF_RADII, of_rates, strict=True):
        assert (np.diff(values) < 0).all(), rate
        weight = RADII_MM**4
        refuse_jumps(values * weight, apart * weight[:, None], RADII_MM)
