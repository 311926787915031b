"""The acoustics with the study's own mesh settings against answers that are known."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from borestudy.acoustics.resonances import lossless_resonances, resonance_figures
from borestudy.acoustics.solve import power_balance
from borestudy.acoustics.termination import Kind, Termination, build_termination
from borestudy.acoustics.two_port import TwoPort, input_impedance, solve_two_port, two_port_matrix
from borestudy.acoustics.walls import Walls
from borestudy.air import Air
from borestudy.bore import Bore, cone, cylinder
from borestudy.closed_form import tube
from borestudy.closed_form.cone import Ends, cone_transfer_matrix, plane_face_stretch, resonances
from borestudy.closed_form.radiation import radiation_impedance
from borestudy.mesh import ACOUSTICS
from borestudy.results.check import Check
from borestudy.verification import finest_mesh
from borestudy.verification.exponents import by_size, exponent_in
from borestudy.verification.slopes import check_slopes

THROAT_RADIUS, SHANK_RADIUS = 1.83e-3, 4.6e-3
PIPE_LENGTH, THROAT_LENGTH, CONE_LENGTH = 0.088, 0.05, 0.072
PIPE = {"radius": SHANK_RADIUS, "length": PIPE_LENGTH}
CONE = {"first_radius": THROAT_RADIUS, "last_radius": SHANK_RADIUS, "length": CONE_LENGTH}
LOWEST, HIGHEST = 100.0, 5000.0
LOSSLESS_PERCENT, LOSSY_PERCENT = 0.02, 0.1
#: The wall condition is allowed 0.1 % of the attenuation, an end that radiates or a cone's plane
#: faces as much again.
Q_PERCENT = 0.2
ATTENUATION_PERCENT, BALANCE_PERCENT = 0.1, 1e-7
TUBE_SOURCE = "Zwikker & Kosten 1949, exact tube functions"
PLANE_WAVES = "plane waves, textbook"
SPHERICAL_WAVES = "spherical waves (Pierce 1981), plane ends at their mean distance from the apex"
SLICED = "spherical waves in slices with exact tube functions"
#: What a radiating end adds to the tube's source.  Without a flange the air swinging before the end
#: is 0.61 radii long, with one 0.82: 1 % of this pipe's first resonance.
RADIATION = {
    "open": "radiation of an unflanged end, Levine & Schwinger 1948",
    "open flanged": "radiation of a flanged end, Norris & Sheng 1989",
}

CONE_ENDS: dict[Kind, Ends] = {"closed": "closed-closed", "pressure node": "closed-open"}

Impedance = Callable[[NDArray], NDArray]
Transfer = Callable[[NDArray, Air], NDArray]


def verify_acoustics(air: Air, resolution: str, directory: Path) -> list[Check]:
    """Solve pipes and a cone with known answers."""
    directory.mkdir(parents=True, exist_ok=True)
    preset = ACOUSTICS.at(resolution)
    made: dict[str, tuple[Callable[..., Bore], dict[str, float]]] = {
        "pipe": (cylinder, PIPE),
        "throat": (cylinder, {"radius": THROAT_RADIUS, "length": THROAT_LENGTH}),
        "cone": (cone, CONE),
    }
    bores = {name: build(**sizes) for name, (build, sizes) in made.items()}
    meshes = {
        name: finest_mesh(bore, directory / f"acoustics_{name}.msh", preset)
        for name, bore in bores.items()
    }

    def solve(name: str, walls: Walls) -> TwoPort:
        build, sizes = made[name]
        return solve_two_port(
            [meshes[name]], air, LOWEST, HIGHEST, walls,
            bore=bores[name], dimensions=by_size(build, **sizes),
        )  # fmt: skip

    pipe, lossless_pipe = solve("pipe", "curved"), solve("pipe", "lossless")
    lossless_cone = solve("cone", "lossless")
    return [
        *check_lossless_pipe(lossless_pipe),
        *check_lossy_pipe(pipe),
        *check_pipe_exponents(lossless_pipe, pipe),
        *check_attenuation(solve("throat", "curved")),
        *check_lossless_cone(lossless_cone),
        *check_cone_exponents(lossless_cone),
        *check_lossy_cone(solve("cone", "curved")),
        *check_identities(pipe),
    ]


def check_lossless_pipe(pipe: TwoPort) -> list[Check]:
    """First two resonances of a closed pipe and of one with a pressure node at its end."""
    wave = pipe.air.sound_speed / PIPE_LENGTH
    known: dict[Kind, list[float]] = {
        "closed": [0.5 * wave, wave],
        "pressure node": [0.25 * wave, 0.75 * wave],
    }
    return _lossless_checks("pipe", pipe, known, PLANE_WAVES)


def check_lossless_cone(bore: TwoPort) -> list[Check]:
    """First resonance of a cone closed at both ends and of one open at its wide end."""
    speed = bore.air.sound_speed
    known = {kind: [_cone_resonance(speed, end, **CONE)] for kind, end in CONE_ENDS.items()}
    return _lossless_checks("cone", bore, known, SPHERICAL_WAVES)


def check_cone_exponents(bore: TwoPort) -> list[Check]:
    """Derivatives of a lossless cone's first resonance by its two radii and its length."""
    checks = []
    for kind, end in CONE_ENDS.items():

        def resonance(size: float, key: str, end: Ends = end) -> float:
            return _cone_resonance(bore.air.sound_speed, end, **CONE | {key: size})

        known = {
            ("frequency", key): exponent_in(partial(resonance, key=key), size)
            for key, size in CONE.items()
        }
        checks += check_slopes(f"cone, {kind}, lossless", bore, kind, known, SPHERICAL_WAVES)
    return checks


