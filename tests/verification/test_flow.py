"""The checks that every study makes of its flow pass on coarse meshes, and see what matters."""

from dataclasses import replace

import pytest

from borestudy.air import humid_air
from borestudy.verification.flow import verify_flow

#: What each check must see [%]: a changed throat of 0.1 % is 0.4 % of a pipe's drop; tables and
#: fits computed elsewhere are known to 0.04 to 2 %, a place of reattachment to 3 %; of the
#: nozzle's shortfall, half of which the standard leaves open, a tenth more than two taps make.
NOTICED = {
    "developed": 0.3,
    "developing": 2.0,
    "creeping": 1.0,
    "sharp 3:1": 3.0,
    "sudden 1:2": 5.0,
    "long-radius": 10.0,
}


@pytest.fixture(scope="module")
def checks(tmp_path_factory):
    return verify_flow(humid_air(), "coarse", tmp_path_factory.mktemp("checks"))


def test_every_check_of_the_flow_passes_on_the_coarse_meshes_of_a_study(checks):
    assert [check for check in checks if check.verdict != "pass"] == []
    kinds = {word for word in NOTICED for check in checks if check.check.startswith(word)}
    assert kinds == set(NOTICED)


@pytest.mark.parametrize("sign", [-1, 1])
def test_every_check_of_the_flow_fails_on_an_error_that_matters(checks, sign):
    for check in checks:
        (noticed,) = (size for word, size in NOTICED.items() if check.check.startswith(word))
        off = 1 + sign * (noticed + abs(check.deviation_percent)) / 100
        assert replace(check, computed=check.computed * off).verdict == "fail", check
