"""What the workflow does for a study, done for one case in this process; no file is left."""

from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

from borestudy.bore import tolerances_of
from borestudy.optimisation.solved import Question, solve_case, solve_sound
from borestudy.results.case import CaseResults
from borestudy.results.toleranced import ToleranceResult
from borestudy.results.tolerances import distributions
from borestudy.results.wishes import WishResult
from borestudy.stages.check import refuse_impossible
from borestudy.stages.question import question_of
from borestudy.stages.tolerances import FlowAsked, bent_flow
from borestudy.stages.wish import KeptSolves, wish_result
from borestudy.study import Case, Study
from borestudy.study.tolerances import bore_in_error


def solve_study_case(study: Study, case: Case) -> CaseResults:
    """Solve one case of a study with all its derivatives.

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


def solve_study_wish(study: Study) -> WishResult:
    """Search for the bores that come nearest to a study's wish.

    Raises
    ------
    StudyError
        If the study has a bore that cannot be built, or rates that no model computes.
    MeshError, ValueError
        If there is no mesh of the first case's bore, or no number where something is wished.
    """
    refuse_impossible(study)
    asked = question_of(study, study.cases()[0].build_air())
    with TemporaryDirectory(prefix="borestudy.") as folder:
        return wish_result(study, KeptSolves(Path(folder), asked, ""))


def solve_study_tolerances(study: Study, question: Question | None = None) -> ToleranceResult:
    """How the quantities of a study's first case scatter within its tolerances.

    Parameters
    ----------
    study : Study
        With the bore and its tolerances.
    question : Question, optional
        What is asked of the bore; what the study asks, by default.

    Raises
    ------
    StudyError
        If the study has a bore that cannot be built, or rates that no model computes.
    MeshError
        If there is no mesh of the bore.
    """
    case = study.cases()[0]
    if question is None:
        refuse_impossible(study)
        question = question_of(study, case.build_air())
    bore, dimensions = case.build_bore(), case.dimensions()
    sound = solve_sound(bore, dimensions, question)
    results = solve_case(case.name, bore, dimensions, question, sound=sound)
    tolerances = tolerances_of(dimensions, study.tolerance.value, study.stated_tolerances())
    asked = FlowAsked(
        air=question.air,
        rates=question.rates,
        inlet=question.inlet,
        transition=question.transition,
        pipe_behind=question.pipe_behind,
    )
    bent = bent_flow(results, tolerances, asked, partial(bore_in_error, case))
    two_port, termination = sound
    return distributions(
        results, tolerances, two_port=two_port, termination=termination, second=bent
    )