def _cone_resonance(
    speed: float, end: Ends, first_radius: float, last_radius: float, length: float
) -> float:
    """First resonance of a lossless cone with plane faces [Hz]."""
    size = first_radius, last_radius, length
    return float(resonances(*size, speed, end)[0] / plane_face_stretch(*size))


def check_pipe_exponents(lossless: TwoPort, lossy: TwoPort) -> list[Check]:
    """Derivatives of a pipe's first resonance by length, and with wall losses by radius as well."""

    def peak(size: float, key: str, part: int) -> float:
        radius, length = (PIPE | {key: size}).values()
        transfer = partial(tube.transfer_matrix, radius, length)
        return _first_peak(closed_form_impedance(transfer, "pressure node", lossy.air))[part]

    known = {
        (figure, key): exponent_in(partial(peak, key=key, part=part), PIPE[key])
        for part, figure in enumerate(("frequency", "Q"))
        for key in PIPE
    }
    name, by_length = "pipe, pressure node", {("frequency", "length"): -1.0}
    return [
        *check_slopes(f"{name}, lossless", lossless, "pressure node", by_length, PLANE_WAVES),
        *check_slopes(f"{name}, with wall losses", lossy, "pressure node", known, TUBE_SOURCE),
    ]


def _lossless_checks(
    shape: str, two_port: TwoPort, known: dict[Kind, list[float]], source: str
) -> list[Check]:
    """Lossless resonances [Hz] of a bore by its kind of end."""
    checks = []
    for kind, frequencies in known.items():
        curve = _impedance(two_port, build_termination(kind, SHANK_RADIUS, "lossless"))
        found = lossless_resonances(curve, LOWEST, HIGHEST)
        for index, exact in enumerate(frequencies):
            name, quantity = f"{shape}, {kind}, lossless", f"resonance {index + 1}"
            computed = float(found[index])
            checks.append(Check(name, quantity, "Hz", computed, exact, LOSSLESS_PERCENT, source))
    return checks


def check_lossy_pipe(pipe: TwoPort) -> list[Check]:
    """Frequency and Q with wall losses: closed, pressure node, open without and with a flange."""
    kinds: list[Kind] = ["closed", "pressure node", "open", "open flanged"]
    transfer = partial(tube.transfer_matrix, SHANK_RADIUS, PIPE_LENGTH)
    return _lossy_checks("pipe", pipe, kinds, transfer, TUBE_SOURCE)


def check_lossy_cone(bore: TwoPort) -> list[Check]:
    """Frequency and Q of a cone with wall losses, against slices with local losses."""
    length = CONE_LENGTH * plane_face_stretch(THROAT_RADIUS, SHANK_RADIUS, CONE_LENGTH)
    transfer = partial(cone_transfer_matrix, THROAT_RADIUS, SHANK_RADIUS, length)
    return _lossy_checks("cone", bore, ["closed", "pressure node"], transfer, SLICED)


