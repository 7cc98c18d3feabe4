"""Solvent and water that dry together: coefficients of a reference library, limits, what humidity does."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import examples
from thermo.unifac import DOUFIP2006, DOUFSG, UNIFAC

from handbook_calc import evaporation as stage
from handbook_calc.solvents import FLAMMABLE

GROUPS = {"2-propanol": {1: 2, 3: 1, 81: 1}, "ethanol": {1: 1, 2: 1, 14: 1}, "acetone": {1: 1, 18: 1}}
SHARES = (0.02, 0.1, 0.3, 0.5, 0.7, 0.9, 0.98)


@pytest.mark.parametrize("solvent", FLAMMABLE)
@pytest.mark.parametrize("temperature", [10, 20, 30])
def test_activity_coefficients_are_those_of_a_reference_library(solvent, temperature):
    """thermo, modified UNIFAC (Dortmund)."""
    mixture = stage.group_mixture(solvent, temperature)
    for share in SHARES:
        theirs = UNIFAC.from_subgroups(
            T=temperature + 273.15, xs=[share, 1 - share], chemgroups=[GROUPS[solvent], {16: 1}], version=1,
            interaction_data=DOUFIP2006, subgroups=DOUFSG,
        ).gammas()  # fmt: skip
        assert stage.group_coefficients(mixture, share) == pytest.approx(theirs, rel=1e-9)


@pytest.mark.parametrize("solvent", FLAMMABLE)
def test_a_pure_liquid_has_coefficient_one(solvent):
    mixture = stage.group_mixture(solvent, 20)
    assert stage.group_coefficients(mixture, 1)[0] == pytest.approx(1)
    assert stage.group_coefficients(mixture, 0)[1] == pytest.approx(1)
    mixture = stage.van_laar_mixture(solvent)
    assert stage.van_laar_coefficients(mixture, 1)[0] == 1
    assert stage.van_laar_coefficients(mixture, 0)[1] == 1


@pytest.mark.parametrize("solvent", FLAMMABLE)
def test_both_sets_fulfil_gibbs_and_duhem(solvent):
    """x1 dln(g1) + x2 dln(g2) = 0 at one temperature."""
    from math import log

    groups, van_laar = stage.group_mixture(solvent, 20), stage.van_laar_mixture(solvent)
    for coefficients in (
        lambda x: stage.group_coefficients(groups, x),
        lambda x: stage.van_laar_coefficients(van_laar, x),
    ):
        for share in (0.2, 0.5, 0.8):
            up, down = coefficients(share + 1e-5), coefficients(share - 1e-5)
            change = [log(up[k] / down[k]) for k in range(2)]
            assert share * change[0] + (1 - share) * change[1] == pytest.approx(0, abs=1e-9)


SOLVENT = st.sampled_from(FLAMMABLE)


def left(solvent, percent, humidity, temperature=20.0):
    return stage.last_bath(solvent, percent, humidity, temperature, None)["water_left"]


@given(SOLVENT, st.floats(25, 99.9), st.floats(0, 90), st.floats(0.5, 5))
@examples(30)
def test_damper_air_leaves_more_water(solvent, percent, humidity, more):
    assert left(solvent, percent, humidity + more) >= left(solvent, percent, humidity) - 1e-9


@given(SOLVENT, st.floats(20, 99), st.floats(0.1, 1), st.floats(0, 95))
@examples(30)
def test_a_weaker_bath_leaves_more_water(solvent, percent, more, humidity):
    assert left(solvent, percent, humidity) >= left(solvent, percent + more, humidity) - 0.02


@given(SOLVENT, st.floats(0, 95), st.floats(10, 30))
@examples(30)
def test_water_stays_within_the_crack(solvent, humidity, temperature):
    answer = stage.last_bath(solvent, 60.0, humidity, temperature, None)
    assert 0 <= answer["water_left"] <= answer["water_most"] < 100


def test_dry_solvent_in_dry_air_leaves_nothing():
    for solvent in FLAMMABLE:
        assert left(solvent, 100.0, 0.0) == 0


@pytest.mark.parametrize("solvent", FLAMMABLE)
@pytest.mark.parametrize("percent", [99.5, 93.8, 70.0])
@pytest.mark.parametrize("humidity", [20.0, 50.0, 80.0])
def test_more_steps_change_nothing(monkeypatch, solvent, percent, humidity):
    """Below a thousandth of what is printed to two digits, the most on the way included."""
    coarse = stage.last_bath(solvent, percent, humidity, 20.0, None)
    monkeypatch.setattr(stage, "STEPS", 480)
    fine = stage.last_bath(solvent, percent, humidity, 20.0, None)
    for name in ("water_left", "water_left_other", "water_most"):
        assert coarse[name] == pytest.approx(fine[name], rel=1e-3, abs=1e-4)


def test_the_boiling_azeotrope_does_not_tell_which_side_dries():
    """2-propanol well on its wet side dries in a dry room; ethanol on its dry side does not in a damp one."""
    assert left("2-propanol", 80.0, 10.0) < 0.5
    assert left("ethanol", 97.0, 65.0) > 3


def test_the_mixture_that_dries_unchanged_in_dry_air():
    """Van Laar at 20 degC, dry still air: 61.8, 73.3, 99.3 % by mass; an independent set of vapour pressures."""
    from handbook_calc.solvents import solvent_place

    for solvent, printed in (("2-propanol", 61.8), ("ethanol", 73.3), ("acetone", 99.3)):
        place = solvent_place(solvent)
        low, high = 30.0, 99.99
        for _ in range(60):
            percent = (low + high) / 2
            share = stage.mole_share(place, percent)
            ratio = stage.flux_ratio(stage.van_laar_mixture(solvent), share, stage.water_lead(place, 20), 0)
            water_first = ratio > (1 - share) / share
            low, high = (low, percent) if water_first else (percent, high)
        assert low == pytest.approx(printed, abs=0.6)


def test_its_verdict_says_what_is_left_and_what_to_do():
    from handbook_calc.engine.bench import Bench

    answer = Bench(None).ask("last-bath", solvent="ethanol", mass_percent="93.8 %", humidity="50 %",
                             temperature="20 degC", water_limit="1 %")  # fmt: skip
    assert answer.results["verdict"] == "leaves water"
    sentence = answer.calculation.result("verdict").sentence("leaves water", answer.given())
    assert "drier air" in sentence
