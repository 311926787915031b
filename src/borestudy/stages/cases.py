"""The cases of a small study solved at once, in processes beside one another; no file is left."""

import logging
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import replace
from multiprocessing import get_context

from borestudy.bore import Bore, Dimension
from borestudy.optimisation.solved import Question, solve_case
from borestudy.results.case import CaseResults
from borestudy.stages.check import refuse_impossible
from borestudy.stages.measured import measurement_record
from borestudy.stages.question import question_of
from borestudy.study import Study

#: What tells the libraries of linear algebra how many threads to take.
THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


def solve_study_cases(study: Study, processes: int | None = None) -> list[CaseResults]:
    """Solve every case of a study, and with derivatives those that the stations' errors ask for.

    Parameters
    ----------
    study : Study
        What is solved, at all of its flow rates.
    processes : int, optional
        How many cases are solved at a time; by default as many as there are processors to be had.

    Raises
    ------
    StudyError
        If the study has a bore that cannot be built, or rates that no model computes.
    MeshError
        If there is no mesh of a bore.
    """
    refuse_impossible(study)
    cases = study.cases()
    measured = [measurement_record(case) for case in cases]
    asked = [
        (
            case.name,
            case.build_bore(),
            [] if record is None else case.dimensions(),
            question_of(study, case.build_air()),
        )
        for case, record in zip(cases, measured, strict=True)
    ]
    count = min(len(cases), processes or len(os.sched_getaffinity(0)))
    if count == 1:
        solved = [_solved(*one) for one in asked]
    else:
        # Started afresh: a copy of this process would have its locks, and its threads not.
        with _one_thread_each(), ProcessPoolExecutor(count, get_context("spawn"), _quiet) as pool:
            solved = list(pool.map(_solved, *zip(*asked, strict=True)))
    return [
        replace(found, varied=case.varied_columns(), words=case.words(), measurement=record)
        for case, record, found in zip(cases, measured, solved, strict=True)
    ]


def _quiet() -> None:
    """Say nothing of what is in the results too."""
    logging.getLogger("borestudy").setLevel(logging.ERROR)


def _solved(
    name: str, bore: Bore, dimensions: Sequence[Dimension], question: Question
) -> CaseResults:
    return solve_case(name, bore, dimensions, question)


@contextmanager
def _one_thread_each() -> Iterator[None]:
    """Have the processes that are started meanwhile take one thread, where nothing else is said."""
    unset = [name for name in THREADS if name not in os.environ]
    os.environ.update(dict.fromkeys(unset, "1"))
    try:
        yield
    finally:
        for name in unset:
            del os.environ[name]
