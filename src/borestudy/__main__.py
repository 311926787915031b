"""Command line: look at a study before anything is computed, and write the schema of study files.

A study is computed by Snakemake; what is here needs seconds and no mesh.
"""

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path

from borestudy.bore import BoreError
from borestudy.stages.check import study_lines
from borestudy.study import StudyError, load_study, study_schema

REFUSED = 2


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code: 0, or 2 with a message for a refused study."""
    parser = argparse.ArgumentParser(prog="borestudy", description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    check = commands.add_parser("check", help="validate a study and build every bore in it")
    check.add_argument("study", type=Path, help="study file, such as configs/entry-rounding.yaml")
    schema = commands.add_parser("schema", help="write the JSON schema of study files")
    schema.add_argument("path", type=Path, nargs="?", help="file to write; printed without one")
    chosen = parser.parse_args(arguments)
    try:
        if chosen.command == "check":
            print("\n".join(study_lines(load_study(chosen.study))))
            return 0
        text = json.dumps(study_schema(), indent=2, ensure_ascii=False)
        if chosen.path is None:
            print(text)
        else:
            chosen.path.write_text(f"{text}\n", encoding="utf-8")
    except (StudyError, BoreError, OSError) as problem:
        print(problem, file=sys.stderr)
        return REFUSED
    return 0


if __name__ == "__main__":
    sys.exit(main())
