"""The group of all commands: each is imported only when it is asked for."""

from collections.abc import Sequence
from importlib import import_module

import click

from borestudy.command_line.command import run, write_examples
from borestudy.views.text import refused

NAME = "borestudy"
#: In the order of the help text; the command `trade-off` is the function `trade_off` in the module
#: of that name.
COMMANDS = (
    "init",
    "check",
    "run",
    "entry",
    "onset",
    "sensitivities",
    "tolerances",
    "wish",
    "trade-off",
    "claims",
    "drawing",
    "figures",
    "reference",
    "schema",
)
EXAMPLES = "borestudy sensitivities configs/entry-rounding.yaml"


class Group(click.Group):
    """Commands that are imported when they are asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names of all commands."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of a name, None where there is none."""
        if cmd_name not in COMMANDS:
            return None
        function = cmd_name.replace("-", "_")
        module = import_module(f"borestudy.command_line.{function}")
        found: click.Command = getattr(module, function)
        return found

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Find the command, or say which one was meant."""
        if args and not args[0].startswith("-") and args[0] not in COMMANDS:
            raise ValueError(refused("COMMAND", args[0], COMMANDS))
        return super().resolve_command(ctx, args)

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the examples as they stand."""
        write_examples(EXAMPLES, formatter)


@click.group(cls=Group, context_settings={"help_option_names": ["-h", "--help"]})
def borestudy() -> None:
    """Which dimension of a mouthpiece bore to change, by how much, and at what cost.

    A study is computed by Snakemake (see README.md). The commands here look at a study before
    anything is computed, and answer questions about single bores: from the study's results where
    they are there, or else by solving in this process.

    A command ends with 0; with 1 where something failed; with 2 and one message where what it was
    given is refused, and then nothing is written.
    """


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    return run(borestudy, None if arguments is None else list(arguments), NAME)
