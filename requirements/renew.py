"""Write the files with hashes in this folder from the versions in ``requirements.lock``.

    python requirements/renew.py

Needs uv, and a network: the hashes are those that the package index gives for every file of a
version, so that one file serves every machine and every Python from 3.11 on.  What an extra needs
beyond a study stands in its own file, so that only what is asked for is installed.
"""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

FOLDER = Path(__file__).resolve().parent
PROJECT = FOLDER.parent / "pyproject.toml"
VERSIONS = FOLDER.parent / "requirements.lock"
HEAD = "# Made by requirements/renew.py from requirements.lock; not to be edited.\n"
#: A locked package: its name, version and marker, then its hashes.
ENTRY = re.compile(r"^[A-Za-z0-9].*(?:\n +--hash=.*)+\n", re.MULTILINE)


def compiled(source: Path, *options: str) -> list[str]:
    """Entries with hashes of all that a source asks for, at the versions that are locked."""
    command = ["uv", "pip", "compile", "--universal", "--python-version", "3.11",
               "--no-emit-index-url", "--no-header", "--no-annotate", "--generate-hashes",
               "--constraint", str(VERSIONS), *options, str(source)]  # fmt: skip
    done = subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True)
    return ENTRY.findall(done.stdout)


def main() -> None:
    """Write one file for a study, one for each extra, one for what builds packages."""
    with open(PROJECT, "rb") as stream:
        extras = tomllib.load(stream)["project"]["optional-dependencies"]
    base = compiled(PROJECT)
    sets = {"base": base, "build": compiled(FOLDER / "build.in")}
    for extra in extras:
        sets[extra] = [one for one in compiled(PROJECT, "--extra", extra) if one not in base]
    for old in FOLDER.glob("*.lock"):
        old.unlink()
    for name, entries in sets.items():
        (FOLDER / f"{name}.lock").write_text(HEAD + "".join(entries), encoding="utf-8")
        print(f"{name}: {len(entries)} packages", file=sys.stderr)


if __name__ == "__main__":
    main()
