"""The lift of the air: signs, limits, and when it shows on a balance."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook_calc import specimen, weighing

MASS = st.floats(1, 10_000)
ROOM = (st.floats(0, 40), st.floats(60, 110))


def lift(mass, before, after, resolution=0.001, density=7.88):
    return weighing.air_lift(mass, density, *before, *after, resolution)


@given(MASS, st.tuples(*ROOM), st.tuples(*ROOM))
def test_there_and_back_is_no_change(mass, before, after):
    there, back = lift(mass, before, after), lift(mass, after, before)
    assert there["change"] == pytest.approx(-back["change"], abs=1e-9)
    assert lift(mass, before, before)["change"] == 0
    assert there["change"] == pytest.approx(there["lift"] - back["lift"], abs=1e-9)


@given(MASS, st.tuples(*ROOM))
def test_thinner_air_lifts_less_so_the_piece_reads_heavier(mass, before):
    warm = (before[0] + 1, before[1])
    if warm[0] <= 40:
        assert lift(mass, before, warm)["change"] > 0


def test_it_shows_on_a_heavy_piece_and_a_fine_balance_only():
    rooms = ((20.0, 102.0), (20.0, 99.0))
    assert lift(1000.0, *rooms)["verdict"] == "shows"
    assert lift(20.0, *rooms)["verdict"] == "does not show"
    assert lift(1000.0, *rooms, resolution=0.1)["verdict"] == "does not show"


@given(st.floats(3, 12))
def test_the_lift_of_the_air_in_a_density(density):
    """Weighed in air of 1.2 kg/m3 and in water of 0.998, a piece of known density gives it back."""
    volume, air, water = 10.0, 0.0012, 0.998
    in_air, in_water = volume * (density - air), volume * (density - water)
    assert specimen.bulk_density(in_air, in_water, water, 1.2) == pytest.approx(density)
    without = specimen.bulk_density(in_air, in_water, water, None)
    assert without - density == pytest.approx((density / water - 1) * air / (1 - air / water), rel=0.02)
