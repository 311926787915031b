"""What all commands share: how one is declared, what it answers, and how it refuses.

A command is a function in a module of its own that returns an `Answer`:

    @command("borestudy answer study.yaml")
    @study_argument
    def answer(study: Path) -> Answer:
        '''Say what the command does, in a line.'''

Libraries are imported by the function that needs them: every command starts in a tenth of a second.
"""

import json
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

import click

#: Exit codes: something failed on the way; what was given is refused, and nothing is written.
FAILED, REFUSED = 1, 2


@dataclass(frozen=True)
class Answer:
    """What a command found.

    Attributes
    ----------
    lines : list of str
        Text for people.
    facts : dict
        The same for programs: what ``--json`` prints; NumPy's numbers, paths and tables
        (``DataFrame``, as a list of rows) may be in it.
    exit_code : int
        0, or 1 where the answer is that something failed.
    """

    lines: list[str]
    facts: Mapping[str, Any]
    exit_code: int = 0


class Command(click.Command):
    """A command with examples below its help and an option ``--json``."""

    def __init__(self, *arguments: Any, examples: str = "", **settings: Any) -> None:
        super().__init__(*arguments, **settings)
        self.examples = examples
        words = "print the answer as JSON"
        self.params.append(click.Option(["--json", "as_json"], is_flag=True, help=words))

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the examples as they stand."""
        write_examples(self.examples, formatter)

    def get_short_help_str(self, limit: int = 0) -> str:
        """Return the first line of the help text, whole."""
        return (self.help or "").partition("\n")[0].rstrip(".")

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read what was given; a mistake in it knows the command, and so an example."""
        try:
            return super().parse_args(ctx, args)
        except click.UsageError as problem:
            problem.ctx = problem.ctx or ctx
            raise

    def invoke(self, ctx: click.Context) -> int:
        """Run the command and print its answer; the exit code."""
        as_json = ctx.meta["as_json"] = ctx.params.pop("as_json")
        answer: Answer = super().invoke(ctx)
        if as_json:
            print(json.dumps(_plain(answer.facts), indent=1, ensure_ascii=False, allow_nan=False))
        elif answer.lines:
            print("\n".join(answer.lines))
        return answer.exit_code


def command(examples: str, **settings: Any) -> Callable[[Callable[..., Answer]], click.Command]:
    """Turn a function into a command named after it; examples are lines as a user types them."""
    return click.command(cls=Command, examples=examples, **settings)


def write_examples(examples: str, formatter: click.HelpFormatter) -> None:
    """Write examples below a help text, a line of the shell each."""
    word = "example" if len(_joined(examples)) == 1 else "examples"
    indented = "\n".join(f"  {line}" for line in examples.splitlines())
    formatter.write(f"\n{word}:\n{indented}\n")


def run(group: click.Command, arguments: list[str] | None, name: str) -> int:
    """Run a command or a group of them, with one message for whatever cannot be."""
    try:
        return int(group.main(arguments, prog_name=name, standalone_mode=False) or 0)
    except click.exceptions.NoArgsIsHelpError as problem:
        return _said(problem.ctx.get_help(), REFUSED)
    except click.UsageError as problem:
        return _said(usage_message(problem), REFUSED)
    except (ValueError, OSError) as problem:
        return _said(str(problem), REFUSED)
    except (click.Abort, KeyboardInterrupt):
        return _said("interrupted", FAILED)
    except RuntimeError as problem:
        return _said(str(problem), FAILED)


def usage_message(problem: click.UsageError) -> str:
    """What was given wrongly, what is allowed, and an example, in one line."""
    ctx = problem.ctx
    example = ""
    if ctx is not None and isinstance(ctx.command, Command):
        example = f", for example {_joined(ctx.command.examples)[0]}"
    if isinstance(problem, click.NoSuchOption) and ctx is not None:
        options = [name for one in ctx.command.get_params(ctx) for name in _options(one)]
        near = get_close_matches(problem.option_name, options, n=1)
        hint = f"did you mean {near[0]}? " if near else ""
        allowed = f"{'A' if hint else 'a'}llowed is {', '.join(options)}"
        return f"{problem.option_name}: unknown option; {hint}{allowed}{example}"
    if isinstance(problem, click.MissingParameter) and problem.param is not None:
        parameter = problem.param
        name = _options(parameter)[0] if _options(parameter) else parameter.human_readable_name
        words = getattr(parameter, "help", None) or "value"
        return f"{name}: missing; needed is a {words}{example}"
    return f"{problem.format_message().rstrip('.')}{example}"


def _joined(examples: str) -> list[str]:
    """Examples, each in one line."""
    return [" ".join(one.split()) for one in examples.replace("\\\n", "").splitlines()]


def _options(parameter: click.Parameter) -> list[str]:
    if not isinstance(parameter, click.Option):
        return []
    return [name for name in parameter.opts if name.startswith("--")]


def _said(message: str, code: int) -> int:
    print(message, file=sys.stderr)
    return code


def _plain(facts: Any) -> Any:
    """Facts as JSON knows them; a table is a list of its rows, what has no value is null."""
    from borestudy.files import plain

    if hasattr(facts, "to_dict"):
        return plain(facts.to_dict("records"))
    if isinstance(facts, Mapping):
        return {key: _plain(value) for key, value in facts.items()}
    return plain(facts)
