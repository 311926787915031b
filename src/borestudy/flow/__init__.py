"""Steady axisymmetric incompressible flow through a bore by Taylor-Hood elements."""
