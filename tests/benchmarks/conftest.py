"""Benchmarks run only where they are asked for."""

import pytest


@pytest.fixture(autouse=True)
def timed(request):
    """A ratio of times means nothing in a run where other tests share the machine."""
    options = request.config.option
    if options.benchmark_disable and not options.benchmark_enable:
        pytest.skip("speed is measured with --benchmark-enable only")
