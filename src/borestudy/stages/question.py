"""A study's settings as they are asked of one bore in this process."""

from borestudy.air import Air
from borestudy.flow.models.of_bore import Transition
from borestudy.optimisation.solved import Question
from borestudy.study import Study


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
