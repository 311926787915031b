"""What the onset of twelve registers with fifty lips costs."""

import time

import numpy as np

from borestudy.air import Air
from borestudy.closed_form.tube import impedance_matrix, transfer_matrix
from borestudy.playing.lips import lips_set
from borestudy.playing.load import Load
from borestudy.playing.onset import least_thresholds
from borestudy.playing.steady import SteadyDrop

#: Dry air at 20 °C: ISO 2533 and handbook values, from memory.
AIR = Air(1.204, 343.2, 1.81e-5, 0.0257, 1006.0, 1.4)
STREAM = SteadyDrop.of([2e-4, 4e-4], [250.0, 1e3], [2.5e6, 5e6])
REGISTERS, LIPS, SAMPLES = 12, 50, 3500
RADIUS, FRONT, BACK = 5.8e-3, 0.05, 1.35
#: Processor time allowed [s].
ALLOWED = 3.0


def pipe() -> Load:
    """An open pipe of 1.4 m with losses, which has a resistance in it."""
    frequencies = np.linspace(40.0, 1600.0, SAMPLES)
    omega = 2 * np.pi * frequencies
    back = transfer_matrix(RADIUS, BACK, omega, AIR)
    front = impedance_matrix(transfer_matrix(RADIUS, FRONT, omega, AIR))
    ones, zeros = np.ones(SAMPLES, dtype=complex), np.zeros(SAMPLES, dtype=complex)
    behind = back[:, 0, 1] / back[:, 1, 1]
    return Load(frequencies, front, behind, ones, zeros, STREAM, 2 * RADIUS, AIR.density)


def test_twelve_registers_with_fifty_lips_cost_at_most_three_seconds_of_a_core(benchmark):
    load, lips = pipe(), lips_set(LIPS)

    def timed():
        begin = time.process_time()
        found = least_thresholds(load, lips, REGISTERS)
        return time.process_time() - begin, found

    spent, found = benchmark.pedantic(timed, rounds=1)
    benchmark.extra_info.update(processor_s=spent)
    assert [len(each) for each in found] == [REGISTERS] * LIPS
    assert sum(one is not None for each in found for one in each) > 3 * LIPS
    assert spent < ALLOWED
