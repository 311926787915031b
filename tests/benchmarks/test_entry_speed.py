"""What it costs to answer the maker's question from options alone."""

import resource

from borestudy.stages.entry import entry_study, solved_entries
from borestudy.views.entry import EntryAnswer

#: Processor time allowed [s]: on two cores the answer then comes in half of that and the start.
ALLOWED = 60.0


def processor_time():
    """Of this process and of those that it waited for, gmsh among them [s]."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


def test_three_radii_at_one_rate_are_answered_within_a_minute(benchmark):
    study = entry_study("0.5, 1, 2 mm", "0.2 L/s", {"throat.diameter": "drill 27"})

    def answer():
        begin = processor_time()
        found = EntryAnswer(*solved_entries(study, 2))
        return processor_time() - begin, found

    spent, found = benchmark.pedantic(answer, rounds=1)
    benchmark.extra_info.update(processor_s=spent)
    assert len(found.sentences) == 2
    assert all("±" in one.text for one in found.sentences)
    assert spent < ALLOWED
