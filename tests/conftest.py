"""How tests are shared out among processes."""

import pytest


@pytest.hookimpl(tryfirst=True)
def pytest_cmdline_main(config):
    """Tests that use one run between them go to one worker, where there are workers.

    As an option for every run, benchmarks would be taken for tests that run beside others.
    """
    if getattr(config.option, "numprocesses", None) and config.option.dist == "no":
        config.option.dist = "loadgroup"
