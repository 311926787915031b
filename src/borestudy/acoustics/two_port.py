"""The bore as a two-port between rim plane and shank end, one reduced model per mesh level."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import csc_matrix, issparse
from skfem import MeshTri2

from borestudy.acoustics.assembly import assemble
from borestudy.acoustics.operator import AffineOperator, Port, impedance_matrix
from borestudy.acoustics.reduced_basis import TOLERANCE, Reduction, reduce_operator
from borestudy.acoustics.termination import Termination
from borestudy.acoustics.walls import Walls
from borestudy.air import Air
from borestudy.files import refuse_damaged, replacing


@dataclass(frozen=True)
class ReducedModel:
    """One mesh level's two-port, without its mesh.

    Attributes
    ----------
    operator : AffineOperator
        Small and dense (sparse where the reduced basis failed).
    reduction : Reduction
    unknowns : int
        Of the finite-element problem.
    widest_radius : float [m]
        Of the bore.
    volume : float [m³]
        Of the meshed bore.
    """

    operator: AffineOperator
    reduction: Reduction
    unknowns: int
    widest_radius: float
    volume: float


@dataclass(frozen=True)
class TwoPort:
    """Reduced models of one bore, coarsest mesh first, in one air, over one frequency range."""

    models: tuple[ReducedModel, ...]
    air: Air
    lowest_frequency: float
    highest_frequency: float

    @property
    def finest(self) -> ReducedModel:
        return self.models[-1]

    @property
    def walls(self) -> Walls:
        return self.finest.operator.walls

    @property
    def shank_radius(self) -> float:
        return self.finest.operator.ports[1].edge_radius


def check_range(lowest_frequency: float, highest_frequency: float) -> None:
    """Raise ValueError unless the range is positive and ascending."""
    found = f"found {lowest_frequency:g} Hz to {highest_frequency:g} Hz (example: 50 Hz to 5000 Hz)"
    if not lowest_frequency > 0:
        raise ValueError(f"resonance.from must be above 0 Hz; {found}")
    if not highest_frequency > lowest_frequency:
        raise ValueError(f"resonance.to must be above resonance.from; {found}")


def solve_two_port(
    meshes: Sequence[MeshTri2],
    air: Air,
    lowest_frequency: float,
    highest_frequency: float,
    walls: Walls = "curved",
    order: int = 2,
    tolerance: float = TOLERANCE,
) -> TwoPort:
    """Two-port of a bore on every mesh level.

    Parameters
    ----------
    meshes : sequence of MeshTri2
        Coarsest first.
    air : Air
        At rest.
    lowest_frequency : float [Hz]
        Start of the range in which the reduced models meet ``tolerance``.
    highest_frequency : float [Hz]
        End of that range.
    walls : str
        "lossless", "plain" or "curved".
    order : int
        Degree of the pressure's polynomials, 2 or 3.
    tolerance : float
        Relative, of every entry of the impedance matrix.

    Returns
    -------
    TwoPort
    """
    check_range(lowest_frequency, highest_frequency)
    models = []
    for mesh in meshes:
        operator = assemble(mesh, walls, order)
        small, reduction, _ = reduce_operator(
            operator, air, lowest_frequency, highest_frequency, tolerance
        )
        volume = float(operator.mass.sum())
        widest = float(mesh.p[1].max())
        models.append(ReducedModel(small, reduction, operator.unknowns, widest, volume))
    return TwoPort(tuple(models), air, lowest_frequency, highest_frequency)


def two_port_matrix(
    two_port: TwoPort, frequencies: ArrayLike, level: int = -1, air: Air | None = None
) -> NDArray[np.complex128]:
    """Impedance matrix, both flows into the bore [Pa·s/m³], shape (n_frequencies, 2, 2).

    ``air`` other than the one the basis was made in is allowed for small changes of air: the
    matrices hold geometry alone.
    """
    omega = 2 * np.pi * np.atleast_1d(frequencies)
    return impedance_matrix(two_port.models[level].operator, omega, air or two_port.air)


def input_impedance(
    two_port: TwoPort,
    termination: Termination,
    frequencies: ArrayLike,
    level: int = -1,
    air: Air | None = None,
) -> NDArray[np.complex128]:
    """p/U at the rim plane with a termination [Pa·s/m³], shape (n_frequencies,)."""
    matrix, flow = _driven(two_port, termination, frequencies, level, air)
    return np.asarray(matrix[:, 0, 0] + matrix[:, 0, 1] * flow)


def pressure_transfer(
    two_port: TwoPort,
    termination: Termination,
    frequencies: ArrayLike,
    level: int = -1,
    air: Air | None = None,
) -> NDArray[np.complex128]:
    """p at the shank end over p at the rim plane, shape (n_frequencies,)."""
    matrix, flow = _driven(two_port, termination, frequencies, level, air)
    shank = matrix[:, 1, 0] + matrix[:, 1, 1] * flow
    return np.asarray(shank / (matrix[:, 0, 0] + matrix[:, 0, 1] * flow))


def _driven(
    two_port: TwoPort, termination: Termination, frequencies: ArrayLike, level: int, air: Air | None
) -> tuple[NDArray[np.complex128], NDArray[np.complex128]]:
    """Impedance matrix, and flow *into* the bore at the shank for unit flow at the rim."""
    matrix = two_port_matrix(two_port, frequencies, level, air)
    omega = 2 * np.pi * np.atleast_1d(frequencies)
    pressure, outflow = termination.state(omega, air or two_port.air).T
    flow = -matrix[:, 1, 0] * outflow / (pressure + matrix[:, 1, 1] * outflow)
    return matrix, flow


def _pack(prefix: str, value: Any) -> dict[str, Any]:
    if issparse(value):
        value = csc_matrix(value)
        return {
            f"{prefix}.data": value.data, f"{prefix}.indices": value.indices,
            f"{prefix}.indptr": value.indptr, f"{prefix}.shape": value.shape,
        }  # fmt: skip
    if isinstance(value, tuple):
        entries = {f"{prefix}.count": len(value)}
        for index, item in enumerate(value):
            entries |= _pack(f"{prefix}.{index}", item)
        return entries
    if isinstance(value, AffineOperator | Port | ReducedModel | Reduction):
        entries = {}
        for field in fields(value):
            entries |= _pack(f"{prefix}.{field.name}", getattr(value, field.name))
        return entries
    return {prefix: value}


def _unpack(prefix: str, archive: dict[str, NDArray]) -> Any:
    if prefix in archive:
        value = archive[prefix]
        return value.item() if value.ndim == 0 else value
    if f"{prefix}.count" in archive:
        count = int(archive[f"{prefix}.count"])
        return tuple(_unpack(f"{prefix}.{index}", archive) for index in range(count))
    part = {name: archive[f"{prefix}.{name}"] for name in ("data", "indices", "indptr", "shape")}
    return csc_matrix((part["data"], part["indices"], part["indptr"]), shape=tuple(part["shape"]))


def _unpack_into(kind: type, prefix: str, archive: dict[str, NDArray], **given: Any) -> Any:
    names = [field.name for field in fields(kind) if field.name not in given]
    return kind(**given, **{name: _unpack(f"{prefix}.{name}", archive) for name in names})


def save(two_port: TwoPort, path: str | Path) -> None:
    """Write the reduced models to an ``.npz`` that needs no mesh to be used."""
    entries: dict[str, Any] = {f"air.{name}": value for name, value in asdict(two_port.air).items()}
    entries |= {"range": [two_port.lowest_frequency, two_port.highest_frequency]}
    entries |= _pack("models", two_port.models)
    with replacing(path) as unfinished:
        np.savez_compressed(unfinished, **entries)


def load(path: str | Path) -> TwoPort:
    """Read what :func:`save` wrote."""
    refuse_damaged(path)
    with np.load(path, allow_pickle=False) as stored:
        archive = {name: stored[name] for name in stored.files}
    models = []
    for index in range(int(archive["models.count"])):
        prefix = f"models.{index}"
        ports = tuple(
            _unpack_into(Port, f"{prefix}.operator.ports.{port}", archive) for port in range(2)
        )
        operator = _unpack_into(AffineOperator, f"{prefix}.operator", archive, ports=ports)
        reduction = _unpack_into(Reduction, f"{prefix}.reduction", archive)
        models.append(
            _unpack_into(ReducedModel, prefix, archive, operator=operator, reduction=reduction)
        )
    air = _unpack_into(Air, "air", archive)
    lowest, highest = archive["range"]
    return TwoPort(tuple(models), air, float(lowest), float(highest))
