r"""Reattachment of laminar flow downstream of a sudden 1:2 expansion.

Strong form: ρ (u·∇)u = −∇p + μ ∇²u, ∇·u = 0, a parabola at the inlet, no slip at the wall.
Weak form, lengths over the diameter D, velocities over the mean U, pressure over ρU²:

.. math::
    \int \Big[(u\cdot\nabla)u\cdot v + \frac{1}{Re}\Big(\nabla u:\nabla v + \frac{u_r v_r}{r^2}\Big)
    - p\,\nabla\cdot v + q\,\nabla\cdot u\Big]\, r\,dA = 0 \quad\text{for all } (v, q).

Beside it: the jet comes back to the wall 0.0876 Re step heights downstream, measured by Hammad,
Ötügen & Arik (1999); from memory.  The flow leaves a backbore that widens too fast in the same way.

Numbers: from 4 mm to 8 mm diameter, Reynolds numbers 50 and 100, air at 25 °C and 50 %.
"""

from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

import borestudy as bs

DIAMETER, STEP = 4e-3, 2e-3

with TemporaryDirectory() as folder:
    stations = Path(folder) / "expansion.csv"
    stations.write_text("position_mm,diameter_mm\n0,4\n8,4\n8,8\n60,8\n")
    bore = bs.Bore.from_stations(stations)
air = bs.Air("25 degC", "50 %")
reynolds = np.array([50.0, 100.0])
rates = reynolds * np.pi / 4 * DIAMETER * air.kinematic_viscosity
flow = bs.flow(bore, air, rates=rates, inlet="developed", model="laminar", resolution="coarse")
places = [rate.separations[-1].reattachment for rate in flow.rates]

axes = bore.plot()
for number, place in zip(reynolds, places, strict=True):
    axes.plot(place.value, 4, "v", label=f"Re {number:.0f}: {place}")
axes.legend()

lengths = (np.array([place.value for place in places]) * 1e-3 - 8e-3) / STEP
print("reattachment:", ", ".join(map(str, places)), "over Re:", (lengths / reynolds).round(4))
assert abs(lengths[-1] / (0.0876 * reynolds[-1]) - 1) < 0.02
