"""Storage: limits, monotony, inverse pairs, units, traps and refusals."""

import itertools
import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from support import answered, changed_house, examples, numbers_in

from handbook_calc import moist_air, storage
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.faults import BadInput, HouseFaults, Refusal
from handbook_calc.engine.tables import TABLES, Mark, Refused, Span

SOME = examples(60)
WARM = st.floats(0, 60)
HUMIDITY = st.floats(0, 100)
ROOM = st.floats(35, 90)
LIMIT = st.floats(6, 30)
CHANGES = st.floats(0.01, 5)
VOLUME = st.floats(0.1, 500)
MASS = st.floats(5, 5000)


def ask(name, **written):
    return Bench(None).ask(name, **written)


# Water in air


@given(st.floats(0, 99), st.floats(0.01, 1))
@SOME
def test_warmer_water_has_more_vapour(temperature, step):
    assert storage.water_pressure(temperature + step) > storage.water_pressure(temperature)


@given(WARM)
@SOME
def test_magnus_form_stays_within_its_known_error(temperature):
    ours = storage.water_pressure(temperature)
    assert moist_air.saturation_pressure_water(temperature) == pytest.approx(ours, rel=0.0032)


def test_magnus_form_alone_would_miss_a_tenth_of_a_per_cent():
    ours = storage.water_pressure(25)
    assert abs(moist_air.saturation_pressure_water(25) / ours - 1) > 0.002


def test_below_freezing_is_refused_with_the_reason():
    with pytest.raises(BadInput, match="frost point is no dew point"):
        ask("saturation-pressure", temperature="-0.1 degC")
    assert ask("saturation-pressure", temperature="0 degC").results["pressure"] > 611


@given(WARM, HUMIDITY)
@SOME
def test_water_content_is_proportional_to_humidity(temperature, humidity):
    full = storage.absolute_humidity(temperature, 100)
    got = storage.absolute_humidity(temperature, humidity)
    assert got == pytest.approx(full * humidity / 100)


@pytest.mark.parametrize(("celsius", "fahrenheit"), [("20 degC", "68 degF"), ("5 degC", "41 degF")])
def test_same_answer_in_fahrenheit(celsius, fahrenheit):
    for name, more in (("saturation-pressure", {}), ("absolute-humidity", {"humidity": "40 %"})):
        one = ask(name, temperature=celsius, **more).results
        other = ask(name, temperature=fahrenheit, **more).results
        assert one == pytest.approx(other, rel=1e-12)


# Closed box


@given(WARM, st.floats(0.1, 100), WARM)
@SOME
def test_a_rigid_box_is_drier_than_a_soft_bag_when_cooled(temperature, humidity, new):
    answer = storage.closed_box_humidity(temperature, humidity, new)
    ratio = (new + 273.15) / (temperature + 273.15)
    if answer["vented_humidity"] < 100 and answer["humidity"] < 100:
        assert answer["humidity"] == pytest.approx(answer["vented_humidity"] * ratio)


@given(WARM, st.floats(0.1, 100), WARM)
@SOME
def test_dew_is_called_where_water_condenses_and_nowhere_else(temperature, humidity, new):
    answer = storage.closed_box_humidity(temperature, humidity, new)
    held = storage.absolute_humidity(temperature, humidity)
    room_for = storage.absolute_humidity(new, 100)
    assert answer["condensate"] == pytest.approx(max(0, held - room_for), abs=1e-9)
    if abs(held - room_for) > 1e-6:
        assert (answer["verdict"] == "dew") == (held > room_for)
    assert answer["humidity"] <= 100
    assert (answer["humidity"] == 100) <= (answer["verdict"] in ("dew", "near"))


@given(WARM, st.floats(0.1, 100))
@SOME
def test_cooled_to_its_dew_temperature_a_rigid_box_is_just_saturated(temperature, humidity):
    dew = storage.closed_box_humidity(temperature, humidity, temperature)["dew_temperature"]
    if dew is None:
        assert storage.absolute_humidity(temperature, humidity) < storage.absolute_humidity(0, 100)
    else:
        answer = storage.closed_box_humidity(temperature, humidity, dew)
        assert answer["humidity"] == pytest.approx(100, abs=1e-6)


