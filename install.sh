#!/bin/sh
# System packages (Debian), a virtual environment in .venv, and borestudy in it with locked versions,
# of which every file must have a hash that requirements/ names.
#
#   sh install.sh            what a study needs
#   sh install.sh test       and what the tests need; other extras of pyproject.toml likewise
set -eu
cd "$(dirname "$0")"
extras="$(echo "${1:-}" | tr -d ' ')"
for extra in $(echo "$extras" | tr ',' ' '); do
    if [ ! -f "requirements/$extra.lock" ] || [ "$extra" = base ] || [ "$extra" = build ]; then
        known="$(cd requirements && for lock in *.lock; do echo "${lock%.lock}"; done | grep -vx 'base\|build')"
        # shellcheck disable=SC2086  # in one line
        echo "install.sh: unknown extra $extra; allowed are" $known "with commas between them," \
            "for example sh install.sh test,lint" >&2
        exit 2
    fi
done
# python3-venv makes the environment; gmsh loads the rest, though it needs no display.
packages="python3-venv libglu1-mesa libgl1 libxft2 libxcursor1 libxinerama1 libgomp1"
case ",$extras," in
    # The report is tested in a real browser, which takes 300 MB.
    *,test,*) packages="$packages chromium chromium-driver" ;;
esac
case ",$extras," in
    # The workflow is tested through a Slurm of one node.
    *,test,*) packages="$packages slurmctld slurmd slurm-client munge" ;;
esac
case ",$extras,$(uname -m)" in
    # ngsolve, which the tests' extra asks for on this architecture only, loads these.
    *,test,*x86_64) packages="$packages libgfortran5 libquadmath0" ;;
esac

if command -v dpkg-query >/dev/null; then
    missing=""
    for package in $packages; do
        dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'ok installed' \
            || missing="$missing $package"
    done
    if [ -n "$missing" ]; then
        as_root=""
        [ "$(id -u)" = 0 ] || as_root="sudo"
        echo "installing the system packages$missing"
        $as_root apt-get update -q
        # shellcheck disable=SC2086  # one word a package
        $as_root env DEBIAN_FRONTEND=noninteractive \
            apt-get install -q -y --no-install-recommends $missing
    fi
else
    echo "not a Debian system: needed are the libraries that Debian calls $packages" >&2
fi

[ -x .venv/bin/pip ] || python3 -m venv .venv
# What builds packages is locked too, and is gone afterwards. It must be seen by what pip starts and
# not by pip, to which it would be installed already.
builders="$(mktemp -d)"
trap 'rm -rf "$builders"' EXIT
trap 'exit 1' INT TERM HUP
install() {
    .venv/bin/python -c 'import os, runpy, sys
os.environ["PYTHONPATH"] = sys.argv.pop(1)
runpy.run_module("pip", run_name="__main__")' \
        "$builders" install --quiet --disable-pip-version-check --no-deps "$@"
}
install --require-hashes --target "$builders" --requirement requirements/build.lock
set -- --requirement requirements/base.lock
for extra in $(echo "$extras" | tr ',' ' '); do
    set -- "$@" --requirement "requirements/$extra.lock"
done
install --require-hashes --no-build-isolation --use-pep517 "$@"
install --no-build-isolation --editable .
