"""Every outside check value against ours: numbers that the project did not compute itself."""

from collections import Counter

import pytest

from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.checks import checks
from handbook_calc.engine.sources import sources

ALL = checks()


@pytest.mark.parametrize("check", ALL, ids=str)
def test_outside_value(check):
    ours = check.ours()
    assert check.holds(ours), (
        f"{check}: {check.calculation} gives {ours} {check.unit}, "
        f"{sources()[check.source].title} ({check.place}) has {check.expected} +- {check.tolerance}"
    )


def test_every_row_says_where_it_is_from_and_why_its_tolerance():
    for check in ALL:
        assert check.place, check
        assert check.why, check
    assert [name for name, count in Counter((c.file, c.id) for c in ALL).items() if count > 1] == []


@pytest.mark.parametrize("name", CATALOGUE)
def test_every_calculation_has_outside_checks(name):
    found = {check.source for check in ALL if check.calculation == name}
    assert len([check for check in ALL if check.calculation == name]) >= 2
    assert found


def test_a_wrong_value_would_be_seen():
    check = next(check for check in ALL if check.id == "three-rinses")
    assert check.holds(0.125)
    assert not check.holds(0.125 * 1.001)
    assert not check.holds("refused small-bath")
