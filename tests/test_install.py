"""What the installer asks Debian for, told by stand-ins for Debian's own commands."""

import os
import platform
import shutil
import subprocess
from pathlib import Path

import pytest

INSTALLER = Path(__file__).parents[1] / "install.sh"
#: What opens the report in its tests, and drives it.
BROWSER = {"chromium", "chromium-driver"}
#: What the shared objects of the ngsolve wheel load and a bare Debian lacks (seen with `ldd`).
NGSOLVE = {"libgfortran5", "libquadmath0"}


@pytest.fixture
def asked(tmp_path):
    """Packages that apt is asked for on a Debian where none is installed."""
    shutil.copy(INSTALLER, tmp_path)

    def command(name, does):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"#!/bin/sh\n{does}\n")
        path.chmod(0o755)

    command("bin/dpkg-query", "exit 1")
    command("bin/apt-get", f'echo "$@" >>{tmp_path}/asked')
    command("bin/sudo", 'exec "$@"')
    command(".venv/bin/pip", f'echo "$@" >{tmp_path}/pip')

    def ask(*arguments):
        path = f"{tmp_path / 'bin'}:{os.environ['PATH']}"
        subprocess.run(
            ["sh", str(tmp_path / "install.sh"), *arguments],
            env=os.environ | {"PATH": path},
            check=True,
        )
        return set((tmp_path / "asked").read_text().split())

    return ask


@pytest.mark.skipif(platform.machine() != "x86_64", reason="ngsolve is asked for on x86_64 only")
@pytest.mark.parametrize("extras", ["test", "test,lint", "lint, test"])
def test_the_libraries_of_ngsolve_come_with_the_extra_that_asks_for_it(asked, extras):
    assert asked(extras) >= NGSOLVE


@pytest.mark.parametrize("extras", [(), ("lint",), ("slurm,lint",)])
def test_a_study_needs_no_library_of_ngsolve(asked, extras):
    found = asked(*extras)
    assert "libglu1-mesa" in found
    assert not found & NGSOLVE


@pytest.mark.parametrize("extras", ["test", "test,lint", "lint, test"])
def test_the_browser_of_the_reports_tests_comes_with_their_extra(asked, extras):
    assert asked(extras) >= BROWSER


@pytest.mark.parametrize("extras", [(), ("lint",), ("slurm,lint",)])
def test_a_study_needs_no_browser(asked, extras):
    assert not asked(*extras) & BROWSER
