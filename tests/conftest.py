"""How tests are shared out among processes, which examples are tried, and what takes long."""

import pytest
from hypothesis import settings

# The same examples on every run and machine, however slow it is.
settings.register_profile("same", derandomize=True, deadline=None)
settings.load_profile("same")


#: Files whose tests use one run of a small study between them.
OF_ONE_RUN = {
    f"tests/workflow/test_{name}.py"
    for name in ("documented_columns", "faults", "kills", "missing", "run")
}


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """Where there are workers, the tests of a file go to one, and so do those that share a run.

    By the files' names: marks of groups have no effect with pytest 9.
    """
    from xdist.scheduler import LoadScopeScheduling

    class ByFile(LoadScopeScheduling):
        def _split_scope(self, nodeid):
            file = nodeid.partition("::")[0]
            return "one run" if file in OF_ONE_RUN else file

    return ByFile(config, log)


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