@pytest.mark.parametrize(
    ("share", "verdict"), [(1.005, "dew"), (0.995, "near"), (0.905, "near"), (0.895, "dry")]
)
def test_a_rigid_box_is_judged_by_the_water_it_holds(share, verdict):
    """Cooled by 5 degC, the same water is `share` of what the air can hold there."""
    full = storage.absolute_humidity(20, 100)
    humidity = 100 * share * storage.absolute_humidity(15, 100) / full
    answer = storage.closed_box_humidity(20, humidity, 15)
    assert answer["verdict"] == verdict
    assert answer["humidity"] == pytest.approx(min(100, 100 * share))


@pytest.mark.parametrize(("soft", "verdict"), [(100.5, "near"), (99.5, "dry")])
def test_a_soft_bag_that_saturates_is_near_even_where_a_rigid_box_is_not(soft, verdict):
    """The bag keeps its vapour pressure; cooled from 60 to 25 degC a rigid box loses a tenth of it."""
    humidity = soft * storage.water_pressure(25) / storage.water_pressure(60)
    answer = storage.closed_box_humidity(60, humidity, 25)
    assert answer["humidity"] == pytest.approx(soft * 298.15 / 333.15)
    assert answer["humidity"] < 90
    assert answer["verdict"] == verdict
    assert answer["vented_humidity"] == pytest.approx(min(100, soft))


def test_saturated_air_kept_as_warm_loses_no_water():
    answer = storage.closed_box_humidity(20, 100, 20)
    assert (answer["verdict"], answer["condensate"]) == ("near", 0)
    assert answer["vented_humidity"] == 100


def test_dew_ends_at_zero_where_frost_begins():
    at_zero = 100 * storage.absolute_humidity(0, 100) / storage.absolute_humidity(20, 100)
    assert storage.closed_box_humidity(20, at_zero * 0.998, 20)["dew_temperature"] is None
    just_above = storage.closed_box_humidity(20, at_zero * 1.002, 20)["dew_temperature"]
    assert 0 < just_above < 0.1


def test_dry_box_has_no_dew_temperature_but_a_sentence():
    answer = ask("closed-box-humidity", temperature="20 degC", humidity="12 %", new_temperature="5 degC")
    assert answer.results["dew_temperature"] is None
    assert "frost" in answer.show("dew_temperature")


@given(st.floats(5, 30), st.floats(1, 40), st.floats(0, 30))
@SOME
def test_a_box_warmed_and_cooled_again_is_as_before(temperature, humidity, rise):
    warm = storage.closed_box_humidity(temperature, humidity, temperature + rise)["humidity"]
    back = storage.closed_box_humidity(temperature + rise, warm, temperature)["humidity"]
    assert back == pytest.approx(humidity)


# Salts


@pytest.mark.parametrize(("temperature", "humidity"), [(15, 43.15), (25, 43.16)])
def test_potassium_carbonate_to_two_decimals(temperature, humidity):
    """The first coefficient is often copied with a minus sign, which gives 43.11 and 43.09."""
    got = storage.salt_humidity("potassium carbonate", temperature)["humidity"]
    assert round(got, 2) == humidity


def test_salts_in_their_order_of_humidity_at_every_temperature():
    for temperature in (10, 17.5, 20, 25, 30):
        found = [storage.salt_humidity(name, temperature)["humidity"] for name in storage.SALTS]
        assert found == sorted(found)


@pytest.mark.parametrize("written", ["K2CO3", "potassium carbonate", "Potassium  Carbonate", "k2co3"])
def test_a_salt_by_its_formula_and_by_its_name(written):
    answer = ask("salt-humidity", salt=written, temperature="77 degF").results
    assert answer["humidity"] == pytest.approx(43.16)
    assert answer["uncertainty"] == pytest.approx(0.39)


