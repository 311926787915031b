"""Steady axisymmetric incompressible flow through a bore by Taylor–Hood elements.

`solve.solve_flow` goes the whole way from meshes to numbers.  This package's own name in
`borestudy` is the function of the front door, so nothing is imported here.
"""
