"""A two-port in a file: every array of its records by a dotted name.

Parts that are alike lie in one array: a model's matrices, and the derivatives by its dimensions.
"""

from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
from scipy.sparse import csc_matrix, issparse

from borestudy.acoustics.operator import AffineOperator, Port
from borestudy.acoustics.reduced_basis import Reduction
from borestudy.acoustics.two_port import ReducedModel, TwoPort
from borestudy.air import Air
from borestudy.files import refuse_damaged, replacing

#: Name of an array whose first axis counts the parts of a tuple.
STACKED = "stacked"


def save_two_port(two_port: TwoPort, path: str | Path) -> None:
    """Write the reduced models to an ``.npz`` that needs no mesh to be used."""
    with replacing(path) as unfinished:
        np.savez_compressed(unfinished, **dict(_flat("", asdict(two_port))))


def load_two_port(path: str | Path) -> TwoPort:
    """Read what :func:`save_two_port` wrote."""
    refuse_damaged(path)
    nested: dict[str, Any] = {}
    with np.load(path, allow_pickle=False) as stored:
        for name in stored.files:
            *above, last = name.split(".")
            place = nested
            for key in above:
                place = place.setdefault(key, {})
            place[last] = stored[name]
    found = _restored(nested)
    models = []
    for model in found.pop("models"):
        operator, reduction = _operator(model.pop("operator")), Reduction(**model.pop("reduction"))
        derivatives = tuple(_operator(each) for each in model.pop("derivatives"))
        models.append(ReducedModel(operator, reduction, derivatives=derivatives, **model))
    return TwoPort(tuple(models), Air(**found.pop("air")), **found)


def _operator(found: dict[str, Any]) -> AffineOperator:
    ports = tuple(Port(**port) for port in found.pop("ports"))
    return AffineOperator(**found, ports=ports)


def _flat(name: str, value: Any) -> Iterator[tuple[str, Any]]:
    """Arrays and numbers of nested mappings, tuples and sparse matrices, by dotted names."""
    if issparse(value):
        value = csc_matrix(value)
        value = {key: getattr(value, key) for key in ("data", "indices", "indptr", "shape")}
        value["shape"] = np.array(value["shape"])
    if isinstance(value, tuple):
        arrays = [] if any(isinstance(part, dict | tuple) for part in value) else value
        alike = len({(part.shape, part.dtype.kind) for part in map(np.asarray, arrays)}) == 1
        if alike and not any(issparse(part) for part in value):
            value = {STACKED: np.stack(value)}
        else:
            value = {"count": len(value)} | {str(place): part for place, part in enumerate(value)}
    if not isinstance(value, dict):
        yield name, value
        return
    for key, part in value.items():
        yield from _flat(f"{name}.{key}" if name else key, part)


def _restored(value: Any) -> Any:
    """What `_flat` took apart, from nested mappings."""
    if not isinstance(value, dict):
        return value.item() if value.ndim == 0 else value
    if STACKED in value:
        return tuple(_restored(np.asarray(part)) for part in value[STACKED])
    if "count" in value:
        return tuple(_restored(value[str(place)]) for place in range(int(value["count"])))
    if "indptr" in value:
        parts = (value["data"], value["indices"], value["indptr"])
        return csc_matrix(parts, shape=tuple(value["shape"]))
    return {key: _restored(part) for key, part in value.items()}