def test_other_spellings_of_salts():
    for written, name in (("table salt", "sodium chloride"), ("potassium sulfate", "potassium sulphate")):
        expected = storage.salt_humidity(name, 20)
        assert ask("salt-humidity", salt=written, temperature="20 degC").results == expected


def test_an_unknown_salt_is_told_with_those_there_are_and_not_with_a_neighbour():
    with pytest.raises(BadInput, match="is not a known salt; allowed is one of"):
        ask("salt-humidity", salt="potassium carbonat", temperature="20 degC")


@pytest.mark.parametrize(("salt", "temperature"), [("potassium acetate", 9), ("potassium acetate", 31),
                                                    ("potassium carbonate", 31)])  # fmt: skip
def test_no_fixed_point_is_made_up(salt, temperature):
    with pytest.raises(Refusal, match=f"no fixed point of {salt}.*take another salt") as caught:
        storage.salt_humidity(salt, temperature)
    # Greenspan's table has potassium acetate from 10 to 30 degC.
    if salt == "potassium acetate":
        assert numbers_in(caught.value.message) == [temperature, 10, 30]


@given(st.sampled_from(storage.SALTS), st.floats(10, 30))
@SOME
def test_a_salt_between_two_points_lies_between_them(salt, temperature):
    low = math.floor(temperature / 5) * 5
    ends = [storage.salt_humidity(salt, t)["humidity"] for t in (low, min(low + 5, 30))]
    got = storage.salt_humidity(salt, temperature)["humidity"]
    assert min(ends) - 1e-9 <= got <= max(ends) + 1e-9


# Hygrometer

PAIRS = [[11.3, 15.0], [33.1, 35.0], [75.5, 73.0]]


def correct(pairs, reading, age: float | None = 10.0, limit=None):
    return storage.hygrometer_correction(pairs, reading, 1.0, 3.0, age, 180.0, limit)


def codes(answer):
    return [entry[0] for entry in answer["warnings"]]


@given(st.integers(0, 2))
@SOME
def test_a_reading_over_a_salt_gives_the_salt(which):
    answer = correct(PAIRS, PAIRS[which][1])
    assert answer["corrected"] == pytest.approx(PAIRS[which][0])
    assert codes(answer) == []


@given(st.floats(15, 73), st.permutations(PAIRS))
@SOME
def test_order_of_the_salts_does_not_matter(reading, pairs):
    assert correct(pairs, reading) == correct(PAIRS, reading)


@given(st.floats(10.5, 77), st.floats(0.01, 1))
@SOME
def test_a_higher_reading_is_a_damper_box(reading, more):
    assert correct(PAIRS, reading + more)["corrected"] > correct(PAIRS, reading)["corrected"]


@given(HUMIDITY)
@SOME
def test_a_true_hygrometer_is_left_alone(reading):
    assert correct([[0.0, 0.0], [100.0, 100.0]], reading)["corrected"] == pytest.approx(reading)


@pytest.mark.parametrize(
    ("pairs", "reading", "corrected"),
    [
        # A hygrometer that reads far too high, and one that reads too low: salts and readings overlap.
        ([[11.0, 40.0], [33.0, 50.0], [75.0, 85.0]], 60.0, 45.0),
        ([[50.0, 40.0], [60.0, 45.0], [75.0, 55.0]], 42.0, 54.0),
        # Two salts that lie close together, and a reading between the two.
        ([[11.3, 20.0], [16.0, 25.0]], 22.5, 13.65),
        ([[33.0, 35.0], [33.5, 35.5]], 35.25, 33.25),
    ],
)
def test_the_two_salts_next_to_the_reading_are_used(pairs, reading, corrected):
    for order in itertools.permutations(pairs):
        assert correct(list(order), reading)["corrected"] == pytest.approx(corrected)


