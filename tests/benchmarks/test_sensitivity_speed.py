"""What derivatives by every dimension cost beside the flow that they are of, in one run."""

import time
from pathlib import Path

from borestudy.flow.meshes import PRESETS, FlowMeshes, solve_bore
from borestudy.flow.regime import rate_scale
from borestudy.study import load_study

DEMO = Path(__file__).parents[2] / "configs" / "entry-rounding.yaml"
RATES = [5e-5, 1e-4, 2e-4, 3e-4]
#: Of the flow alone, which is some four fifths of a case: measured were 0.13 beside two other jobs
#: on two cores, where what goes through memory takes longer than a factorisation does.
SHARE = 0.16


def test_derivatives_of_the_flow_by_nine_dimensions_cost_a_fraction_of_it(benchmark, tmp_path):
    """Best estimate at four rates; both ways twice, the faster counts, of the process's own time.

    As many solves as dimensions, each with a mesh of its own, would cost as many times the flow.
    """
    case = load_study(DEMO).cases()[1]
    bore, air, dimensions = case.build_bore(), case.build_air(), case.dimensions()
    paths = [tmp_path / f"{name}.msh" for name in PRESETS["estimate"].names]
    greatest = rate_scale(air, RATES[-1], 2 * bore.throat_radius).reynolds
    files = FlowMeshes(bore, paths, "estimate", "medium", greatest)
    files.make()

    def timed(wanted):
        begin = time.process_time()
        found = solve_bore(files, air, RATES, dimensions=wanted)
        assert all(set(row.by_dimension) == {one.key for one in wanted} for row in found.rates)
        return time.process_time() - begin

    def both():
        times = [(timed([]), timed(dimensions)) for _ in range(2)]
        return [min(each) for each in zip(*times, strict=True)]

    without, with_all = benchmark.pedantic(both, rounds=1)
    benchmark.extra_info.update(
        dimensions=len(dimensions), flow_s=without, share=with_all / without - 1
    )
    assert len(dimensions) >= 9
    assert with_all < (1 + SHARE) * without
