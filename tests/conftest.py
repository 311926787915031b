"""How tests are shared out among processes, and which examples Hypothesis tries."""

import pytest
from hypothesis import settings

# The same examples on every run and machine, however slow it is.
settings.register_profile("same", derandomize=True, deadline=None)
settings.load_profile("same")


@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config):
    """Tests that use one run between them go to one worker, where there are workers.

    As an option for every run, benchmarks would be taken for tests that run beside others.
    """
    if getattr(config.option, "numprocesses", None) and config.option.dist == "no":
        config.option.dist = "loadgroup"
