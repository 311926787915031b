r"""The free outlet: zero pressure where air leaves, zero total pressure where it comes back.

A jet that has not spread at the shank end draws air in beside it.  With zero pressure over the
whole outlet that inflow brings in any kinetic energy it likes, and beyond some flow rate the
linearised problem loses its footing there.  Air drawn from rest outside has zero *total* pressure,

.. math:: p = -\tfrac12 u_x^2 \quad\text{where } u_x < 0,

which adds :math:`-\tfrac12 \int_{u_x<0} u_x^2 v_x\, r\,ds` to the left side of the weak form
(directional do-nothing condition: Braack & Mucha 2014, J. Comput. Math. 32, 507).
"""

import numpy as np

from borestudy.fem import Floats

from .edges import EdgeTables


def outlet_pressure(tables: EdgeTables, velocity: Floats) -> Floats:
    """Scaled pressure that the outlet holds at its quadrature points, shape (F, q)."""
    return -0.5 * np.minimum(tables.velocity(velocity[:1])[0], 0) ** 2


def outlet_residual(tables: EdgeTables, velocity: Floats) -> Floats:
    """The outlet's term against the axial test functions, shape (n,)."""
    local = outlet_pressure(tables, velocity) * tables.weights
    entries = np.einsum("fq,fqi->fi", local, tables.functions)
    nodes = tables.velocity_dofs.ravel()
    total = np.bincount(nodes, entries.ravel(), minlength=velocity.shape[1])
    return np.asarray(total, dtype=float)


def outlet_derivative(tables: EdgeTables, velocity: Floats) -> Floats:
    """Its derivative by the axial velocity, axial test by trial, shape (F, 6, 6)."""
    slope = -np.minimum(tables.velocity(velocity[:1])[0], 0) * tables.weights
    return np.einsum("fq,fqi,fqj->fij", slope, tables.functions, tables.functions, optimize=True)
