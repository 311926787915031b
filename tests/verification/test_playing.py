"""The study's own checks of the tone see what they are there for."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from borestudy.air import humid_air
from borestudy.playing.lips import Lips
from borestudy.playing.modes import Modes
from borestudy.results.check import Check
from borestudy.verification import playing as module


@pytest.fixture(scope="module")
def checks(tmp_path_factory: pytest.TempPathFactory) -> list[Check]:
    return module.verify_playing(humid_air(), "coarse", tmp_path_factory.mktemp("checks"))


def failed(found: list[Check]) -> set[str]:
    return {f"{one.check}: {one.quantity}" for one in found if one.verdict == "fail"}


def test_every_check_of_the_tone_passes_on_the_coarse_meshes_of_a_study(
    checks: list[Check],
) -> None:
    assert failed(checks) == set()
    assert {check.check for check in checks} == {
        "lips on one mode", "lips on a pipe, open", "pipe, open, as modes", "tone on a pipe, open",
    }  # fmt: skip


@pytest.mark.parametrize("sign", [-1, 1])
def test_every_check_of_the_tone_fails_on_an_error_that_matters(
    checks: list[Check], sign: int
) -> None:
    """A per cent of a threshold, 5 cents of a pitch, 2 % of a growth, half a per cent of power."""
    for check in checks:
        share = {"Pa": 1.0, "Hz": 0.29, "1/s": 2.0}.get(check.unit, 0.5)
        off = 1 + sign * (share + abs(check.deviation_percent)) / 100
        assert replace(check, computed=check.computed * off).verdict == "fail", check


def off_by(function: Callable[..., Any], change: Callable[[Any], Any]) -> Callable[..., Any]:
    return lambda *given, **named: change(function(*given, **named))


@pytest.mark.parametrize(
    ("wrong", "seen"),
    [
        (lambda lips: replace(lips, quality_factor=7.2), "least threshold"),
        (lambda lips: replace(lips, mass_per_area=1.99), "least threshold"),
        (lambda lips: replace(lips, width=8.1e-3), "growth in time"),
    ],
)
def test_other_lips_than_those_of_the_polynomial_are_seen(
    monkeypatch: pytest.MonkeyPatch, wrong: Callable[[Lips], Lips], seen: str
) -> None:
    real = module.LipsOnMode
    other = wrong(Lips())

    def of_others(*lips: float, **mode: float) -> Any:
        return real(
            other.mass_per_area, other.quality_factor, other.width, other.opening_at_rest, **mode
        )

    monkeypatch.setattr(module, "LipsOnMode", of_others)
    assert f"lips on one mode: {seen}" in failed(module.check_one_mode(humid_air()))


def test_modes_that_miss_a_peak_or_make_power_fail(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Any
) -> None:
    def doubled(modes: Modes) -> Modes:
        residues = modes.residues.copy()
        residues[np.argmax(np.abs(residues))] *= -1
        return Modes(modes.poles, residues)

    monkeypatch.setattr(module, "fit_modes", off_by(module.fit_modes, doubled))
    monkeypatch.setattr(module, "_check_tone", lambda *_: [])
    found = failed(module.check_pipe(humid_air(), "coarse", tmp_path))
    assert len(found) == 2
    assert all(one.startswith("pipe, open, as modes") for one in found)


def test_a_bore_without_a_tone_fails_and_stops_nothing() -> None:
    assert np.isnan(module._only([None]).mouth_pressure)
    assert np.isnan(module._only([]).frequency)