def test_one_salt_warns_and_reaches_ten_points_only():
    answer = correct([[33.1, 35.0]], 44.9)
    assert answer["corrected"] == pytest.approx(43.0)
    assert answer["warnings"] == [["one-salt", 33.1]]
    assert correct([[33.1, 35.0]], 45.0)["corrected"] == pytest.approx(43.1)
    with pytest.raises(Refusal, match="single check says nothing here; use a second salt") as caught:
        correct([[33.1, 35.0]], 45.1)
    assert numbers_in(caught.value.message) == [45.1, 10, 35]


def test_outside_the_salts_warns_then_refuses():
    answer = correct(PAIRS, 11.0)
    assert answer["corrected"] == pytest.approx(7.3)
    assert answer["warnings"] == [["outside", 11.3]]
    assert correct(PAIRS, 10.0)["corrected"] == pytest.approx(6.3)
    above = correct(PAIRS, 76.0)
    assert above["corrected"] == pytest.approx(78.5)
    assert above["warnings"] == [["outside", 75.5]]
    for pairs in itertools.permutations(PAIRS):
        with pytest.raises(Refusal, match="outside the salts' readings") as caught:
            correct(list(pairs), 9.9)
        assert numbers_in(caught.value.message) == [9.9, 5, 15, 73]
    with pytest.raises(Refusal, match="use a salt beyond it"):
        correct(PAIRS, 78.1)


@pytest.mark.parametrize(
    ("pairs", "reading", "ends"),
    [
        ([[50.0, 40.0], [60.0, 45.0], [75.0, 55.0]], 34.0, (40, 55)),  # reads low
        ([[11.0, 40.0], [33.0, 50.0], [45.0, 85.0]], 91.0, (40, 85)),  # reads high
    ],
)
def test_the_ends_named_are_readings_and_not_salts(pairs, reading, ends):
    for order in itertools.permutations(pairs):
        with pytest.raises(Refusal, match="outside the salts' readings") as caught:
            correct(list(order), reading)
        assert numbers_in(caught.value.message) == [reading, 5, *ends]


def test_contradicting_pairs_are_refused():
    for pairs in ([[33.0, 40.0], [75.0, 38.0]], [[33.0, 35.0], [33.0, 36.0]], [[33.0, 35.0], [75.0, 35.0]]):
        with pytest.raises(Refusal, match="contradict each other"):
            correct(pairs, 36.0)


def test_a_correction_below_dry_air_is_refused():
    with pytest.raises(Refusal, match="which no air has"):
        correct([[2.0, 8.0], [33.1, 35.0]], 5.0)


def test_a_correction_above_saturated_air_is_refused():
    with pytest.raises(Refusal, match="which no air has"):
        correct([[75.5, 70.0], [97.0, 95.0]], 98.5)
    assert correct([[0.0, 0.0], [100.0, 100.0]], 100.0)["corrected"] == 100


def test_warnings_of_age_and_limit():
    assert codes(correct(PAIRS, 40.0, None)) == ["check-age-unknown"]
    assert codes(correct(PAIRS, 40.0, 181.0)) == ["check-old"]
    assert codes(correct(PAIRS, 15.0, 180.0, 12.0)) == ["band-spans-limit"]
    assert codes(correct(PAIRS, 25.0, 180.0, 12.0)) == []


def test_pairs_as_people_write_them():
    answer = ask(
        "hygrometer-correction", pairs="11.3 % 15 %; 33.1 % 35 %", reading="25 %", point_error="1 %",
        sensor_error="3 %", check_period="180 d",
    )  # fmt: skip
    assert answer.results["corrected"] == pytest.approx(22.2)
    assert "date every check" in answer.show("warnings")


# Verdict


@given(st.sampled_from(storage.GRADES), HUMIDITY, HUMIDITY)
@SOME
def test_a_damper_box_never_gets_a_better_verdict(grade, one, other):
    order = ["inside", "alarm", "outside"]

    def rank(humidity):
        answer = storage.storage_verdict(grade, humidity, 3.0, 35.0, 20.0, 12.0, 2.0)
        return order.index(answer["verdict"])

    assert rank(min(one, other)) <= rank(max(one, other))


