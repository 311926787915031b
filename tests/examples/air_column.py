r"""A bore with an air column at its shank: solved once, joined with several terminations.

Strong form: ∇²p + k² p = 0 with wall losses (see ``closed_cylinder.py``).  Weak form for a
unit flow through one end at a time gives the two-port Z of the bore,

.. math::
    \begin{pmatrix} p_1 \\ p_2 \end{pmatrix} = Z \begin{pmatrix} U_1 \\ U_2 \end{pmatrix},
    \qquad Z_{in} = Z_{11} - \frac{Z_{12} Z_{21}}{Z_{22} + Z_t},

with Z_t of whatever follows: an air column is a chain of cones with wall losses.

Closed form: a cylinder of 60 mm that an air column of 300 mm and the same bore continues is a
cylinder of 360 mm, which radiates from its unflanged end (Levine & Schwinger 1948).

Numbers: diameter 12 mm, air at 25 °C and 50 %, 50 Hz to 3 kHz.
"""

from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

import borestudy as bs
from borestudy.bore import cylinder
from borestudy.closed_form.radiation import radiation_impedance
from borestudy.closed_form.tube import transfer_matrix

RADIUS, BORE, COLUMN = 6e-3, 0.06, 0.3

air = bs.Air("25 degC", "50 %")
without = bs.acoustics(cylinder(RADIUS, BORE), air, to="3 kHz")
with TemporaryDirectory() as folder:
    stations = Path(folder) / "air-column.csv"
    stations.write_text("position_mm,diameter_mm\n0,12\n300,12\n")
    joined = without.with_termination({"air column": stations})

frequency = np.linspace(50, 3000, 1001)
omega = 2 * np.pi * frequency
chain = transfer_matrix(RADIUS, BORE + COLUMN, omega, air)
end = radiation_impedance(RADIUS, omega, air, "unflanged")
exact = (chain[:, 0, 0] * end + chain[:, 0, 1]) / (chain[:, 1, 0] * end + chain[:, 1, 1])
table = joined.impedance(frequency)
found = table["impedance_real_Pa_s_per_m3"] + 1j * table["impedance_imag_Pa_s_per_m3"]

axes = without.plot(label="anechoic pipe")
joined.plot(axes, color="#D55E00", label="air column of 300 mm")
axes.plot(frequency, 1e-6 * abs(exact), "--", color="black", linewidth=0.8, label="closed form")
axes.legend(loc="upper right")

deviation = float(np.max(abs(found - exact) / abs(exact)))
print(joined, f"greatest deviation from the closed form {100 * deviation:.3f} %", sep="\n")
assert deviation < 5e-4  # the flow in the wall's layer at the ends, and the mesh
