r"""A cup and a throat as a Helmholtz resonator, without wall losses.

Strong form: ∇²p + k² p = 0; weak form, axisymmetric, g the normal derivative that drives the rim
plane, Z the radiation impedance at the throat's end, where p = Z U:

.. math::
    2\pi\int (\nabla p\cdot\nabla q - k^2 p q)\, r\,dA + \frac{i\omega\rho}{Z}\,p\,q\,\Big|_{end}
    = 2\pi\int_{rim} g\,q\,r\,ds.

One-dimensional value: the cup (section S_c, length l) and the throat (S, L) are lines; the step
between them is the inertance of a length δ of throat (mode matching), and the flanged end adds
0.8217 a to it:

.. math::
    \tan(kl)\,[\tan(k(L + 0.8217a)) + k\delta] = S/S_c, \qquad
    \text{lumped: } \omega^2 = \frac{c^2 S}{V (L + \delta + 0.8217a)} \ \text{for } kL \ll 1.

Numbers: cup 16.2 mm by 10 mm, throat 3.66 mm by 20 mm, air at 25 °C and 50 %.
"""

from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from scipy.optimize import brentq

import borestudy as bs
from borestudy.closed_form.area_step import end_correction

CUP, DEPTH, THROAT, LENGTH = 8.1e-3, 10e-3, 1.83e-3, 20e-3

with TemporaryDirectory() as folder:
    stations = Path(folder) / "resonator.csv"
    stations.write_text("position_mm,diameter_mm\n0,16.2\n10,16.2\n10,3.66\n30,3.66\n")
    bore = bs.Bore.from_stations(stations)
air = bs.Air("25 degC", "50 %")
sound = bs.acoustics(bore, air, termination="open flanged", walls="lossless", to="3 kHz")
(peak,) = sound.resonances()

areas = (THROAT / CUP) ** 2
step, line = end_correction(THROAT / CUP) * THROAT, LENGTH + 0.8217 * THROAT


def mismatch(k):
    """Zero where cup and throat resonate, wavenumber k [1/m]."""
    return np.tan(k * DEPTH) * (np.tan(k * line) + k * step) - areas


lines = air.sound_speed * brentq(mismatch, 1, 40) / (2 * np.pi)
lumped = air.sound_speed / (2 * np.pi) * np.sqrt(areas / (DEPTH * (line + step)))

axes = sound.plot(label="finite elements")
axes.axvline(lines, color="black", linestyle="--", label="two lines with end corrections")
axes.axvline(lumped, color="grey", linestyle=":", label="lumped")
axes.legend()

print(f"resonance {peak.frequency}, lines {lines:.1f} Hz, lumped {lumped:.1f} Hz")
assert abs(peak.frequency.value / lines - 1) < 5e-4  # (ka)² of the throat's end corrections
