"""Command line: run one command, print its answer, and leave with its exit code."""

import sys

from borestudy.command_line.main import main

__all__ = ["main"]

if __name__ == "__main__":
    sys.exit(main())
