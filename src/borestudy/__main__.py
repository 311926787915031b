"""Command line: run one command, print its lines, and return its exit code."""

import sys
from collections.abc import Sequence

from borestudy.command_line.commands import COMMANDS
from borestudy.command_line.parser import parser

REFUSED = 2


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code: 0, or 2 with a message for what is refused."""
    chosen = parser().parse_args(arguments)
    try:
        lines = COMMANDS[chosen.command](chosen)
    except (ValueError, RuntimeError, OSError) as problem:
        print(problem, file=sys.stderr)
        return REFUSED
    if lines:
        print("\n".join(lines))
    return 0


if __name__ == "__main__":
    sys.exit(main())