def test_grades_pick_their_limits():
    limits = [
        storage.storage_verdict(grade, 5.0, 3.0, 35.0, 20.0, 12.0, 2.0)["limit"] for grade in storage.GRADES
    ]
    assert limits == [35, 20, 20, 12, 12, 12]


def test_a_reading_within_the_error_of_the_limit_is_no_pass():
    assert storage.storage_verdict("G4", 9.5, 3.0, 35, 20, 12, 2)["verdict"] == "alarm"
    assert storage.storage_verdict("G4", 8.9, 3.0, 35, 20, 12, 2)["verdict"] == "inside"


def test_an_alarm_within_the_error_is_refused():
    for error in (10.0, 11.0):
        with pytest.raises(Refusal, match="use a better hygrometer"):
            storage.storage_verdict("G4", 5.0, error, 35, 20, 12, 2)


@pytest.mark.parametrize(
    ("humidity", "error", "verdict"),
    [
        (12.0, 1.0, "alarm"),
        (12.1, 1.0, "outside"),
        (10.1, 1.0, "alarm"),
        (10.0, 1.0, "inside"),
        (9.0, 3.0, "inside"),
    ],
)
def test_the_limit_and_the_alarm_are_themselves_allowed(humidity, error, verdict):
    assert storage.storage_verdict("G4", humidity, error, 35, 20, 12, 2)["verdict"] == verdict


# Gel


@given(st.floats(0, 88.9), st.floats(0.001, 0.1))
@SOME
def test_damper_air_puts_more_water_in_the_gel(humidity, step):
    more = storage.gel_moisture(humidity + step)["moisture"]
    assert more > storage.gel_moisture(humidity)["moisture"]


@given(st.floats(0, 89), MASS)
@SOME
def test_weighing_the_gel_gives_the_humidity_back(humidity, dry):
    water = storage.gel_moisture(humidity)["moisture"]
    answer = storage.gel_humidity(dry, dry * (1 + water / 100))
    assert answer["humidity"] == pytest.approx(humidity, abs=1e-6)
    assert answer["moisture"] == pytest.approx(water, abs=1e-9)


def test_gel_lighter_than_dry_and_soaked_gel_are_refused():
    with pytest.raises(Refusal, match="beads were lost"):
        storage.gel_humidity(100.0, 99.9)
    with pytest.raises(Refusal, match="used up; dry it now") as caught:
        storage.gel_humidity(100.0, 137.0)
    # The wettest measured point of the isotherm is 359.57 g/kg.
    assert numbers_in(caught.value.message) == [37, pytest.approx(35.957, abs=0.06)]


@given(VOLUME, CHANGES, st.floats(5, 1000), ROOM, LIMIT)
@SOME
def test_mass_and_life_of_gel_undo_each_other(volume, changes, days, room, limit):
    mass = storage.gel_mass(volume, changes, days, 20.0, room, limit, 25.0, 3.0)
    if not 1 <= mass["mass"] <= 37_000:
        return
    life = storage.gel_life(mass["mass"], volume, changes, 20.0, room, limit, 25.0, 3.0)
    assert life["days"] == pytest.approx(days)
    held = storage.gel_life(mass["reserve_mass"], volume, changes, 20.0, room, limit, 25.0, 3.0)
    assert held["recharge_after"] == pytest.approx(days)
    assert life["recharge_mass"] == pytest.approx(mass["mass"] + mass["water"])


@given(VOLUME, CHANGES, ROOM, LIMIT)
@SOME
def test_leaked_water_lies_between_its_bounds(volume, changes, room, limit):
    """The driving difference is the whole room at first, and room less limit at the end."""
    water = storage.gel_mass(volume, changes, 100.0, 20.0, room, limit, 0.0, 3.0)["water"]
    each = storage.leak_for_each_percent(volume, changes, 20.0) * 100
    assert each * (room - limit) < water < each * room


