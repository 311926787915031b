"""Snakemake's options as `borestudy run` passes them on, each known before anything is done."""

import contextlib
import io
import re
from collections.abc import Sequence
from difflib import get_close_matches
from importlib.util import find_spec
from pathlib import Path

from borestudy.provenance import ROOT
from borestudy.views.text import refused

#: Where a wheel has the workflow, in the package's folder; in a clone it is the clone itself.
CARRIED = "workflow_files"
#: Options of Snakemake that a run sets itself, and what is to be used instead.
OURS = {
    "--snakefile": "the workflow of this package",
    "-s": "the workflow of this package",
    "--configfile": "STUDY",
    "--configfiles": "STUDY",
    "--directory": "--results",
    "-d": "--results",
}
#: Options with which Snakemake runs nothing, but answers with lines of its own.
ANSWERS = (
    "--dry-run", "--dryrun", "-n", "--dag", "--rulegraph", "--filegraph", "--d3dag", "--summary",
    "-S", "--detailed-summary", "-D", "--lint", "--list-rules", "--list", "-l",
    "--list-target-rules", "--lt", "--list-changes", "--unlock", "--cleanup-metadata", "--report",
    "--archive", "--containerize", "--help", "--version", "-v", "--touch", "-t",
)  # fmt: skip
#: Options that need no look at all that Snakemake knows, which takes a second.
PLAIN = re.compile(r"--dry-run|-n|--keep-going|-k|(--cores|-c|--jobs|-j)[ =]?(\d+|all)")
EXAMPLE = "for example borestudy run study.yaml --cores 2"


def workflow_folder() -> Path:
    """Folder of the Snakefile: in the installed package, or the clone of an editable one.

    Raises
    ------
    RuntimeError
        If there is none, as where a part of the package was copied.
    """
    for folder in (ROOT / CARRIED, ROOT.parents[1]):
        if (folder / "Snakefile").is_file():
            return folder
    raise RuntimeError(
        f"{ROOT}: found no Snakefile in {CARRIED} nor above src; install the package anew, for "
        "example pip install --force-reinstall borestudy"
    )


def checked_options(options: Sequence[str]) -> list[str]:
    """Snakemake's options, without those that a run sets itself; a shipped profile by its path.

    Raises
    ------
    ValueError
        Naming the option, and what to use instead.
    """
    found = list(options)
    for place, option in enumerate(found):
        name, separator, value = option.partition("=")
        if name in OURS:
            raise ValueError(
                f"{name}: found among Snakemake's options, where it has no place; allowed is "
                f"{OURS[name]}, for example borestudy run study.yaml --results results/second"
            )
        if name == "--workflow-profile":
            given = value if separator else (found[place + 1] if place + 1 < len(found) else "")
            path = profile_path(given)
            if separator:
                found[place] = f"{name}={path}"
            elif given:
                found[place + 1] = path
    return found


def refuse_unknown(options: Sequence[str]) -> None:
    """Refuse options that Snakemake would answer with all that it knows.

    Raises
    ------
    ValueError
        Naming the option, the nearest that there is, and an example.
    """
    if all(PLAIN.fullmatch(option) for option in _with_values(options)):
        return
    from snakemake.cli import get_argument_parser
    from snakemake.exceptions import CliException, WorkflowError

    parser = get_argument_parser()
    known = list(parser._option_string_actions)
    said = io.StringIO()
    try:
        with contextlib.redirect_stderr(said):
            _, unknown = parser.parse_known_args(list(options))
    except SystemExit:  # a value that is none
        reason = said.getvalue().strip().splitlines()[-1].partition("error: ")[2]
        raise ValueError(f"Snakemake's options: {reason}; {EXAMPLE}") from None
    except (CliException, WorkflowError) as problem:
        reason = str(problem).rstrip(".")
        raise ValueError(f"Snakemake's options: {reason}; {EXAMPLE}") from None
    for option in unknown:
        near = get_close_matches(option.partition("=")[0], known, n=1)
        hint = f"did you mean {near[0]}? " if near else ""
        raise ValueError(
            f"{option}: no option of borestudy run, nor of Snakemake; {hint}"
            f"{'A' if hint else 'a'}llowed is what snakemake --help lists, {EXAMPLE}"
        )


def _with_values(options: Sequence[str]) -> list[str]:
    """Options, each with what stands after it up to the next one."""
    found: list[str] = []
    for option in options:
        if option.startswith("-") or not found:
            found.append(option)
        else:
            found[-1] += f" {option}"
    return found


def profile_path(name: str) -> str:
    """Path of a profile of this workflow, such as ``slurm``; another is left as it is.

    Raises
    ------
    ValueError
        If there is no such profile, or no plugin of Snakemake's that it needs.
    """
    if name == "none" or Path(name).exists():
        return str(Path(name).resolve()) if name != "none" else name
    profiles = workflow_folder() / "workflow" / "profiles"
    known = sorted(path.name for path in profiles.iterdir() if path.is_dir())
    if name not in known:
        raise ValueError(f"{refused('--workflow-profile', name, [*known, 'none'])}, or a folder")
    path = profiles / name
    text = (path / "config.yaml").read_text(encoding="utf-8")
    for executor in re.findall(r"^executor: *([\w-]+)", text, re.MULTILINE):
        if find_spec(f"snakemake_executor_plugin_{executor.replace('-', '_')}") is None:
            raise ValueError(
                f"--workflow-profile: found {name!r}, for which Snakemake has no plugin here; "
                f"needed is snakemake-executor-plugin-{executor}, for example "
                f"pip install 'borestudy[{name}]'"
            )
    return str(path)


def only_answers(options: Sequence[str]) -> bool:
    """Whether Snakemake is asked for an answer, and not to run anything."""
    return any(
        option.partition("=")[0] in ANSWERS or re.fullmatch(r"-[A-Za-z]*n[A-Za-z]*", option)
        for option in options
    )


def with_setting(options: Sequence[str], setting: str) -> list[str]:
    """Options with one more ``KEY=VALUE`` after ``--config``, of which Snakemake takes the last."""
    found = list(options)
    for place in reversed(range(len(found))):
        name, separator, value = found[place].partition("=")
        if name in ("--config", "-C"):
            found[place : place + 1] = [name, setting, *([value] if separator else [])]
            return found
    return [*found, "--config", setting]
