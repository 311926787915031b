"""Change the code on purpose, a little at a time, and see which changes no test notices.

    .venv/bin/python tests/mutation/run.py [--sample 6] [--seed 1] [--minutes 30] [MODULE ...]

In a copy of the tree, cosmic-ray makes one change (a mutant) at a time to a module of
``modules.toml`` and runs the tests listed for it.  For each module a seeded sample of places in its
code is drawn, and at each place one of the mutants possible there.  A mutant that every test passes
has survived: it is a fault that nobody would see, or it changes nothing.  Those of the second kind,
or that are accepted for another reason, stand in ``accepted.csv`` with the reason; any other makes
this end with 1.  All mutants with their outcome go to ``results/mutation.csv``.
"""

import argparse
import csv
import os
import random
import resource
import shlex
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import cosmic_ray.plugins
from cosmic_ray.ast import ast_nodes, get_ast_from_path
from cosmic_ray.ast.ast_query import ASTQuery
from cosmic_ray.mutating import mutate_and_test
from cosmic_ray.work_item import MutationSpec, TestOutcome
from operators import PROVIDER

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
COPIED = ("src", "tests", "configs", "workflow", "Snakefile", "pyproject.toml", "README.md")
#: Unions of types, merged mappings and decorators: a mutant of these does not even import.
LEFT_OUT = ("ReplaceBinaryOperator_BitOr", "RemoveDecorator", "VariableReplacer",
            "VariableInserter", "ExceptionReplacer")  # fmt: skip
MEMORY = 8 * 2**30
COLUMNS = ("module", "definition", "line", "operator", "before", "after", "outcome", "accepted")


@dataclass(frozen=True)
class Module:
    """A module under mutation, the command that tests it, and how long that may take [s]."""

    name: str
    command: str
    timeout: float


def main() -> int:
    """Draw, mutate, test, tell."""
    settings = tomllib.loads((HERE / "modules.toml").read_text(encoding="utf-8"))
    asked = _arguments(settings)
    cosmic_ray.plugins.OPERATOR_PROVIDERS["borestudy"] = PROVIDER
    accepted = read_accepted()
    begin, rows = time.monotonic(), []
    with tempfile.TemporaryDirectory() as folder:
        copy_tree(Path(folder))
        os.chdir(folder)
        os.environ |= {"PYTHONPATH": str(Path(folder) / "src"), "OMP_NUM_THREADS": "1"}
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        modules = [
            with_timeout(name, tests)
            for name, tests in settings["modules"].items()
            if not asked.modules or name in asked.modules
        ]
        drawn = {module: drawn_mutants(module.name, asked) for module in modules}
        # a module's first, then every module's second: what is out of time is out for all alike
        rounds = [(n, m) for n in range(asked.sample) for m in modules if n < len(drawn[m])]
        for number, module in rounds:
            if time.monotonic() - begin > 60 * asked.minutes:
                print(f"out of time after {len(rows)} of {len(rounds)} mutants")
                break
            rows.append(outcome(module, drawn[module][number], accepted))
            print(" ".join(str(rows[-1][key]) for key in COLUMNS[:3]), rows[-1]["outcome"])
            sys.stdout.flush()
    write_rows(rows)
    return tell(rows)


def _arguments(settings: dict) -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("modules", nargs="*", metavar="MODULE", help="as in modules.toml; all")
    parser.add_argument("--sample", type=int, default=settings["sample"], help="places a module")
    parser.add_argument("--seed", type=int, default=settings["seed"])
    parser.add_argument("--minutes", type=float, default=settings["minutes"], help="for everything")
    found = parser.parse_args()
    unknown = sorted(set(found.modules) - set(settings["modules"]))
    if unknown:
        parser.error(
            f"not in modules.toml: {', '.join(unknown)}; example: results/tables/comparison.py"
        )
    return found


def copy_tree(folder: Path) -> None:
    """What the tests need, without what they leave."""
    for name in COPIED:
        source, target = ROOT / name, folder / name
        if source.is_dir():
            shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, target)


