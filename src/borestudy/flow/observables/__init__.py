"""What is read from a solution, the same for every model of the flow.

Functions take a `Problem` and a `State` of :mod:`borestudy.flow.problem`; lengths are in throat
diameters, velocities in throat mean velocities U, pressures in ρU².
"""
