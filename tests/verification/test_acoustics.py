"""The study's own checks of its acoustics see what they are there for."""

from dataclasses import replace

import pytest

from borestudy.acoustics.two_port import TwoPort, solve_two_port
from borestudy.air import humid_air
from borestudy.bore import cylinder
from borestudy.mesh import ACOUSTICS, read_mesh, write_mesh
from borestudy.results.check import Check
from borestudy.verification import acoustics as module
from borestudy.verification.acoustics import check_lossy_pipe, verify_acoustics

#: What a study may have behind its shank and the checks know in closed form.
TOLD_APART = ("closed", "pressure node", "open", "open flanged")


@pytest.fixture(scope="module")
def pipe(tmp_path_factory: pytest.TempPathFactory) -> TwoPort:
    path = tmp_path_factory.mktemp("mesh") / "pipe.msh"
    write_mesh(cylinder(module.SHANK_RADIUS, module.PIPE_LENGTH), path, ACOUSTICS, 1)
    return solve_two_port([read_mesh(path)], humid_air(), module.LOWEST, module.HIGHEST)


@pytest.fixture(scope="module")
def checks(tmp_path_factory: pytest.TempPathFactory) -> list[Check]:
    return verify_acoustics(humid_air(), "coarse", tmp_path_factory.mktemp("checks"))


def test_every_check_of_the_acoustics_passes_on_the_coarse_meshes_of_a_study(
    checks: list[Check],
) -> None:
    assert [check for check in checks if check.verdict != "pass"] == []
    for kind in TOLD_APART:
        assert any(f"pipe, {kind}, with wall losses" in check.check for check in checks)


def noticed(check: Check) -> float:
    """An error that a check must see [%].

    Half a cent is 0.03 % of a frequency; with wall losses the end counts as well, flanged for
    unflanged 1 %.  The plane-wall condition misses up to 6.7 % of a throat's attenuation and
    the heat of walls a third of the losses of which Q is made.  A derivative is worth having to a
    per cent.
    """
    if check.quantity.startswith("exponent"):
        return 1.0
    if check.quantity.startswith("Q"):
        return 0.4
    if check.quantity.startswith("attenuation"):
        return 0.3
    if check.source in ("conservation of energy", "reciprocity"):
        return 1e-5
    return 0.03 if "lossless" in check.check else 0.2


@pytest.mark.parametrize("sign", [-1, 1])
def test_every_check_of_the_acoustics_fails_on_an_error_that_matters(
    checks: list[Check], sign: int
) -> None:
    for check in checks:
        off = 1 + sign * (noticed(check) + abs(check.deviation_percent)) / 100
        assert replace(check, computed=check.computed * off).verdict == "fail", check


@pytest.mark.parametrize("wrong", TOLD_APART)
@pytest.mark.parametrize("kind", TOLD_APART)
def test_an_end_taken_for_another_fails_the_studys_verification(
    pipe: TwoPort, monkeypatch: pytest.MonkeyPatch, kind: str, wrong: str
) -> None:
    """Flanged for unflanged is the closest pair: 1 % of the frequency, ten times the tolerance."""
    make = module.build_termination

    def confused(asked: str, *others: object) -> object:
        return make(wrong if asked == kind else asked, *others)  # type: ignore[arg-type]

    monkeypatch.setattr(module, "build_termination", confused)
    failed = {check.check for check in check_lossy_pipe(pipe) if check.verdict == "fail"}
    assert failed == ({f"pipe, {kind}, with wall losses"} if wrong != kind else set())