def with_timeout(name: str, tests: str) -> Module:
    """The module with five times its tests' own time; these must pass before it is mutated."""
    command = (
        f"{shlex.quote(sys.executable)} -m pytest -x -q -p no:cacheprovider "
        f"-o addopts='--strict-markers --import-mode=importlib --benchmark-disable' {tests}"
    )
    begin = time.monotonic()
    ran = subprocess.run(shlex.split(command), capture_output=True, text=True, check=False)
    if ran.returncode != 0:
        raise SystemExit(f"{name}: its tests fail before anything is changed\n{ran.stdout[-2000:]}")
    return Module(name, command, 20 + 5 * (time.monotonic() - begin))


def all_mutants(name: str) -> Iterator[MutationSpec]:
    """Every mutant of a module, without those that do not import."""
    path = Path("src/borestudy") / name
    tree = get_ast_from_path(path)
    for operator_name in cosmic_ray.plugins.operator_names():
        if any(word in operator_name for word in LEFT_OUT):
            continue
        operator = cosmic_ray.plugins.get_operator(operator_name)()
        positions = (
            (node, *position)
            for node in ast_nodes(tree)
            for position in operator.mutation_positions(node)
        )
        for occurrence, (node, start, end) in enumerate(positions):
            definition = ASTQuery(node).get_definition_name()
            yield MutationSpec(str(path), operator_name, occurrence, start, end, {}, definition)


def drawn_mutants(name: str, asked: argparse.Namespace) -> list[MutationSpec]:
    """One mutant at each of a sample of places, the same for the same seed and source.

    A larger sample begins with the smaller one's.
    """
    places: dict[tuple, list[MutationSpec]] = {}
    for mutant in all_mutants(name):
        places.setdefault(mutant.start_pos, []).append(mutant)
    chance = random.Random(f"{asked.seed}:{name}")
    chosen = [chance.choice(places[place]) for place in sorted(places)]
    chance.shuffle(chosen)
    return chosen[: asked.sample]


def outcome(module: Module, mutant: MutationSpec, accepted: dict[tuple, str]) -> dict[str, object]:
    """Make one mutant, run its tests, and say what became of it."""
    result = mutate_and_test([mutant], module.command, module.timeout)
    changed = [line for line in (result.diff or "").splitlines() if line[:1] in "+-"]
    changed = [line for line in changed if line[:3] not in ("---", "+++")]
    before, after = (
        " ".join(line[1:].strip() for line in changed if line[0] == sign) for sign in "-+"
    )
    word = "survived" if result.test_outcome == TestOutcome.SURVIVED else "killed"
    if result.output == "timeout":
        word = "killed by the time limit"
    return {
        "module": module.name,
        "definition": mutant.definition_name or "",
        "line": mutant.start_pos[0],
        "operator": mutant.operator_name.split("/")[-1],
        "before": before,
        "after": after,
        "outcome": word,
        "accepted": accepted.get((module.name, before, after), "") if word == "survived" else "",
    }


def read_accepted() -> dict[tuple, str]:
    """Survivors that are no fault, by module and changed line, with the reason."""
    with (HERE / "accepted.csv").open(encoding="utf-8", newline="") as stream:
        return {
            (row["module"], row["before"], row["after"]): row["reason"]
            for row in csv.DictReader(stream)
        }


def write_rows(rows: list[dict[str, object]]) -> None:
    """All mutants, in a file that is not kept in git."""
    path = ROOT / "results" / "mutation.csv"
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, COLUMNS)
        writer.writeheader()
        writer.writerows(rows)
    print(f"{path.relative_to(ROOT)}: every mutant")


def tell(rows: list[dict[str, object]]) -> int:
    """The survivors that nobody has accepted; 1 if there is one."""
    survived = [row for row in rows if row["outcome"] == "survived"]
    new = [row for row in survived if not row["accepted"]]
    print(
        f"{len(rows)} mutants, {len(rows) - len(survived)} killed, "
        f"{len(survived) - len(new)} survivors accepted, {len(new)} survivors not accepted"
    )
    for row in new:
        print(f"{row['module']}:{row['line']} ({row['definition']})")
        print(f"  - {row['before']}\n  + {row['after']}")
    return 1 if new else 0


if __name__ == "__main__":
    raise SystemExit(main())
