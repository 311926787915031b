"""A study's settings as they are asked of one bore in this process."""

from borestudy.air import Air
from borestudy.flow.models.of_bore import Transition
from borestudy.optimisation.solved import Question, solve_case
from borestudy.results.case import CaseResults
from borestudy.stages.check import refuse_impossible
from borestudy.study import Case, Study


def question_of(study: Study, air: Air) -> Question:
    """What a study asks of each of its bores, in the air of one of them."""
    return Question(
        air=air,
        frequency_range=study.frequency_range(),
        walls=study.resonance.walls,
        termination=study.termination(),
        air_column=study.air_column_file(),
        fundamental=study.fundamental(),
        rates=tuple(study.flow_rates()),
        inlet=study.flow.inlet,
        transition=Transition(**study.flow.transition.settings()),
        tolerance=study.flow.tolerance.value,
        pipe_behind=study.pipe_behind(),
        resolution=study.mesh.resolution,
    )


def solve_study_case(study: Study, case: Case) -> CaseResults:
    """Solve one case of a study in this process, with all its derivatives; no file is left.

    Raises
    ------
    StudyError
        If the study has a bore that cannot be built, or rates that no model computes.
    MeshError
        If there is no mesh of the bore.
    """
    refuse_impossible(study)
    question = question_of(study, case.build_air())
    return solve_case(case.name, case.build_bore(), case.dimensions(), question)
