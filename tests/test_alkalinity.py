"""Hydroxide of a bath: constants of the literature, standard buffers, limits, and the air's share."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import answered, examples

from handbook_calc import alkalinity as stage
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.faults import BadInput

SALT = st.sampled_from(stage.ALKALIS)
CARBONATE = st.sampled_from(["sodium carbonate", "potassium carbonate"])
STRENGTH = st.floats(0.2, 50)
TEMPERATURE = st.floats(5, 40)
FEW = examples(60)


@pytest.mark.parametrize(("temperature", "printed"), [(10, 14.535), (20, 14.167), (25, 13.995), (30, 13.833)])
def test_water_has_its_published_product(temperature, printed):
    """Harned and Owen, from memory."""
    assert stage.water_product(temperature) == pytest.approx(printed, abs=0.01)


@pytest.mark.parametrize(("temperature", "printed"), [(10, 10.490), (20, 10.377), (25, 10.329), (30, 10.290)])
def test_carbonic_acid_has_its_published_second_constant(temperature, printed):
    """Harned and Scholes 1941, from memory."""
    assert stage.second_constant(temperature) == pytest.approx(printed, abs=0.004)


@pytest.mark.parametrize(("temperature", "printed"), [(10, 10.179), (20, 10.062), (25, 10.012), (30, 9.966)])
def test_the_standard_carbonate_buffer_has_its_ph(temperature, printed):
    """0.025 mol/kg of each carbonate; pH standards of NIST and IUPAC, from memory."""
    from math import log

    ln = stage.activity_logarithms("sodium", 0.025, 0.025, 1e-4, temperature)
    ph = stage.second_constant(temperature) + (ln[0] - ln[1]) / log(10)
    assert ph == pytest.approx(printed, abs=0.06)


@pytest.mark.parametrize(
    ("cation", "anion", "molality", "printed"),
    [("sodium", "hydroxide", 0.1, 0.766), ("sodium", "hydroxide", 1.0, 0.678),
     ("potassium", "hydroxide", 0.1, 0.798), ("potassium", "hydroxide", 1.0, 0.756)],
)  # fmt: skip
def test_mean_activity_coefficients_of_hydroxides_are_those_of_the_handbooks(
    cation, anion, molality, printed
):
    """Robinson and Stokes, from memory. Of one salt alone the anion's Pitzer coefficient is the mean one."""
    from math import exp

    ln = stage.activity_logarithms(cation, 1e-12, 1e-12, molality, 25)
    assert exp(ln[2]) == pytest.approx(printed, rel=0.02)


@given(CARBONATE, STRENGTH, TEMPERATURE)
@FEW
def test_a_carbonate_gives_less_hydroxide_than_it_has_cations_and_activities_lower_it(
    salt, strength, degrees
):
    answer = stage.bath_hydroxide(salt, strength, degrees)
    molar = 1000 * strength / stage.MOLAR_MASSES[stage.alkali_place(salt)]
    assert 0 < answer["hydroxide"] < answer["hydroxide_ideal"] < molar


@given(SALT, STRENGTH, TEMPERATURE)
@FEW
def test_more_salt_gives_more_hydroxide_but_of_a_carbonate_ever_less_for_its_money(salt, strength, degrees):
    one = stage.bath_hydroxide(salt, strength / 2, degrees)["hydroxide"]
    two = stage.bath_hydroxide(salt, strength, degrees)["hydroxide"]
    assert one < two <= 2 * one * (1 + 1e-9)


@given(CARBONATE, STRENGTH, st.floats(5, 35))
@FEW
def test_warmth_raises_the_hydroxide_and_lowers_the_ph(salt, strength, degrees):
    cool = stage.bath_hydroxide(salt, strength, degrees)
    warm = stage.bath_hydroxide(salt, strength, degrees + 5)
    assert warm["hydroxide"] > cool["hydroxide"]
    assert warm["ph"] < cool["ph"]


@pytest.mark.parametrize("salt", ["sodium hydroxide", "potassium hydroxide"])
def test_a_hydroxide_gives_all_of_its_own(salt):
    molar = 1000 * 4 / stage.MOLAR_MASSES[stage.alkali_place(salt)]
    assert stage.bath_hydroxide(salt, 4.0, 20.0)["hydroxide"] == pytest.approx(molar, rel=1e-3)


@given(SALT, STRENGTH, TEMPERATURE, st.floats(0.5, 50))
@FEW
def test_the_limit_is_the_share_of_the_hydroxide(salt, strength, degrees, share):
    hydroxide = stage.bath_hydroxide(salt, strength, degrees)["hydroxide"]
    limit = stage.bath_chloride_limit(salt, strength, share, degrees)
    assert limit / stage.CHLORIDE / hydroxide == pytest.approx(share / 100)
    assert stage.bath_chloride_limit(salt, strength, 2 * share, degrees) == pytest.approx(2 * limit)


@given(SALT, st.floats(1, 50), st.floats(0.1, 100), st.floats(10, 5000), st.floats(1, 300))
@FEW
def test_more_bath_keeps_longer_and_more_air_shorter(salt, strength, volume, surface, path):
    with answered():
        time = stage.bath_carbonation(salt, strength, volume, surface, path)["time"]
        assert stage.bath_carbonation(salt, strength, 2 * volume, surface, path)["time"] == pytest.approx(
            2 * time
        )
        assert stage.bath_carbonation(salt, strength, volume, 2 * surface, path)["time"] == pytest.approx(
            time / 2
        )
        if path <= 150:
            assert stage.bath_carbonation(salt, strength, volume, surface, 2 * path)["time"] > time


def test_at_the_bound_half_of_the_hydroxide_is_left():
    for salt in stage.ALKALIS:
        start = stage.hydrolysis(salt, 20, 20, 1, 0)[0]
        answer = stage.bath_carbonation(salt, 20.0, 3.0, 300.0, 5.0)
        taken = answer["time"] * answer["uptake"] * 300 / 10_000 / 3 / stage.WATER
        assert stage.hydrolysis(salt, 20, 20, 1, taken)[0] == pytest.approx(start / 2, rel=1e-6)


@pytest.mark.parametrize(("written", "reason"), [("baking soda", "too weakly"), ("table salt", "chloride")])
def test_what_is_no_bath_is_refused_with_its_reason(written, reason):
    with pytest.raises(BadInput, match=reason):
        Bench(None).ask("bath-hydroxide", salt=written, strength="20 g/L", temperature="20 degC")