@given(MASS, CHANGES, ROOM, LIMIT, st.floats(1.01, 3))
@SOME
def test_gel_lasts_less_in_a_leakier_damper_or_drier_kept_box(mass, changes, room, limit, by):
    def life(changes, room, limit):
        with answered():
            return storage.gel_life(mass, 10.0, changes, 20.0, room, limit, 25.0, 3.0)["days"]

    usual = life(changes, room, limit)
    assert life(changes * by, room, limit) == pytest.approx(usual / by)
    assert life(changes, room + 3, limit) < usual
    assert life(changes, room, limit + 1) > usual


@pytest.mark.parametrize(
    ("room", "limit", "error", "sentence"),
    [
        (12.0, 12.0, 3.0, "leakage alone never breaks it"),
        (10.0, 12.0, 3.0, "leakage alone never breaks it"),
        (50.0, 5.5, 3.0, "use molecular sieve"),
        (50.0, 7.0, 7.0, "nobody could tell that it is kept"),
        (50.0, 7.0, 8.0, "nobody could tell that it is kept"),
    ],
)
def test_limits_that_gel_or_sensor_cannot_hold(room, limit, error, sentence):
    with pytest.raises(Refusal, match=sentence):
        storage.gel_mass(10.0, 1.0, 100.0, 20.0, room, limit, 25.0, error)
    with pytest.raises(Refusal, match=sentence):
        storage.gel_life(250.0, 10.0, 1.0, 20.0, room, limit, 25.0, error)


def test_gel_in_other_units():
    metric = {"box_volume": "10 L", "air_changes": "1 1/d", "days": "28 d", "room_temperature": "20 degC"}
    other = {"box_volume": "610.2374409473229 inch^3", "air_changes": "0.041666666666666664 1/h",
             "days": "4 week", "room_temperature": "68 degF"}  # fmt: skip
    shared = {"room_humidity": "50 %", "limit_humidity": "15 %", "reserve": "25 %", "sensor_error": "3 %"}
    one = ask("gel-mass", **metric, **shared).results
    assert one == pytest.approx(ask("gel-mass", **other, **shared).results, rel=1e-9)
    grams = ask("gel-humidity", dry_mass="283.49523125 g", mass="311.844754375 g").results
    ounces = ask("gel-humidity", dry_mass="10 oz_avdp", mass="11 oz_avdp").results
    assert grams == pytest.approx(ounces, rel=1e-9)


# Leak, half-time


@given(st.floats(0, 20), st.floats(8, 25), st.floats(0.5, 10), CHANGES)
@SOME
def test_air_changes_are_found_again(start, rise, error, changes):
    room = 60.0
    time = math.log((room - start) / (room - start - rise)) / changes * 24
    if rise <= 2 * error + 0.001 or not 0.1 <= time <= 10_000:
        return
    answer = storage.box_air_changes(start, start + rise, room, time, error)
    assert answer["air_changes"] == pytest.approx(changes)
    assert 0 < answer["least"] < answer["air_changes"]
    assert answer["most"] is None or answer["most"] > answer["air_changes"]


def test_a_rise_within_the_error_is_refused():
    with pytest.raises(Refusal, match="let the box stand longer"):
        storage.box_air_changes(10.0, 16.0, 50.0, 24.0, 3.0)
    assert storage.box_air_changes(10.0, 16.01, 50.0, 24.0, 3.0)["air_changes"] > 0


def test_a_box_as_damp_as_the_room_is_refused():
    for end in (50.0, 60.0):
        with pytest.raises(Refusal, match="read it sooner"):
            storage.box_air_changes(10.0, end, 50.0, 24.0, 3.0)
    # As near to the room as the hygrometer errs: it may be there already.
    assert storage.box_air_changes(10.0, 47.0, 50.0, 24.0, 3.0)["most"] is None
    assert storage.box_air_changes(10.0, 49.0, 50.0, 24.0, 3.0)["most"] is None


