"""What every test shares: the catalogue, the project's house standard, and tiny sites to build."""

import os

import pytest
from hypothesis import settings
from support import STANDARD, Site

from handbook_calc.engine import catalogue
from handbook_calc.engine import house as house_module

# Before a change lands the same examples are tried each time; at the desk, others each time.
settings.register_profile("landing", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("landing")

catalogue.load()


@pytest.fixture(scope="session")
def house():
    """The project's own house standard."""
    return house_module.load(STANDARD)


@pytest.fixture
def site(tmp_path) -> Site:
    """A small site to build."""
    return Site(tmp_path)
