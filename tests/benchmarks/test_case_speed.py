"""What the derivatives of all figures cost beside the case that they are of, in one run."""

import resource
from pathlib import Path

from borestudy.optimisation.solved import Question, solve_case
from borestudy.study import load_study

DEMO = Path(__file__).parents[2] / "configs" / "entry-rounding.yaml"
RATES = [5e-5, 1e-4, 2e-4, 3e-4]
ROUNDS = 3
#: A tenth is wanted; measured were 0.09 to 0.15 on two cores, idle or not, about half of it for the
#: slope of the pressure drop, a second derivative.
SHARE = 0.2


def processor_time():
    """Of this process and of those that it waited for, gmsh among them [s]."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def test_all_derivatives_by_nine_dimensions_cost_a_fraction_of_a_case(benchmark):
    """Meshes, two-port, resonances and flow at four rates, with and without, turn about.

    As many solves as dimensions would cost nine times the case.
    """
    case = load_study(DEMO).cases()[3]
    bore, dimensions = case.build_bore(), case.dimensions()
    question = Question(air=case.build_air(), rates=RATES)

    def timed(wanted):
        begin = processor_time()
        solve_case(case.name, bore, wanted, question)
        return processor_time() - begin

    def both():
        times = [(timed([]), timed(dimensions)) for _ in range(ROUNDS)]
        return [min(each) for each in zip(*times, strict=True)]

    without, with_all = benchmark.pedantic(both, rounds=1)
    share = with_all / without - 1
    benchmark.extra_info.update(dimensions=len(dimensions), case_s=without, share=share)
    assert len(dimensions) == 9
    assert share < SHARE
