"""How tests are shared out among processes, which examples are tried, and what takes long."""

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


def pytest_addoption(parser):
    parser.addoption("--long", action="store_true", help="run tests that take many minutes too")


def pytest_configure(config):
    config.addinivalue_line("markers", "long: takes many minutes; skipped without --long")


def pytest_collection_modifyitems(config, items):
    """Skip what takes long unless it is asked for."""
    if config.getoption("--long"):
        return
    for item in items:
        if item.get_closest_marker("long"):
            item.add_marker(pytest.mark.skip(reason="takes many minutes; asked for by --long"))
