"""A large study that was found possible is not looked at again until something of it changes."""

import hashlib
import json
from contextlib import suppress
from pathlib import Path

from borestudy.files import FileError, replacing
from borestudy.provenance import file_hash, source_hash
from borestudy.stages.check import refuse_impossible
from borestudy.study import Study

#: From so many cases on, building each bore takes longer than reading what was found [cases].
MANY = 500
#: File, beside Snakemake's own, with the hash of the study that was found possible.
ACCEPTED = ".snakemake/borestudy-{}.accepted"


def refuse_impossible_once(study: Study, folder: Path, base: Path = Path()) -> None:
    """Refuse an impossible study, unless it was found possible before in the same words.

    Parameters
    ----------
    study : Study
        What is to be computed.
    folder : Path
        Of its results, from the base.
    base : Path
        The folder in which Snakemake is run.

    Raises
    ------
    StudyError
        As `refuse_impossible` does.
    """
    if len(study.cases()) < MANY:
        refuse_impossible(study)
        return
    record = base / ACCEPTED.format(folder.name or "results")
    found = _hash(study)
    with suppress(OSError):
        if record.read_text(encoding="utf-8") == found:
            return
    refuse_impossible(study)
    # Where nothing can be written, it is looked at each time.
    with suppress(OSError, FileError):
        record.parent.mkdir(parents=True, exist_ok=True)
        with replacing(record) as unfinished:
            unfinished.write_text(found, encoding="utf-8")


def _hash(study: Study) -> str:
    """Hash of all that decides whether a study is possible: its words, files and the sources."""
    files = {path for case in study.cases() for path in case.input_files()}
    files |= {path for path in (study.claims_file(), study.air_column_file()) if path is not None}
    parts = [
        study.resolved(),
        sorted((path.as_posix(), file_hash(path)) for path in files if path.is_file()),
        source_hash("borestudy.stages.check", "borestudy.study.study"),
    ]
    text = json.dumps(parts, sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()
