"""``borestudy schema``: the JSON schema of study files."""

import json
from pathlib import Path

import click

from borestudy.command_line.command import Answer, command
from borestudy.command_line.options import PATH


@command("borestudy schema configs/study.schema.json")
@click.argument(
    "path", metavar="FILE", type=PATH, required=False, help="file to write; printed without one"
)
def schema(path: Path | None) -> Answer:
    """Write the JSON schema of study files."""
    from borestudy.study import study_schema

    found = study_schema()
    text = json.dumps(found, indent=2, ensure_ascii=False)
    if path is None:
        return Answer([text], found)
    path.write_text(f"{text}\n", encoding="utf-8")
    return Answer([], {"file": path})