# No leak below a tenth a day and no gel beyond these: half-times over a thousand years are refused.
@given(st.floats(0.1, 5), st.floats(0.5, 50), st.floats(0.2, 10), st.floats(1.1, 4))
@example(changes=0.1, load=50.0, reservoir=10.0, by=4.0)
@SOME
def test_half_time_grows_with_gel_and_falls_with_leakage(changes, load, reservoir, by):
    def half(changes, load, temperature):
        return storage.humidity_half_time(changes, load, reservoir, temperature)["time"]

    usual = half(changes, load, 20.0)
    assert half(changes, load * by, 20.0) == pytest.approx(usual * by)
    assert half(changes * by, load, 20.0) == pytest.approx(usual / by)
    assert half(changes, load, 10.0) > usual


def test_half_time_says_when_it_understates():
    low = ask("humidity-half-time", air_changes="1 1/d", buffer_mass="20 kg/m^3",
              specific_reservoir="2 g/kg", room_temperature="20 degC")  # fmt: skip
    assert "too short" in low.show("warnings")
    dry = ask("humidity-half-time", air_changes="1 1/d", buffer_mass="20 kg/m^3",
              specific_reservoir="5.5 g/kg", room_temperature="20 degC")  # fmt: skip
    assert "use the gel's life" in dry.show("warnings")
    assert "too short" not in dry.show("warnings")


# Looks

LOOKS = (24.0, 7.0, 30.0, 180.0, 90.0, 365.0)


@given(st.floats(0, 3000))
@SOME
def test_the_next_look_is_ahead_and_never_further_than_the_interval(day):
    answer = storage.next_inspection(day, 0.0, *LOOKS)
    assert answer["next_look"] > day
    assert answer["wait"] == pytest.approx(answer["next_look"] - day)
    assert answer["wait"] <= 90 + 90 / 4


@given(st.floats(0, 3000), st.floats(24.01, 100))
@SOME
def test_out_of_the_band_means_now(day, hours):
    answer = storage.next_inspection(day, hours, *LOOKS)
    assert (answer["look"], answer["wait"]) == ("now", 0)
    assert storage.next_inspection(day, 24.0, *LOOKS)["look"] != "now"


def test_a_full_look_every_year():
    day, full = 0.0, []
    while day < 1460:
        answer = storage.next_inspection(day, 0.0, *LOOKS)
        day = answer["next_look"]
        full += [day] if answer["look"] == "full" else []
    assert full == [365, 730, 1095, 1460]


@pytest.mark.parametrize(("full_interval", "look"), [(425.0, "full"), (426.0, "settled")])
def test_a_full_look_within_a_quarter_of_the_interval_stands_in(full_interval, look):
    """The lesser look is due on day 400; a quarter of 100 days later is day 425."""
    answer = storage.next_inspection(350.0, 0.0, 24.0, 7.0, 30.0, 180.0, 100.0, full_interval)
    assert (answer["look"], answer["next_look"]) == (look, full_interval if look == "full" else 400)


def test_settled_looks_begin_when_the_box_is_no_longer_new():
    """Day 30, 60 and 90 are still within the 90 days in which it counts as new."""
    answer = storage.next_inspection(60.0, 0.0, 24.0, 7.0, 50.0, 90.0, 30.0, 365.0)
    assert (answer["look"], answer["next_look"]) == ("settled", 120)
    answer = storage.next_inspection(10.0, 0.0, 24.0, 7.0, 100.0, 90.0, 30.0, 365.0)
    assert (answer["look"], answer["next_look"]) == ("settled", 120)


@pytest.mark.parametrize(
    ("day", "look", "due"), [(150, "new", 180), (179, "new", 180), (180, "settled", 270)]
)
def test_the_last_day_as_a_new_box_still_has_its_look(day, look, due):
    answer = storage.next_inspection(float(day), 0.0, *LOOKS)
    assert (answer["look"], answer["next_look"]) == (look, due)


def test_a_first_look_that_comes_later_than_the_next_one_is_none():
    answer = storage.next_inspection(0.0, 0.0, 24.0, 40.0, 30.0, 180.0, 90.0, 365.0)
    assert (answer["look"], answer["next_look"]) == ("new", 30)


# House and tables


