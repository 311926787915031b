"""What a bore's dimensions do to its resonances, from the two-port that is solved already."""

from collections.abc import Mapping
from dataclasses import replace
from difflib import get_close_matches

from borestudy.acoustics.operator import AffineOperator, Port
from borestudy.acoustics.two_port import TwoPort

#: What of a port a dimension changes.
OF_PORT = ("area", "edge_radius", "edge_curvature", "edge_weight", "surface", "edge")


def changed(two_port: TwoPort, amounts: Mapping[str, float]) -> TwoPort:
    """The two-port of the bore with some dimensions larger, to first order in its matrices.

    Parameters
    ----------
    two_port : TwoPort
        Solved with its dimensions.
    amounts : mapping of str to float
        How much larger each dimension is, by its key [m, rad, or 1].

    Returns
    -------
    TwoPort
        With its own shank radius, so that a termination must be built for it; its derivatives are
        those of the bore as it was.

    Raises
    ------
    ValueError
        If the two-port has no derivative by one of them.
    """
    for key in amounts:
        if key not in two_port.dimensions:
            near = get_close_matches(key, two_port.dimensions, n=1)
            hint = f"did you mean {near[0]}? " if near else ""
            allowed = ", ".join(two_port.dimensions) or "none, as it was solved without dimensions"
            raise ValueError(f"dimension: found {key!r}; {hint}allowed is {allowed}")
    places = {key: two_port.dimensions.index(key) for key in amounts}
    models = []
    for model in two_port.models:
        operator = model.operator
        for key, amount in amounts.items():
            operator = _added(operator, model.derivatives[places[key]], amount)
        models.append(replace(model, operator=operator))
    values = list(two_port.values)
    for key, amount in amounts.items():
        values[places[key]] += amount
    return replace(two_port, models=tuple(models), values=tuple(values))


def _added(operator: AffineOperator, derivative: AffineOperator, amount: float) -> AffineOperator:
    pairs = zip(operator.matrices, derivative.matrices, strict=True)
    ports = zip(operator.ports, derivative.ports, strict=True)
    return replace(
        operator,
        matrices=tuple(matrix + amount * slope for matrix, slope in pairs),
        ports=tuple(_added_port(*each, amount) for each in ports),
        largest_curvature=operator.largest_curvature + amount * derivative.largest_curvature,
    )


def _added_port(port: Port, slope: Port, amount: float) -> Port:
    return replace(
        port, **{name: getattr(port, name) + amount * getattr(slope, name) for name in OF_PORT}
    )
