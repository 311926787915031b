"""Words of the command line, and what each command needs."""

import argparse
import re
from pathlib import Path
from typing import NoReturn

from borestudy.views.text import refused

#: An example of each command, at the end of its help.
EXAMPLES = {
    "check": "borestudy check configs/throat-sweep.yaml",
    "sensitivities": """borestudy sensitivities configs/entry-rounding.yaml
  borestudy sensitivities configs/throat-sweep.yaml --case throat_diameter-drill27 \\
      --quantity resonance --output sensitivities.csv --picture sensitivities.svg""",
    "tolerances": "borestudy tolerances configs/entry-rounding.yaml --output tolerances.csv",
    "wish": "borestudy wish configs/wish.yaml --output wishes.csv --picture path.svg",
    "trade-off": """borestudy trade-off results/throat-sweep \\
      resonance_Hz flow_resistance_kPa_s_per_L --picture trade-off.svg""",
    "schema": "borestudy schema configs/study.schema.json",
}
DESCRIPTION = """Which dimension of a mouthpiece bore to change, by how much, and at what cost.

A study is computed by Snakemake (see README.md).  The commands here look at a study before
anything is computed, and answer questions about single bores: from the study's results where they
are there, or else by solving in this process."""


class Parser(argparse.ArgumentParser):
    """One whose message for an unknown command says which was meant."""

    def error(self, message: str) -> NoReturn:
        """Leave with a message, and the usage unless a command is unknown."""
        if unknown := re.search(r"invalid choice: '(.*?)' \(", message):
            self.exit(2, f"{refused('COMMAND', unknown.group(1), EXAMPLES)}\n")
        super().error(message)


def parser() -> argparse.ArgumentParser:
    """All commands with their arguments."""
    found = Parser(
        prog="borestudy",
        description=DESCRIPTION,
        epilog=f"example:\n  {EXAMPLES['sensitivities'].splitlines()[0]}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    commands = found.add_subparsers(dest="command", required=True, metavar="COMMAND")

    def command(name: str, words: str, more: str = "") -> argparse.ArgumentParser:
        return commands.add_parser(
            name,
            help=words,
            description=f"{words[0].upper()}{words[1:]}.{more}",
            epilog=f"example:\n  {EXAMPLES[name]}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )

    check = command("check", "validate a study, build every bore in it, and say what it would do")
    _study(check)
    sensitivities = command(
        "sensitivities",
        "what 0.001 in on each dimension does to each quantity, ranked",
        "\n\nTo first order, from one solution of the bore and its derivatives.",
    )
    _study(sensitivities)
    _case(sensitivities)
    sensitivities.add_argument(
        "--quantity",
        action="append",
        default=[],
        metavar="NAME",
        help="show this quantity, the ranking by the first; may be given several times",
    )
    _outputs(sensitivities, "sensitivities.csv")
    tolerances = command(
        "tolerances",
        "how far the first case's figures scatter when it is cut within its tolerances",
        "\n\nEvery dimension is off by anything within its tolerance, in either direction and "
        "independently.",
    )
    _study(tolerances)
    _fresh(tolerances)
    _outputs(tolerances, "tolerances.csv")
    wish = command(
        "wish",
        "the bores that come nearest to the study's wish, and what they cost elsewhere",
        "\n\nA wish that cannot be met is an answer: the command says what stands in the way.",
    )
    _study(wish)
    _fresh(wish)
    _outputs(wish, "wishes.csv")
    trade_off = command(
        "trade-off", "two columns of a study's results against each other, a line a case"
    )
    trade_off.add_argument(
        "results",
        metavar="RESULTS",
        help="folder of results, of which comparison.csv is taken, or a CSV file with a row a case",
    )
    for axis in ("x", "y"):
        trade_off.add_argument(axis, metavar=axis.upper(), help="name of a column of numbers")
        trade_off.add_argument(
            f"--better-{axis}",
            metavar="WORD",
            help=f"what is better in {axis.upper()}: lower, higher, or near to the first case's "
            "value; by default lower for a flow resistance or pressure drop, near for others",
        )
    _outputs(trade_off, "trade-off.csv")
    schema = command("schema", "write the JSON schema of study files")
    schema.add_argument("path", type=Path, nargs="?", help="file to write; printed without one")
    return found


def _study(command: argparse.ArgumentParser) -> None:
    words = "study file, such as configs/entry-rounding.yaml"
    command.add_argument("study", metavar="STUDY", type=Path, help=words)


def _case(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--case", metavar="NAME", help="name of a case, as `borestudy check` lists them; the first"
    )
    _fresh(command)


def _fresh(command: argparse.ArgumentParser) -> None:
    words = "solve here, even where results/ has the answer"
    command.add_argument("--fresh", action="store_true", help=words)


def _outputs(command: argparse.ArgumentParser, table: str) -> None:
    command.add_argument(
        "--output", metavar="FILE.csv", type=Path, help=f"write the whole table, as {table}"
    )
    words = "draw it: an SVG, PNG or PDF file"
    command.add_argument("--picture", metavar="FILE.svg", type=Path, help=words)
