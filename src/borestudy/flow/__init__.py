"""Steady axisymmetric incompressible flow through a bore, laminar, by Taylor–Hood elements."""

from .solve import solve_flow

__all__ = ["solve_flow"]
