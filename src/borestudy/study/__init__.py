"""Read a study file into a validated study and its named cases."""

from borestudy.study.cases import Case
from borestudy.study.claims import read_claims
from borestudy.study.errors import StudyError
from borestudy.study.lines import located
from borestudy.study.load import load_study, read_yaml
from borestudy.study.schema import study_schema
from borestudy.study.study import Study, study_from_mapping

__all__ = [
    "Case",
    "Study",
    "StudyError",
    "load_study",
    "located",
    "read_claims",
    "read_yaml",
    "study_from_mapping",
    "study_schema",
]
