"""What is known of a study before anything is computed: its bores can be built, its airs named."""

from borestudy.study import Case, Study, StudyError
from borestudy.study.naming import name_part

#: Name of the air that all cases share.
COMMON_AIR = "all-cases"


def air_name(case: Case) -> str:
    """Name of the case's air, the same for cases whose air is the same."""
    parts = [name_part(key, value) for key, value in case.values.items() if key.startswith("air.")]
    return "__".join(parts) or COMMON_AIR


def refuse_impossible(study: Study) -> None:
    """Build every bore of a study.

    Raises
    ------
    StudyError
        One line a case whose bore is impossible.
    """
    problems = []
    for case in study.cases():
        try:
            case.build_bore()
        except StudyError as problem:
            problems.append(str(problem))
    if problems:
        raise StudyError("\n".join(problems))
