#!/bin/sh
# System packages (Debian), a virtual environment in .venv, and borestudy in it with locked versions.
#
#   sh install.sh            what a study needs
#   sh install.sh test       and what the tests need; other extras of pyproject.toml likewise
set -eu
cd "$(dirname "$0")"
extras="$(echo "${1:-}" | tr -d ' ')"
# python3-venv makes the environment; gmsh loads the rest, though it needs no display.
packages="python3-venv libglu1-mesa libgl1 libxft2 libxcursor1 libxinerama1 libgomp1"
case ",$extras," in
    # The report is tested in a real browser, which takes 300 MB.
    *,test,*) packages="$packages chromium chromium-driver" ;;
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
.venv/bin/pip install --quiet --disable-pip-version-check \
    --constraint requirements.lock --editable ".${extras:+[$extras]}"
