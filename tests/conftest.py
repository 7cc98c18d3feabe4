"""What every test shares: the catalogue, the house standard, tiny sites to build, and the real one built once."""

import os
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest
from filelock import FileLock
from hypothesis import settings
from support import STANDARD, TIMES, Site, copy_of_the_project, run

from handbook_calc.engine import house as house_module
from handbook_calc.engine import registers, stages  # noqa: F401 - its tables are tested like the others
from handbook_calc.engine.tables import TABLES, Computed

# Before a change lands the same examples are tried each time; at the desk, others each time. A slow one is no fault.
settings.register_profile("desk", max_examples=100 * TIMES, deadline=None)
settings.register_profile("landing", settings.get_profile("desk"), derandomize=True)
settings.load_profile("landing" if os.environ.get("CI") else "desk")

stages.load()


def pytest_addoption(parser) -> None:
    """Offer every test at once: the usual run leaves out what takes seconds by itself."""
    parser.addoption("--whole", action="store_true", help="run the long tests, too; -m long runs only these")


def pytest_collection_modifyitems(config, items) -> None:
    """Leave out the long tests, unless somebody asks for them, or for tests by name."""
    if config.option.whole or config.option.markexpr or _named(config):
        return
    left_out = [item for item in items if item.get_closest_marker("long")]
    config.hook.pytest_deselected(items=left_out)
    items[:] = [item for item in items if item not in left_out]


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers(config) -> int | None:
    """Run a few named tests in this process: they end before others have started."""
    if not _named(config):
        return None
    config.option.dist = "no"
    return 0


def _named(config) -> bool:
    return bool(config.args) and all("::" in name for name in config.args)


@pytest.fixture(scope="session")
def house():
    """The project's own house standard."""
    return house_module.load(STANDARD)


@pytest.fixture(scope="session")
def filled(house) -> Callable[[str], Computed]:
    """What gives each table, filled for the project's own standard; a process computes it once."""
    return cache(lambda name: TABLES[name].compute(house))


@pytest.fixture(scope="session")
def real_site(tmp_path_factory, worker_id) -> Path:
    """The real handbook, built strictly: once, whichever of the parallel processes asks first. Read only."""
    shared = tmp_path_factory.getbasetemp()
    if worker_id != "master":
        shared = shared.parent
    site = shared / "real-site"
    with FileLock(shared / "real-site.lock"):
        if not site.exists():
            folder = copy_of_the_project(tmp_path_factory.mktemp("real"))
            result = run([sys.executable, "-m", "mkdocs", "build", "--strict"], folder)
            assert result.returncode == 0, result.stderr
            (folder / "site").rename(site)
    return site


@pytest.fixture
def site(tmp_path) -> Site:
    """A small site to build."""
    return Site(tmp_path)
