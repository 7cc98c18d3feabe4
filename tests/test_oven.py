"""Oven: limits, monotony, inverse pairs, refusals, house rules, and textbook cases of its parts."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import differing, examples, numbers_in

from handbook_calc import oven, solvents
from handbook_calc.alcohol import (
    flammable_limit,
    vapour_pressure,
)
from handbook_calc.engine import house, stages
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.faults import BadInput, HouseFaults, Refusal
from handbook_calc.engine.subset import complaints
from handbook_calc.engine.tables import TABLES, Refused, Span
from handbook_calc.oven import (
    balance_needed,
    constant_mass,
    crack_drying_time,
    heat_up_time,
    oven_humidity,
    oven_solvent,
    oven_vapour,
    ramp_time,
    stefan_seconds,
)
from handbook_calc.solvents import FLAMMABLE, solvent_place

stages.load()
SOME = examples(60)
NO_HOUSE = Bench(None)
SOLVENT = st.sampled_from(FLAMMABLE)


def ask(name, **written):
    answer = NO_HOUSE.ask(name, **written)
    return answer.results if len(answer.results) > 1 else next(iter(answer.results.values()))


def refused(call, *arguments):
    with pytest.raises(Refusal) as caught:
        call(*arguments)
    assert len(str(caught.value)) > 30
    assert "{" not in str(caught.value)
    return caught.value.code


# --- vapour and fire ---------------------------------------------------------------------------


@given(SOLVENT, st.floats(0.01, 500), st.floats(5, 500), st.floats(20, 150))
@SOME
def test_oven_verdict_stops_whenever_the_share_is_passed(solvent, mass, volume, temperature):
    found = oven_vapour(solvent, mass, volume, temperature, 25.0)
    assert 0 < found["concentration"] <= 100
    if found["share_of_limit"] > 25:
        assert found["verdict"] == "stop"
        assert ["share"] in found["reasons"]
    if found["verdict"] == "go":
        assert found["share_of_limit"] <= 25
    more = oven_vapour(solvent, 2 * mass, volume, temperature, 25.0)
    assert more["concentration"] >= found["concentration"]


@given(SOLVENT, st.floats(5, 500), st.floats(30, 150), st.floats(1, 25))
@SOME
def test_oven_solvent_is_the_amount_at_the_share(solvent, volume, temperature, share):
    allowed = oven_solvent(solvent, volume, temperature, share)["mass"]
    found = oven_vapour(solvent, allowed, volume, temperature, 25.0)
    assert found["share_of_limit"] == pytest.approx(share, rel=1e-9)


def test_the_air_of_the_coldest_oven_can_hold_more_than_any_safety_share():
    """So there is always an amount that reaches the share: a quarter of the lower limit at 10 degC."""
    for solvent in FLAMMABLE:
        lower = flammable_limit(solvent, 10.0)["lower"]
        assert 100 * vapour_pressure(solvent, 10.0) / 101.325 > lower / 2
        amount = oven_solvent(solvent, 50.0, 10.0, 25.0)["mass"]
        assert oven_vapour(solvent, amount, 50.0, 10.0, 25.0)["share_of_limit"] == pytest.approx(25)


def test_a_solvent_wet_piece_is_kept_out_of_the_oven_with_reasons():
    # Less than a millilitre brings a closed 50 L oven to a quarter of the limit: arithmetic on the
    # lower limits of IEC 60079-20-1 and NFPA 497.
    for solvent in FLAMMABLE:
        assert 0.5 < oven_solvent(solvent, 50.0, 80.0, 25.0)["volume"] < 1
    wet = NO_HOUSE.ask(
        "oven-vapour", solvent="acetone", solvent_mass="50 g", oven_volume="50 L",
        temperature="80 degC", safety_share="25 %",
    )  # fmt: skip
    assert wet.results["verdict"] == "stop"
    text = wet.show("reasons")
    assert "can light it" in text
    assert "door opens" in text
    assert "moving air" in wet.calculation.result("verdict").sentence("stop", wet.given())


def test_air_takes_up_no_more_than_saturation():
    found = oven_vapour("2-propanol", 1000.0, 50.0, 20.0, 25.0)
    assert found["concentration"] == pytest.approx(
        100 * vapour_pressure("2-propanol", 20.0) / 101.325, rel=1e-9
    )
    assert ["saturated"] in found["reasons"]
    assert oven_vapour("acetone", 5000.0, 10.0, 60.0, 25.0)["concentration"] == 100


def test_safety_share_above_a_quarter_is_refused():
    with pytest.raises(BadInput, match="safety_share"):
        oven_vapour("ethanol", 1.0, 50.0, 80.0, 25.1)


# --- warming -----------------------------------------------------------------------------------

METAL = (470.0, 7.85, 27.0, 150.0)


@given(st.floats(20, 5000), st.floats(10, 2000), st.floats(5, 60), st.floats(1, 40))
@SOME
def test_warming_and_cooling_over_the_same_step_take_the_same_time(mass, area, start, gap):
    up = heat_up_time(mass, area, start, 80.0, 80 - gap * (80 - start) / 41, 11.0, *METAL)
    down = heat_up_time(mass, area, 80.0, start, start + gap * (80 - start) / 41, 11.0, *METAL)
    assert up["time"] == pytest.approx(down["time"], rel=1e-9)
    assert heat_up_time(2 * mass, area, start, 80.0, 79.0, 11.0, *METAL)["time"] == pytest.approx(
        2 * heat_up_time(mass, area, start, 80.0, 79.0, 11.0, *METAL)["time"], rel=1e-12
    )


@given(st.floats(25, 78))
@SOME
def test_nearer_the_oven_takes_longer(target):
    def minutes(goal):
        return heat_up_time(186.0, 98.0, 20.0, 80.0, goal, 11.0, *METAL)["time"]

    assert minutes(target) < minutes(target + 1)


def test_no_time_to_stay_where_it_is():
    assert heat_up_time(186.0, 98.0, 20.0, 80.0, 20.0, 11.0, *METAL)["time"] == 0


def test_heating_refuses_targets_it_never_reaches():
    for target in (80.0, 80.001, 90.0):
        assert refused(heat_up_time, 186.0, 98.0, 20.0, 80.0, target, 11.0, *METAL) == "never"
    assert refused(heat_up_time, 186.0, 98.0, 80.0, 20.0, 20.0, 11.0, *METAL) == "never"
    assert refused(heat_up_time, 186.0, 98.0, 70.0, 80.0, 95.0, 11.0, *METAL) == "never"
    assert refused(heat_up_time, 186.0, 98.0, 20.0, 80.0, 15.0, 11.0, *METAL) == "backwards"
    assert refused(heat_up_time, 186.0, 98.0, 20.0, 20.0, 60.0, 11.0, *METAL) == "backwards"


def test_half_of_the_gap_takes_the_time_constant_times_the_logarithm_of_two():
    """0.186 kg x 470 J/kg/K over 11 W/m2/K x 0.0098 m2."""
    seconds = 0.186 * 470 / (11 * 0.0098) * math.log(2)
    found = heat_up_time(186.0, 98.0, 20.0, 80.0, 50.0, 11.0, *METAL)
    assert found["time"] == pytest.approx(seconds / 60, rel=1e-12)


def test_heating_warns_of_a_lagging_inside_and_of_a_hot_oven():
    def warnings(coefficient, conductivity, oven):
        found = heat_up_time(2000.0, 200.0, 20.0, oven, 50.0, coefficient, 470.0, 7.85, conductivity, 150.0)
        return [entry[0] for entry in found["warnings"]]

    assert warnings(11.0, 27.0, 80.0) == []
    assert warnings(500.0, 27.0, 80.0) == ["biot"]
    assert warnings(11.0, 27.0, 160.0) == ["ceiling"]


def test_ramp_and_warmed_air():
    assert ramp_time(20.0, 80.0, 30.0) == pytest.approx(2)
    assert refused(ramp_time, 20.0, 20.0, 30.0) == "cooler"
    assert oven_humidity(20.0, 50.0, 20.0) == pytest.approx(50)
    assert oven_humidity(20.0, 0.0, 80.0) == 0
    assert refused(oven_humidity, 20.0, 90.0, 15.0) == "condenses"
    cooled = vapour_pressure("water", 15.0) / vapour_pressure("water", 20.0)
    assert oven_humidity(20.0, 99.5 * cooled, 15.0) == pytest.approx(99.5)
    assert refused(oven_humidity, 20.0, 100.5 * cooled, 15.0) == "condenses"


# --- a crack that dries out --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kelvin", "density", "pressure", "depth_to", "diffusivity"),
    # Anantharaman and Begum, Examples 2.19 and 2.21: toluene falls from 20 mm in 275 h.
    [(312.4, 0.850, 7.64, 80.0, 0.0915), (303.0, 0.820, 57 * 0.133322, 77.5, 0.0805)],
)
def test_fall_of_toluene_in_a_tube(kelvin, density, pressure, depth_to, diffusivity):
    seconds = stefan_seconds(
        density, 92.0, 20.0, depth_to, kelvin - 273.15, 101.3, diffusivity, 0, pressure / 101.3
    )
    assert seconds / 3600 == pytest.approx(275, rel=0.01)


def test_slope_of_a_falling_level():
    # Coulson and Richardson, Example 10.2: time over fall against fall has slope 3.1e7 s/m2 for
    # carbon tetrachloride at 321 K and 37.6 kPa, which gave 9.17e-6 m2/s.
    slope = stefan_seconds(1.540, 154.0, 0, 1000, 47.85, 101.325, 0.0917, 0, 37.6 / 101.325)
    assert slope == pytest.approx(3.1e7, rel=0.02)


@pytest.mark.parametrize(("partial", "error"), [(37, 0.025), (395, 0.411)])
def test_logarithm_against_the_dilute_law(partial, error):
    # Cussler, Example 3.3.1: the dilute law is this much slower for benzene in 760 mmHg.
    share = partial / 760
    exact = stefan_seconds(0.88, 78.1, 0, 10, 20, 101.325, 0.09, 0, share)
    tiny = 1e-7
    dilute = stefan_seconds(0.88, 78.1, 0, 10, 20, 101.325, 0.09, 0, tiny) * tiny / share
    assert dilute / exact - 1 == pytest.approx(error, abs=0.002)


@pytest.mark.parametrize(
    ("solvent", "temperature", "diffusivity", "tolerance"),
    [
        ("water", 20, 0.250, 0.05),  # Geankoplis, Example 6.2-2
        ("water", 25, 0.256, 0.05),  # Holman, Table A-8
        ("water", 25, 0.26, 0.05),  # Incropera, Table A.8
        ("ethanol", 0, 0.102, 0.05),  # Treybal, Illustration 2.3, observed
        ("ethanol", 25, 0.1181, 0.05),  # Lugg, Analytical Chemistry 40 (1968) 1072 (memory)
        ("2-propanol", 25, 0.1013, 0.05),  # the same (memory)
        ("acetone", 25, 0.1049, 0.05),  # the same (memory)
    ],
)
def test_estimated_diffusivity_of_vapours(solvent, temperature, diffusivity, tolerance):
    found = solvents.fuller_diffusivity(solvent_place(solvent), temperature, 101.325)
    assert found == pytest.approx(diffusivity, rel=tolerance)


@given(st.floats(0.1, 20), st.floats(10, 50), st.floats(0, 95))
@SOME
def test_water_leaves_a_crack_faster_warm_and_slower_in_damp_air(depth, temperature, humidity):
    time = crack_drying_time("water", depth, temperature, humidity)
    assert crack_drying_time("water", depth, temperature + 1, humidity) < time
    assert crack_drying_time("water", depth, temperature, humidity + 1) > time
    assert crack_drying_time("water", 2 * depth, temperature, humidity) == pytest.approx(4 * time, rel=1e-9)


def test_fullers_estimate_worked_by_hand():
    """Water in air: diffusion volumes 13.1 and 19.7, masses 18.015 and 28.97, pressure in bar."""
    mass = 2 / (1 / 18.015 + 1 / 28.97)
    size = 13.1 ** (1 / 3) + 19.7 ** (1 / 3)
    for temperature, pressure in ((20.0, 101.325), (60.0, 80.0)):
        expected = 0.00143 * (temperature + 273.15) ** 1.75 / (pressure / 100 * mass**0.5 * size**2)
        found = solvents.fuller_diffusivity(solvent_place("water"), temperature, pressure)
        assert found == pytest.approx(expected, rel=2e-4)


@given(st.floats(5, 60), st.floats(0, 95))
@SOME
def test_a_crack_dries_by_stefans_law_in_plain_units(temperature, humidity):
    """Metres, moles and pascals: time = moles in a metre cubed x depth^2 / 2 over the flow."""
    kelvin = temperature + 273.15
    saturated = vapour_pressure("water", temperature) / 101.325
    flow = 101_325 / (8.314462618 * kelvin) * 0.25e-4
    flow *= math.log((1 - humidity / 100 * saturated) / (1 - saturated))
    place = solvent_place("water")
    moles = solvents.LIQUID_DENSITY[place] * 1e6 / solvents.MOLAR_MASS[place]
    expected = moles * 0.005**2 / 2 / flow / 3600
    found = crack_drying_time("water", 5.0, temperature, humidity, 101.325, 0.25)
    assert found == pytest.approx(expected, rel=1e-8)


def test_humidity_does_not_change_a_solvent():
    dry = crack_drying_time("ethanol", 3.0, 20.0)
    assert crack_drying_time("ethanol", 3.0, 20.0, 80.0) == dry


def test_solvents_leave_faster_than_water_in_the_order_of_their_vapour():
    times = [crack_drying_time(s, 5.0, 20.0, 0.0) for s in ("acetone", "ethanol", "2-propanol", "water")]
    assert times == sorted(times)


def test_crack_drying_refuses_boiling_and_air_that_takes_nothing():
    assert refused(crack_drying_time, "water", 5.0, 100.5, 5.0) == "boils"
    assert refused(crack_drying_time, "2-propanol", 5.0, 83.0) == "boils"
    assert refused(crack_drying_time, "water", 5.0, 40.0, 10.0, 7.0) == "boils"
    assert refused(crack_drying_time, "water", 5.0, 20.0, 100.0) == "no-drive"
    assert refused(crack_drying_time, "water", 5.0, 20.0) == "humidity"
    assert refused(crack_drying_time, "2-propanol", 5.0, 8.0) == "outside-data"
    assert refused(crack_drying_time, "acetone", 5.0, 78.0) == "outside-data"


# --- constant mass -----------------------------------------------------------------------------

RULE = (0.001, 0.2, 24.0, 2.0, 0.001, 20.0)
MASS = st.floats(50, 150)


def verdict(rows, *rule):
    return constant_mass([list(row) for row in rows], *(rule or RULE))["verdict"]


@given(MASS, st.floats(24, 200))
@SOME
def test_still_mass_is_dry_only_after_the_interval(mass, wait):
    assert verdict([(0, mass), (wait, mass)]) == "dry"
    assert verdict([(0, mass), (wait / 10, mass)]) == "not yet"


@given(MASS, st.floats(0.003, 1))
@SOME
def test_loss_and_gain_are_never_called_dry(mass, step):
    assert verdict([(0, mass + step), (24, mass)]) == "not yet"
    assert verdict([(0, mass), (24, mass + step)]) == "gaining"


@given(MASS, st.floats(0.0101, 1))
@SOME
def test_a_coarse_balance_never_proves_dryness(mass, resolution):
    steps = round(mass / resolution)
    rows = [(24 * n, steps * resolution) for n in range(4)]
    assert verdict(rows, resolution, 0.1, 24.0, 2.0, 0.001, 20.0) == "too coarse"


@given(st.floats(20, 5000), st.floats(0.05, 1))
@SOME
def test_the_balance_asked_for_is_just_fine_enough(mass, water):
    if 0.001 / 100 * mass > 0.2 * water:
        assert refused(balance_needed, mass, water, 2.0, 0.001, 20.0) == "drift"
        return
    step = balance_needed(mass, water, 2.0, 0.001, 20.0) / 1000
    rows = [(0, mass), (24, mass)]
    if water <= mass / 10:
        assert verdict(rows, step * 0.999, water, 24.0, 2.0, 0.001, 20.0) == "dry"
        assert verdict(rows, step * 1.001, water, 24.0, 2.0, 0.001, 20.0) == "too coarse"


def test_a_rise_after_the_lowest_weighing_is_a_warning():
    rows = [(0, 120.0), (24, 119.900), (48, 119.890), (72, 119.910)]
    found = constant_mass([list(row) for row in rows], *RULE)
    assert found["verdict"] == "gaining"
    assert found["reasons"] == [["rising", pytest.approx(0.02)]]


def test_scatter_between_the_weighings_is_no_proof():
    assert verdict([(0, 100.0), (12, 100.01), (24, 100.0)]) == "not yet"


def test_readings_at_the_border_count_as_still():
    assert verdict([(0, 120.5), (24, 120.498)]) == "dry"
    assert verdict([(0, 120.5), (24, 120.497)]) == "not yet"


def test_a_change_that_is_not_seen_as_one_is_still_in_either_direction():
    """Two steps of 1 mg are allowed, up as well as down; 3 mg are not."""
    for step in (-0.002, -0.001, 0, 0.001, 0.002):
        assert verdict([(0, 120.5), (24, 120.5 + step)]) == "dry"
    assert verdict([(0, 120.5), (24, 120.503)]) == "gaining"


def test_before_the_interval_is_over_the_first_weighing_is_compared():
    found = constant_mass([[100, 100.02], [105, 100.0], [110, 100.0]], *RULE)
    assert found["change"] == pytest.approx(-0.02)
    assert found["reasons"] == [["falling", pytest.approx(0.02)]]
    still = constant_mass([[100, 100.0], [105, 100.0], [110, 100.0]], *RULE)
    assert still["verdict"] == "not yet"
    assert still["reasons"] == [["early", 10]]


@pytest.mark.parametrize(("hours", "found"), [(23.5, "not yet"), (24.0, "dry")])
def test_the_interval_is_kept_to_the_half_hour(hours, found):
    assert verdict([(50, 100.0), (50 + hours, 100.0)]) == found


def test_the_latest_weighing_that_is_old_enough_is_compared():
    found = constant_mass([[0, 100.02], [20, 100.0], [24, 100.0]], *RULE)
    assert found["reasons"] == [["falling", pytest.approx(0.02)]]
    found = constant_mass([[0, 100.02], [20, 100.0], [44, 100.0]], *RULE)
    assert (found["verdict"], found["change"]) == ("dry", 0)


def test_a_balance_that_can_just_show_it_is_fine_enough():
    """Two steps of 10 mg are a fifth of 0.1 g."""
    rows = [(0, 100.0), (24, 100.0)]
    assert verdict(rows, 0.01, 0.1, 24.0, 2.0, 0.001, 20.0) == "dry"
    assert verdict(rows, 0.01, 0.0999, 24.0, 2.0, 0.001, 20.0) == "too coarse"


def test_a_piece_too_heavy_to_be_proved_dry_is_told_its_drift():
    """0.001 % of 5 kg is 50 mg; a fifth of 0.2 g is 40 mg."""
    with pytest.raises(Refusal) as caught:
        balance_needed(5000.0, 0.2, 2.0, 0.001, 20.0)
    assert numbers_in(caught.value.message) == [5000, 0.05, 0.04]


@pytest.mark.parametrize(("guess", "fits"), [(0.095, True), (0.1, True), (0.105, False)])
def test_more_than_a_tenth_of_the_piece_is_no_crack_water(guess, fits):
    rows = [[0, 1.0], [24, 1.0]]
    if fits:
        assert constant_mass(rows, 0.001, guess, *RULE[2:])["verdict"] == "dry"
    else:
        assert refused(constant_mass, rows, 0.001, guess, *RULE[2:]) == "guess"


def test_weighings_that_cannot_be_right_are_refused():
    def call(rows):
        return refused(constant_mass, [list(row) for row in rows], *RULE)

    assert call([(24, 100.0), (0, 100.0)]) == "times"
    assert call([(0, 100.0), (0, 100.0)]) == "times"
    assert call([(0, 186.0), (24, 6.56)]) == "other-piece"
    assert refused(constant_mass, [[0, 1.0], [24, 1.0]], *RULE) == "guess"
    with pytest.raises(BadInput, match="rows"):
        constant_mass([[0, 100.0]], *RULE)


def test_the_too_coarse_verdict_says_what_to_do_instead():
    answer = NO_HOUSE.ask(
        "constant-mass", weighings="0 h 186.1 g; 24 h 186.1 g", resolution="0.1 g",
        crack_water_guess="0.2 g", interval="24 h", divisions="2", mass_drift="0.001 %",
        proof_share="20 %",
    )  # fmt: skip
    declared = answer.calculation.result("verdict")
    assert "sealed dry box" in declared.sentence(answer.results["verdict"], answer.given())


# --- units -------------------------------------------------------------------------------------

SAME = [
    ("heat-up-time", {"mass": "6.5 oz_avdp", "target": "172.4 degF"},
     {"mass": "184.2719003125 g", "target": "78 degC"}, "time",
     {"area": "98 cm^2", "start": "20 degC", "oven": "80 degC", "coefficient": "11 W/m^2/K",
      "specific_heat": "470 J/kg/K", "density": "7.85 g/cm^3", "conductivity": "27 W/m/K",
      "ceiling": "150 degC"}),
    ("crack-drying-time", {"depth": "0.2 in", "temperature": "104 degF"},
     {"depth": "5.08 mm", "temperature": "40 degC"}, "time",
     {"solvent": "water", "humidity": "10 %"}),
    ("oven-vapour", {"solvent_mass": "0.05 oz_avdp"}, {"solvent_mass": "1.41747615625 g"},
     "concentration",
     {"solvent": "ethanol", "oven_volume": "50 L", "temperature": "80 degC", "safety_share": "25 %"}),
    ("constant-mass", {"weighings": "0 d 6.5 oz_avdp; 1 d 6.5 oz_avdp"},
     {"weighings": "0 h 184.2719003125 g; 24 h 184.2719003125 g"}, "allowed",
     {"resolution": "1 mg", "crack_water_guess": "0.2 g", "interval": "1 d", "divisions": "2",
      "mass_drift": "0.001 %", "proof_share": "20 %"}),
]  # fmt: skip


@pytest.mark.parametrize(("name", "one", "other", "result", "rest"), SAME)
def test_units_do_not_change_the_answer(name, one, other, result, rest):
    first, second = (NO_HOUSE.ask(name, **(rest | way)).results[result] for way in (one, other))
    assert first == pytest.approx(second, rel=1e-9)


# --- the house's side --------------------------------------------------------------------------


@pytest.fixture(scope="module")
def standard():
    return house.load()


@pytest.mark.parametrize(
    ("changes", "key"),
    [
        ({"oven_temperature": "130 degC", "oven_ceiling": "120 degC"}, "drying.oven_temperature"),
        ({"oven_proof": "70 degC"}, "drying.oven_proof"),
        ({"oven_volume": "5 L", "safety_share": "5 %"}, "drying.oven_volume"),
        ({"air_dry": "1 h"}, "drying.air_dry"),
        ({"coefficient": "4 W/m^2/K (5 to 15)"}, "drying.coefficient"),
        ({"balance": "0.1 g"}, "drying.balance"),
        ({"oven_ceiling": "180 degC"}, "drying.oven_ceiling"),
    ],
)
def test_unsafe_house_values_are_refused(tmp_path, changes, key):
    path = differing(tmp_path, {f"drying.{name}": value for name, value in changes.items()})
    with pytest.raises(HouseFaults) as caught:
        house.load(overlay=path)
    faults = [fault for fault in str(caught.value).splitlines() if f"{key}:" in fault]
    assert faults
    assert all("allowed" in fault for fault in faults)


def test_every_table_fills_and_marks_what_it_forbids(standard):
    mine = {name: table.compute(standard) for name, table in TABLES.items() if table.stage == "oven"}
    assert len(mine) >= 4
    for table in mine.values():
        assert table.rows
        assert len(table.columns) <= 8
        assert table.calculations
    assert all(isinstance(cell, Span) for cell in mine["heat-up-times"].rows[0][1:-2])
    assert any(isinstance(cell, Refused) for row in mine["balance-needed"].rows for cell in row)
    notes = " ".join(note for table in mine.values() for note in table.notes)
    for word in ("weighings on a fine enough balance", "moving air"):
        assert word in notes


@pytest.mark.parametrize("name", [n for n, c in CATALOGUE.items() if c.stage == "oven"])
def test_formulas_stay_inside_the_subset(name):
    assert complaints(CATALOGUE[name].kernel) == []


@pytest.mark.parametrize(
    ("round_piece", "biot", "root", "first"),
    [(False, 0.01, 0.0998, 1.0017), (False, 0.1, 0.3111, 1.0161), (False, 0.5, 0.6533, 1.0701),
     (True, 0.01, 0.1730, 1.0030), (True, 0.1, 0.5423, 1.0298), (True, 0.3, 0.9208, 1.0880)],
)  # fmt: skip
@pytest.mark.parametrize("gap_ratio", [10.0, 100.0])
def test_the_middle_of_a_thick_piece_follows_the_printed_roots(round_piece, biot, root, first, gap_ratio):
    """Cengel, Heat Transfer, Table 4-2."""
    fourier = math.log(first * gap_ratio) / root**2
    assert oven.middle_fourier(round_piece, biot, gap_ratio) == pytest.approx(fourier, rel=2e-3)


@given(st.booleans(), st.floats(-7, 6))
@SOME
def test_the_root_of_the_middle_is_that_of_a_root_finder(round_piece, power):
    """scipy, brentq."""
    from scipy.optimize import brentq

    biot = 10.0**power

    def miss(x):
        return (
            math.sin(x) * (1 - biot) - x * math.cos(x)
            if round_piece
            else x * math.sin(x) - biot * math.cos(x)
        )

    angle = oven.first_angle(round_piece, biot)
    theirs = brentq(miss, angle * 0.9, min(angle * 1.1, math.pi if round_piece else math.pi / 2))
    assert angle == pytest.approx(theirs, rel=1e-6)


def test_the_middle_of_a_piece_that_is_hardly_cooled_is_warm_with_the_rest():
    """Lumped: Fourier number = ln(ratio) / Biot for a wall, / (3 Biot) for a sphere."""
    for biot in (1e-12, 1e-7, 0.9999e-6, 1.0001e-6):
        assert oven.middle_fourier(False, biot, 5.0) * biot == pytest.approx(math.log(5), rel=1e-5)
        assert oven.middle_fourier(True, biot, 5.0) * 3 * biot == pytest.approx(math.log(5), rel=1e-5)


@given(st.floats(1, 200), st.floats(0.5, 5), st.sampled_from([None, "slab", "sphere"]))
@SOME
def test_the_middle_is_never_there_first(coefficient, mass, shape):
    found = ask_heat(coefficient, 1000 * mass, shape)
    assert found["time_inside"] >= found["time"]


def ask_heat(coefficient, mass, shape):
    return oven.heat_up_time(mass, 300.0, 20.0, 105.0, 100.0, coefficient, 450.0, 7.88, 30.0, 110.0, shape)


def test_a_thin_slice_is_warm_through_all_along():
    found = ask_heat(10.0, 500.0, "slab")
    assert found["time_inside"] == pytest.approx(found["time"], rel=0.01)