def _lossy_checks(
    shape: str, two_port: TwoPort, kinds: list[Kind], transfer: Transfer, source: str
) -> list[Check]:
    """Frequency and Q of the first resonance against a chain matrix with the same end."""
    checks = []
    for kind in kinds:
        computed = _impedance(two_port, build_termination(kind, SHANK_RADIUS))
        frequency, quality = _first_peak(computed)
        known = _first_peak(closed_form_impedance(transfer, kind, two_port.air))
        name = f"{shape}, {kind}, with wall losses"
        of = "; ".join([source, RADIATION[kind]]) if kind in RADIATION else source
        checks += [
            Check(name, "resonance 1", "Hz", frequency, known[0], LOSSY_PERCENT, of),
            Check(name, "Q of resonance 1", "", quality, known[1], Q_PERCENT, of),
        ]
    return checks


def _impedance(two_port: TwoPort, termination: Termination) -> Impedance:
    return lambda frequencies: input_impedance(two_port, termination, frequencies)


def closed_form_impedance(transfer: Transfer, kind: Kind, air: Air) -> Impedance:
    """Input impedance of a chain matrix with an end of a kind, as a function of Hz."""

    def impedance(frequencies: NDArray) -> NDArray:
        omega = 2 * np.pi * frequencies
        (pressure, flow), chain = _end(kind, omega, air), transfer(omega, air)
        return np.asarray(
            (chain[:, 0, 0] * pressure + chain[:, 0, 1] * flow)
            / (chain[:, 1, 0] * pressure + chain[:, 1, 1] * flow)
        )

    return impedance


def _end(kind: Kind, omega: NDArray, air: Air) -> tuple[complex | NDArray, complex | NDArray]:
    """Pressure and flow at a shank end in closed form, so that the program's own end is checked."""
    match kind:
        case "closed":
            return 1.0, tube.thermal_end_admittance(SHANK_RADIUS, omega, air)
        case "pressure node":
            return 0.0, 1.0
        case "open":
            return radiation_impedance(SHANK_RADIUS, omega, air, "unflanged"), 1.0
        case "open flanged":
            return radiation_impedance(SHANK_RADIUS, omega, air, "flanged"), 1.0
    raise ValueError(f"no closed form of an end that is {kind!r}; allowed is, for example, 'open'")


def _first_peak(impedance: Impedance) -> tuple[float, float]:
    """Frequency and Q of the first resonance; NaN where there is none."""
    peaks = resonance_figures(impedance, LOWEST, HIGHEST).tolist()
    frequency, quality, _ = peaks[0] if peaks else 3 * [np.nan]
    return frequency, quality


def check_attenuation(throat: TwoPort) -> list[Check]:
    """Attenuation per metre in a straight throat, from cosh ΓL = Z11/Z21."""
    frequencies = np.array([100.0, 400.0, 1000.0, 3000.0])
    matrix = two_port_matrix(throat, frequencies)
    # below half a wavelength, so that arccosh is on its first branch up to its sign
    found = np.abs(np.arccosh(matrix[:, 0, 0] / matrix[:, 1, 0]).real) / THROAT_LENGTH
    exact = tube.propagation_constant(THROAT_RADIUS, 2 * np.pi * frequencies, throat.air).real
    name = "straight throat of 3.66 mm with wall losses"
    quantities = [f"attenuation at {frequency:.0f} Hz" for frequency in frequencies]
    return [
        Check(name, quantity, "1/m", computed, reference, ATTENUATION_PERCENT, TUBE_SOURCE)
        for quantity, computed, reference in zip(quantities, found, exact, strict=True)
    ]


def check_identities(pipe: TwoPort) -> list[Check]:
    """Power balance and reciprocity, worst over the range."""
    frequencies = np.geomspace(LOWEST, HIGHEST, 40)
    balance = power_balance(pipe, build_termination("open", SHANK_RADIUS), frequencies)
    matrix = two_port_matrix(pipe, frequencies)
    power = 1.0 - float(balance[np.argmax(np.abs(balance))])
    symmetry = 1.0 + float(np.max(np.abs(matrix[:, 0, 1] / matrix[:, 1, 0] - 1)))
    words = "power lost and radiated over power in"
    allowed, law = BALANCE_PERCENT, "conservation of energy"
    return [
        Check("pipe, open, with wall losses", words, "", power, 1.0, allowed, law),
        Check("pipe as a two-port", "Z12 over Z21", "", symmetry, 1.0, allowed, "reciprocity"),
    ]
