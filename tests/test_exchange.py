"""A crack that empties by weight or by diffusion: limits, symmetry, refusals of nonsense."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from handbook_calc import exchange
from handbook_calc.engine.bench import Bench

PAIR = {"inside": "water", "outside": "2-propanol"}


def ask(width=100.0, depth=4.0, tilt=180.0, inside="water", outside="2-propanol"):
    return exchange.crack_exchange(width, depth, tilt, inside, outside)


@given(st.floats(0, 180))
def test_the_cosine_is_that_of_the_library(degrees):
    assert exchange.cosine(degrees) == pytest.approx(math.cos(math.radians(degrees)), abs=1e-15)


@given(st.floats(1, 1000), st.floats(0.1, 100), st.floats(0, 180), st.sampled_from(exchange.LIQUIDS))
def test_a_crack_full_of_the_baths_own_liquid_has_nothing_to_fall(width, depth, tilt, liquid):
    answer = ask(width, depth, tilt, liquid, liquid)
    assert (answer["rules"], answer["hold"]) == ("diffusion", "either way")
    assert answer["rayleigh"] == 0


@given(st.floats(1, 1000), st.floats(0.1, 100), st.floats(0, 180))
def test_turned_upside_down_or_with_the_liquids_swapped_it_is_the_other_way_round(width, depth, tilt):
    one = ask(width, depth, tilt)
    turned = ask(width, depth, 180 - tilt)
    swapped = ask(width, depth, tilt, "2-propanol", "water")
    assert turned["rayleigh"] == pytest.approx(-one["rayleigh"], rel=1e-9, abs=1e-9)
    assert swapped["rayleigh"] == pytest.approx(-one["rayleigh"], rel=1e-9, abs=1e-9)


@given(st.floats(1, 500), st.floats(0.1, 50))
def test_a_wider_crack_never_takes_longer(width, depth):
    assert ask(2 * width, depth)["time"] <= ask(width, depth)["time"] * (1 + 1e-12)


def test_by_weight_the_time_falls_with_the_square_of_the_width_and_grows_with_the_depth():
    one, wide, deep = ask()["time"], ask(width=200)["time"], ask(depth=8)["time"]
    assert wide == pytest.approx(one / 4)
    assert deep == pytest.approx(2 * one)


def test_by_diffusion_the_time_grows_with_the_square_of_the_depth_and_width_counts_for_nothing():
    one = ask(width=5)["time"]
    assert ask(width=2)["time"] == one
    assert ask(width=2, depth=8)["time"] == pytest.approx(4 * one)


@pytest.mark.parametrize(
    ("written", "name"),
    [("Water", "water"), ("isopropanol", "2-propanol"), ("sodium carbonate", "sodium carbonate 2 %"),
     ("lye", "sodium hydroxide 2 %"), ("ferric chloride", "ferric chloride 40 %")],
)  # fmt: skip
def test_liquids_have_the_names_people_use(written, name):
    assert exchange.liquid_name(written) == name


def test_a_name_of_two_strengths_is_asked_back():
    with pytest.raises(Exception, match="sodium chloride"):
        Bench(None).ask("crack-exchange", width="20 um", depth="4 mm", tilt="180 deg",
                        inside="sodium chloride", outside="water")  # fmt: skip


def test_the_pages_rule_of_thumb():
    """Minutes at a tenth of a millimetre, about an hour at a fiftieth, half a day below a hundredth."""
    assert ask(100)["time"] * 60 == pytest.approx(3.2, rel=0.05)
    assert ask(20)["time"] == pytest.approx(1.34, rel=0.05)
    assert ask(5)["time"] == pytest.approx(12.6, rel=0.05)
