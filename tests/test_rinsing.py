"""Rinsing: limits, monotony, inverse pairs, refusals."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import examples

from handbook_calc.engine.bench import Bench
from handbook_calc.engine.faults import Refusal
from handbook_calc.rinsing import drag_out, rinse_baths, rinse_residue

SOME = examples(60)
START = st.floats(0.1, 1000)
CARRIED = st.floats(0.01, 50)
BATH = st.floats(60, 5000)


@given(START, CARRIED, BATH, st.integers(0, 6))
@SOME
def test_another_bath_never_raises_the_chloride(start, carried, bath, baths):
    assert rinse_residue(start, carried, bath, baths + 1) < rinse_residue(start, carried, bath, baths)


@given(START, CARRIED, BATH, st.integers(1, 6))
@SOME
def test_more_water_leaves_less(start, carried, bath, baths):
    assert rinse_residue(start, carried, 2 * bath, baths) < rinse_residue(start, carried, bath, baths)


@given(START, CARRIED, BATH)
@SOME
def test_one_bath_conserves_the_chloride(start, carried, bath):
    left = rinse_residue(start, carried, bath, 1)
    assert left * (carried + bath) == pytest.approx(start * carried, rel=1e-12)


@given(START, CARRIED, BATH, st.floats(1e-3, 0.9))
@SOME
def test_the_baths_asked_for_are_enough_and_one_fewer_is_not(start, carried, bath, share):
    limit = max(start * share, 0.001)
    baths = rinse_baths(start, limit, carried, bath)
    assert rinse_residue(start, carried, bath, baths) <= limit * (1 + 1e-9)
    if baths > 0:
        assert rinse_residue(start, carried, bath, baths - 1) > limit


def test_clean_enough_needs_no_bath():
    assert rinse_baths(1.0, 1.0, 2.0, 500.0) == 0


def test_a_piece_cleaner_than_the_limit_needs_no_bath_either():
    assert rinse_baths(0.5, 1.0, 2.0, 500.0) == 0
    assert rinse_baths(0.0, 1.0, 2.0, 500.0) == 0


def test_an_exact_limit_is_not_asked_for_twice():
    assert rinse_baths(1000, 1000 * 0.05**4, 50, 950) == 4


def test_a_bath_no_larger_than_what_is_carried_is_refused():
    with pytest.raises(Refusal, match="that is no rinse; use at least five times"):
        rinse_baths(10, 1, 50, 50)


def test_retained_over_total_is_not_retained_over_added():
    """The trap: 40.2 of 696 mL in all is 5.78 %, not 40.2 of 655.8 mL added, which is 6.13 %."""
    assert rinse_residue(100, 40.2, 655.8, 1) == pytest.approx(5.776, abs=0.001)
    assert not math.isclose(rinse_residue(100, 40.2, 655.8, 1), 100 * 40.2 / 655.8, rel_tol=0.05)


def test_units_do_not_change_the_answer():
    ask = Bench(None).ask
    metric = ask("drag-out", area="100 cm^2", film="215 mL/m^2", crack_volume="0.5 mL")
    other = ask("drag-out", area="15.500031000062 in^2", film="215 um", crack_volume="500 mm^3")
    assert other.results["volume"] == pytest.approx(metric.results["volume"], rel=1e-9)
    assert drag_out(100, 215, 0.5) == pytest.approx(2.65)