@pytest.mark.parametrize(
    ("key", "value", "complaint"),
    [
        ("storage.limit_active", "20.0 %", None),
        ("storage.limit_doubtful", "11 %", "storage.limit_active.*kept damper"),
        ("storage.limit_stable", "15 %", "storage.limit_doubtful.*kept damper"),
        ("storage.sensor_error", "10 %", "cannot tell from dry air"),
        ("storage.room_humidity", "12 %", "no gel would ever be asked for"),
        ("storage.gel_oven_temperature", "140 degC", "bleaches an organic indicator"),
        ("storage.indicator", "none", "does not fit storage.indicator"),
        ("storage.indicator", "cobalt", "allowed is one of none, organic"),
        ("storage.first_look", "40 d", "is above storage.new_interval, 30 d"),
        ("storage.limit_active", "5 %", "out of range; allowed is 6 to 20 %"),
    ],
)
def test_contradictory_house_values(tmp_path, key, value, complaint):
    if complaint is None:
        assert changed_house(tmp_path, {key: value})[key] == 20
        return
    with pytest.raises(HouseFaults, match=complaint):
        changed_house(tmp_path, {key: value})


def cells(house, name):
    return [cell for row in TABLES[name].compute(house).rows for cell in row]


@pytest.mark.parametrize("name", ["gel-amounts", "gel-lives"])
def test_gel_tables_show_what_a_wrong_guess_of_the_leak_costs(house, name):
    """Of independent factors the logarithms add by their squares (JCGM 100:2008, 5.1.2); trials give 1 %."""
    low, high = house.entry("storage.gel_capacity").span
    spans = [cell for cell in cells(house, name) if isinstance(cell, Span)]
    assert len(spans) >= 24
    for cell in spans:
        for end, capacity in ((cell.high, low), (cell.value**2 / cell.low, high)):
            both = math.hypot(math.log(2), math.log(capacity / 100))
            assert end / cell.value == pytest.approx(math.exp(both), rel=0.01)


def test_gel_that_takes_up_less_lasts_shorter_and_weighs_less_when_spent():
    box = {"gel_mass": 250.0, "box_volume": 10.0, "air_changes": 1.0, "room_temperature": 20.0,
             "room_humidity": 50.0, "limit_humidity": 15.0, "reserve": 0.0, "sensor_error": 3.0}  # fmt: skip
    whole, less = (storage.gel_life(**box, capacity=c) for c in (None, 90.0))
    assert less["days"] == pytest.approx(0.9 * whole["days"])
    assert less["recharge_mass"] - 250 == pytest.approx(0.9 * (whole["recharge_mass"] - 250))
    needed = {key: value for key, value in box.items() if key != "gel_mass"}
    amount = storage.gel_mass(**needed, days=less["days"], capacity=90.0)
    assert amount["mass"] == pytest.approx(250)
    assert amount["water"] == pytest.approx(less["recharge_mass"] - 250)


def test_a_wall_lets_through_by_its_factor():
    box = {"gel_mass": 100.0, "box_volume": 1.0, "air_changes": 0.001, "room_temperature": 20.0,
             "room_humidity": 50.0, "limit_humidity": 15.0, "reserve": 0.0, "sensor_error": 3.0,
             "wall": "polystyrene", "wall_area": 350.0, "wall_thickness": 1.0}  # fmt: skip
    rates = [1 / storage.gel_life(**box, wall_factor=f)["days"] for f in (0.5, 1.0, 2.0)]
    assert rates[2] - rates[1] == pytest.approx(2 * (rates[1] - rates[0]))


def test_a_limit_above_the_room_is_marked_in_the_table(house):
    refused = [cell for cell in cells(house, "room-and-gel") if isinstance(cell, Refused)]
    assert len(refused) == 1
    assert "leakage alone never breaks it" in refused[0].reason


def test_box_cooling_marks_dew(house):
    marks = [cell for cell in cells(house, "box-cooling") if isinstance(cell, Mark)]
    assert marks
    assert {mark.word for mark in marks} == {"dew"}
