"""What the installer asks Debian and pip for, and that it takes no files but those locked."""

import hashlib
import os
import platform
import re
import shutil
import subprocess
import sys
import tomllib
import zipfile
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
INSTALLER, LOCKS = ROOT / "install.sh", ROOT / "requirements"
#: What opens the report in its tests, and drives it.
BROWSER = {"chromium", "chromium-driver"}
#: What the shared objects of the ngsolve wheel load and a bare Debian lacks (seen with `ldd`).
NGSOLVE = {"libgfortran5", "libquadmath0"}
#: A Slurm of one node, for the tests of its profile.
SLURM = {"slurmctld", "slurmd", "slurm-client", "munge"}


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
    command(".venv/bin/pip", "exit 1")
    command(".venv/bin/python", f'echo "$@" >>{tmp_path}/pip')
    shutil.copytree(LOCKS, tmp_path / "requirements")

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


def test_a_slurm_comes_with_the_extra_of_its_tests(asked):
    assert asked("test") >= SLURM


@pytest.mark.parametrize("extras", [(), ("lint",), ("slurm,lint",)])
def test_a_study_needs_no_slurm_of_its_own(asked, extras):
    assert not asked(*extras) & SLURM


@pytest.mark.parametrize("extras", ["tset", "test,../README", "base", "test lint", "-r"])
def test_an_unknown_extra_is_refused_before_anything_is_installed(asked, extras, tmp_path, capfd):
    with pytest.raises(subprocess.CalledProcessError) as caught:
        asked(extras)
    assert caught.value.returncode == 2
    assert "for example sh install.sh test,lint" in capfd.readouterr().err
    assert not (tmp_path / "asked").exists()
    assert not (tmp_path / "pip").exists()


def locked(path):
    """Versions and number of hashes by the name of each package in a file of requirements."""
    text = path.read_text(encoding="utf-8")
    found = {}
    for name, version, rest in re.findall(
        r"^([A-Za-z0-9._-]+)==(\S+)(.*(?:\n +--hash=.*)*)", text, re.MULTILINE
    ):
        found.setdefault(canonicalize_name(name), {})[version] = rest.count("--hash=sha256:")
    return found


VERSIONS = locked(ROOT / "requirements.lock")
with open(ROOT / "pyproject.toml", "rb") as _stream:
    PROJECT = tomllib.load(_stream)["project"]
EXTRAS = PROJECT["optional-dependencies"]


def test_every_extra_has_its_file_and_every_entry_a_hash():
    files = {path.stem: locked(path) for path in LOCKS.glob("*.lock")}
    assert set(files) == {"base", "build", *EXTRAS}
    for name, packages in files.items():
        assert packages, name
        for package, versions in packages.items():
            assert all(versions.values()), package
            if name != "build":  # whose others are of no use to who installs
                assert set(versions) <= set(VERSIONS[package]), package
    assert set(VERSIONS) == {name for key in files if key != "build" for name in files[key]}


@pytest.mark.parametrize("extra", ["", *EXTRAS])
def test_what_is_locked_is_all_that_is_needed(extra):
    """From what the packages here ask for themselves, where they are installed."""
    known = {*locked(LOCKS / "base.lock"), *(locked(LOCKS / f"{extra}.lock") if extra else ())}
    wanted = [Requirement(text) for text in [*PROJECT["dependencies"], *EXTRAS.get(extra, [])]]
    seen = set()
    while wanted:
        one = wanted.pop()
        name = canonicalize_name(one.name)
        needed = [
            key
            for key in ("", *one.extras)
            if not one.marker or one.marker.evaluate({"extra": key})
        ]
        if not needed or (name, frozenset(one.extras)) in seen:
            continue
        seen.add((name, frozenset(one.extras)))
        assert name in known
        try:
            requires = distribution(name).requires or []
        except PackageNotFoundError:
            continue
        for text in requires:
            asked = Requirement(text)
            if asked.marker is None or any(
                asked.marker.evaluate({"extra": key}) for key in ("", *one.extras)
            ):
                asked.marker = None
                wanted.append(asked)
    assert len(seen) > len(PROJECT["dependencies"])


@pytest.mark.parametrize("changed", [False, True])
def test_a_file_with_another_hash_is_refused(tmp_path, changed):
    """With the real pip, and a wheel of one module that lies in a folder."""
    wheel = tmp_path / "index" / "demo-1.0-py3-none-any.whl"
    wheel.parent.mkdir()
    with zipfile.ZipFile(wheel, "w") as archive:
        archive.writestr("demo.py", "")
        archive.writestr(
            "demo-1.0.dist-info/METADATA", "Metadata-Version: 2.1\nName: demo\nVersion: 1.0\n"
        )
        archive.writestr(
            "demo-1.0.dist-info/WHEEL",
            "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
        )
        archive.writestr("demo-1.0.dist-info/RECORD", "")
    entry = f"demo==1.0 --hash=sha256:{hashlib.sha256(wheel.read_bytes()).hexdigest()}\n"
    if changed:
        with zipfile.ZipFile(wheel, "a") as archive:
            archive.writestr("more.py", "")
    project = tmp_path / "project"
    (project / "requirements").mkdir(parents=True)
    (project / "requirements/build.lock").write_text("# nothing is built\n")
    (project / "requirements/base.lock").write_text(entry)
    shutil.copy(INSTALLER, project)
    programs = {
        ".venv/bin/pip": "exit 1",
        # The package itself is none here; all else is installed by the pip of the tests.
        ".venv/bin/python": f'case "$*" in *editable*) exit 0 ;; esac; exec {sys.executable} "$@"',
        "bin/dpkg-query": "echo install ok installed",
    }
    for name, does in programs.items():
        path = project / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"#!/bin/sh\n{does}\n")
        path.chmod(0o755)
    environment = {
        "PATH": f"{project / 'bin'}:{os.environ['PATH']}", "PIP_NO_INDEX": "1",
        "PIP_CONFIG_FILE": os.devnull, "PIP_FIND_LINKS": str(wheel.parent),
        "PIP_TARGET": str(tmp_path / "site"),
    }  # fmt: skip
    done = subprocess.run(
        ["sh", str(project / "install.sh")], env=environment, capture_output=True, text=True
    )
    assert (tmp_path / "site/demo.py").exists() is not changed, done.stderr
    assert (done.returncode == 0) is not changed
    if changed:
        assert "DO NOT MATCH THE HASHES" in done.stderr
