"""Coating: films and amounts, dew point, the coating day, cure, house rules, refusals."""

import math

import psychrolib
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from iapws.iapws97 import _PSat_T
from support import STANDARD, changed_standard, examples

from handbook_calc.coating import (
    coating_amounts,
    coats_needed,
    coverage,
    cure_time,
    cure_window,
    dew_point,
    resin_mass,
    solution_solids,
    spray_check,
    surface_minimum,
    wet_film,
)
from handbook_calc.engine import house as house_module
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.faults import BadInput, HouseFaults, Refusal
from handbook_calc.engine.tables import TABLES, Mark, Refused, Span
from handbook_calc.moist_air import (
    dew_temperature,
    frost_temperature,
    saturation_pressure_ice,
    saturation_pressure_water,
)

SOME = examples(60)
FILM = st.floats(0.5, 60)
SOLIDS = st.floats(15, 100)
THINNER = st.floats(0, 20)
AREA = st.floats(1, 5000)
SHARE = st.floats(10, 100)
AIR = st.floats(5, 40)
HUMIDITY = st.floats(5, 100)
INSIDE = st.floats(5, 35)
ENERGY = st.floats(20, 90)


# Film and amount


@given(FILM, SOLIDS, THINNER)
@SOME
def test_a_wet_film_dries_to_the_film_it_was_asked_for(dry, solids, thinner):
    wet = wet_film(dry, solids, thinner)
    assert wet * solids / 100 / (1 + thinner / 100) == pytest.approx(dry, rel=1e-12)
    assert wet >= dry


@given(FILM, SOLIDS, THINNER)
@SOME
def test_thinner_makes_the_wet_film_thicker_by_its_share(dry, solids, thinner):
    assert wet_film(dry, solids, thinner) == pytest.approx(
        wet_film(dry, solids, 0.0) * (1 + thinner / 100), rel=1e-12
    )


def test_solids_alone_are_as_thick_wet_as_dry():
    assert wet_film(40, 100, 0) == 40


def test_a_film_that_would_run_is_refused_with_what_to_do():
    assert wet_film(20, 4, 0) == pytest.approx(500)
    with pytest.raises(Refusal, match=r"501\s+µm runs off a standing face; put 20\.04\s+µm on in several"):
        wet_film(20.04, 4, 0)


@given(AREA, FILM, SOLIDS, SHARE, st.integers(1, 9))
@SOME
def test_amount_grows_with_area_film_and_coats(area, dry, solids, share, coats):
    one = coverage(area, dry, solids, share, 1)
    assert coverage(area, dry, solids, share, coats) == pytest.approx(coats * one, rel=1e-12)
    assert coverage(2 * area, dry, solids, share, 1) == pytest.approx(2 * one, rel=1e-12)
    assert coverage(area, 2 * dry, solids, share, 1) == pytest.approx(2 * one, rel=1e-12)


@given(AREA, FILM, SOLIDS, SHARE)
@SOME
def test_what_lands_on_the_piece_is_the_dry_film(area, dry, solids, share):
    volume = coverage(area, dry, solids, share, 1)
    assert volume * share / 100 * solids / 100 / area * 10_000 == pytest.approx(dry, rel=1e-12)


def test_a_loss_divides_and_does_not_multiply():
    """The trap: 30 % loss takes 1 / 0.7 of the volume, not 1.3 of it."""
    ideal = coverage(100, 20, 50, 100, 1)
    assert coverage(100, 20, 50, 70, 1) == pytest.approx(ideal / 0.7)
    assert not math.isclose(coverage(100, 20, 50, 70, 1), ideal * 1.3, rel_tol=0.05)


@given(st.floats(1, 40), st.floats(3, 40), st.floats(0, 10))
@SOME
def test_the_coats_asked_for_are_enough_and_one_fewer_is_not(dry, coat, peak):
    coats = coats_needed(dry, coat, peak)
    assert coats * coat >= (dry + peak) * (1 - 1e-9)
    assert (coats - 1) * coat < dry + peak


def test_so_many_coats_that_solvent_stays_are_refused():
    assert coats_needed(20, 1, 0) == 20
    with pytest.raises(
        Refusal, match="more than 20 coats would be needed: so many shut solvent in; use a coating of more"
    ):
        coats_needed(20, 1, 0.5)


@given(st.floats(0.5, 20), st.floats(0.8, 2))
@SOME
def test_resin_fills_its_share_of_the_solution(percent, density):
    solids = solution_solids(percent, density)
    assert resin_mass(100, percent) / density == pytest.approx(solids, rel=1e-12)


@given(AREA, st.floats(5, 40), st.floats(3, 40), st.floats(0, 3), SOLIDS, SHARE)
@SOME
def test_amounts_agree_with_the_single_calculations(area, dry, coat, peak, solids, share):
    found = coating_amounts("clear", area, dry, coat, peak, solids, 10.0, share)
    assert found["coats"] == coats_needed(dry, coat, peak)
    assert found["built_film"] >= (dry + peak) * (1 - 1e-9)
    assert found["wet_film"] == wet_film(coat, solids, 10.0)
    assert found["volume"] == pytest.approx(coverage(area, coat, solids, share, found["coats"]))


def test_amounts_refuse_what_their_parts_refuse():
    with pytest.raises(Refusal, match="runs off a standing face"):
        coating_amounts("clear", 98, 40, 40, 0, 5, 0, 90)


# Moist air


@pytest.mark.parametrize("temperature", [0.5, 5, 10, 20, 30, 40, 60])
def test_vapour_pressure_over_water_against_if97(temperature):
    # IAPWS-IF97 saturation pressure; Magnus with the WMO constants keeps within 0.35 %.
    assert saturation_pressure_water(temperature) == pytest.approx(
        _PSat_T(temperature + 273.15) * 1e6, rel=0.0035
    )


@pytest.mark.parametrize("temperature", [-30, -20, -10, -5, -1])
def test_vapour_pressure_over_ice_against_psychrolib(temperature):
    # ASHRAE 2017 ice line as PsychroLib has it; Magnus over ice keeps within 0.5 %.
    psychrolib.SetUnitSystem(psychrolib.SI)
    assert saturation_pressure_ice(temperature) == pytest.approx(
        psychrolib.GetSatVapPres(temperature), rel=0.005
    )


@given(st.floats(-40, 60))
@SOME
def test_dew_and_frost_undo_the_saturation_pressure(temperature):
    assert dew_temperature(saturation_pressure_water(temperature)) == pytest.approx(temperature, abs=1e-9)
    if temperature < 0:
        pressure = saturation_pressure_ice(temperature)
        assert frost_temperature(pressure) == pytest.approx(temperature, abs=1e-9)


@given(AIR, HUMIDITY)
@SOME
def test_the_dew_point_is_never_above_the_air(air, humidity):
    assert dew_point(air, humidity)["dew_point"] <= air + 1e-9


@given(AIR, st.floats(5, 99))
@SOME
def test_damper_or_warmer_air_has_a_higher_dew_point(air, humidity):
    dew = dew_point(air, humidity)["dew_point"]
    assert dew_point(air, humidity + 1)["dew_point"] > dew
    assert dew_point(air + 1, humidity)["dew_point"] > dew


@given(AIR, HUMIDITY)
@SOME
def test_frost_forms_above_the_dew_point_and_only_below_zero(air, humidity):
    found = dew_point(air, humidity)
    if found["dew_point"] < 0:
        assert found["dew_point"] < found["frost_point"] < 0
    else:
        assert found["frost_point"] is None


@pytest.mark.parametrize(("dew", "frosts"), [(-0.5, True), (0.5, False), (0.9, False)])
def test_frost_is_named_below_zero_only(dew, frosts):
    humidity = 100 * saturation_pressure_water(dew) / saturation_pressure_water(20)
    found = dew_point(20, humidity)
    assert found["dew_point"] == pytest.approx(dew, abs=1e-9)
    assert (found["frost_point"] is not None) == frosts


def test_saturated_air_is_at_its_dew_point():
    assert dew_point(21, 100)["dew_point"] == pytest.approx(21, abs=1e-12)


@pytest.mark.parametrize("air", [10, 18, 25, 32])
@pytest.mark.parametrize("humidity", [35, 55, 85])
def test_dew_point_against_psychrolib(air, humidity):
    psychrolib.SetUnitSystem(psychrolib.SI)
    theirs = psychrolib.GetTDewPointFromRelHum(air, humidity / 100)
    found = dew_point(air, humidity)
    # PsychroLib turns to ice below 0 degC, where its answer is the frost point.
    ours = found["dew_point"] if theirs >= 0 else found["frost_point"]
    assert ours == pytest.approx(theirs, abs=0.06)


def test_dry_air_has_no_dew_point():
    with pytest.raises(
        Refusal, match="0\u00a0% holds no water and so has no dew point; a hygrometer that shows"
    ):
        dew_point(20, 0)


def test_air_too_dry_for_the_formula_is_refused():
    with pytest.raises(Refusal, match="colder than the formula holds"):
        dew_point(-20, 1)


# The coating day

LIMITS = (3.0, 18.0, 25.0, 60.0)


def verdict(air, humidity, surface, *limits):
    return spray_check(air, humidity, surface, *(limits or LIMITS))["verdict"]


def codes(*arguments):
    return [code for code, *_ in spray_check(*arguments)["reasons"]]


@pytest.mark.parametrize(
    ("air", "humidity", "surface", "says", "reasons"),
    [
        (21, 50, 21, "go", ["within-limits"]),
        (21, 50, 18, "go", ["within-limits"]),
        (18, 60, 25, "go", ["within-limits"]),  # every limit is itself allowed
        (25, 30, 18, "go", ["within-limits"]),
        (17, 50, 18, "wait", ["cold-air"]),
        (21, 50, 17, "wait", ["cold-surface"]),
        (21, 50, 12, "wait", ["cold-surface", "near-dew-point"]),
        (21, 50, 10, "stop", ["cold-surface", "wet-surface"]),
        (21, 61, 21, "stop", ["damp-air"]),
        (26, 40, 22, "stop", ["hot-air"]),
        (22, 40, 26, "stop", ["hot-surface"]),
        (26, 90, 24, "stop", ["wet-surface", "damp-air", "hot-air"]),
    ],
)
def test_every_reason_is_named_and_the_worst_decides(air, humidity, surface, says, reasons):
    assert verdict(air, humidity, surface) == says
    assert codes(air, humidity, surface, *LIMITS) == reasons


@given(AIR, st.floats(20, 99), st.floats(1, 6))
@SOME
def test_a_surface_at_the_minimum_passes_and_one_below_it_waits(air, humidity, margin):
    least = surface_minimum(air, humidity, margin)
    assume(least < 50)
    limits = (margin, -10.0, 60.0, 100.0)
    assert verdict(air, humidity, least, *limits) == ("go" if least >= -10 else "wait")
    assert verdict(air, humidity, least - 0.01, *limits) == "wait"


@given(AIR, st.floats(20, 99))
@SOME
def test_a_surface_at_the_dew_point_stops(air, humidity):
    dew = dew_point(air, humidity)["dew_point"]
    assert verdict(air, humidity, dew, 3.0, -10.0, 60.0, 100.0) == "stop"


@given(st.floats(10, 30), st.floats(20, 99), st.floats(0, 30))
@SOME
def test_warming_the_piece_never_makes_it_wetter(air, humidity, surface):
    rank = {"stop": 0, "wait": 1, "go": 2}
    limits = (3.0, -10.0, 60.0, 100.0)
    cold, warm = verdict(air, humidity, surface, *limits), verdict(air, humidity, surface + 5, *limits)
    assert rank[warm] >= rank[cold]


def test_reasons_come_as_sentences_with_their_figures(house):
    answer = Bench(house).ask(
        "spray-check", air_temperature="21 degC", humidity="55 %", surface_temperature="13.5 degC"
    )
    sentences = answer.plain()["results"]["reasons"]["value"]
    assert "The piece is colder than 18\u00a0°C" in sentences[0]
    assert (
        "only 1.89\u00a0°C above the dew point of 11.6\u00a0°C; a margin of 3\u00a0°C is wanted"
        in sentences[1]
    )
    assert "warm the piece to 14.7\u00a0°C or more" in sentences[1]


def test_limits_between_which_no_room_can_be_are_refused():
    with pytest.raises(Refusal, match="lowest temperature of 25\u00a0°C is not below the highest"):
        spray_check(20, 50, 20, 3, 25, 18, 60)
    with pytest.raises(Refusal, match="is not below the highest"):
        spray_check(20, 50, 20, 3, 20, 20, 60)


# Cure


@given(st.floats(0.1, 500), INSIDE, INSIDE, ENERGY)
@SOME
def test_cure_there_and_back_gives_the_time_again(time, base, temperature, energy):
    there = cure_time(time, base, temperature, energy, None, 5.0, 35.0)
    assume(0.01 <= there <= 5000)
    assert cure_time(there, temperature, base, energy, None, 5.0, 35.0) == pytest.approx(time, rel=1e-9)


@given(st.floats(0.1, 500), INSIDE, st.floats(5, 34), ENERGY)
@SOME
def test_a_warmer_piece_cures_sooner(time, base, temperature, energy):
    cool = cure_time(time, base, temperature, energy, None, 5.0, 35.0)
    assert cure_time(time, base, temperature + 1, energy, None, 5.0, 35.0) < cool


@given(st.floats(0.1, 500), INSIDE, st.floats(15, 35))
@SOME
def test_a_doubling_doubles(time, base, temperature):
    warm = cure_time(time, base, temperature, None, 10.0, 5.0, 35.0)
    assert cure_time(time, base, temperature - 10, None, 10.0, 5.0, 35.0) == pytest.approx(2 * warm)


@given(INSIDE, INSIDE, ENERGY)
@SOME
def test_energy_does_not_matter_where_a_doubling_is_given(base, temperature, energy):
    with_energy = cure_time(8.0, base, temperature, energy, 12.0, 5.0, 35.0)
    assert with_energy == cure_time(8.0, base, temperature, None, 12.0, 5.0, 35.0)


def test_the_rule_of_thumb_is_about_51_kilojoule_at_room_temperature():
    """Textbook: a rate that doubles from 20 to 30 degC has R ln 2 / (1/T1 - 1/T2) = 51.2 kJ/mol."""
    assert cure_time(10, 20, 30, 51.22, None, 5, 35) == pytest.approx(
        cure_time(10, 20, 30, None, 10, 5, 35), rel=2e-4
    )


@pytest.mark.parametrize(
    ("temperature", "code", "says"),
    [
        (
            4.9,
            "too-cold",
            "its lowest is 5\u00a0°C; warm the room and the piece, a longer wait does not help",
        ),
        (35.1, "too-hot", "above 35\u00a0°C, where the data end"),
    ],
)
def test_no_cure_time_outside_the_data(temperature, code, says):
    with pytest.raises(Refusal, match=says) as caught:
        cure_time(8, 20, temperature, 45, None, 5, 35)
    assert caught.value.code == code


def test_no_cure_time_without_a_law():
    with pytest.raises(Refusal, match="neither an activation energy nor a doubling"):
        cure_time(8, 20, 15, None, None, 5, 35)


def test_no_cure_time_without_a_range():
    with pytest.raises(Refusal, match="is not below the highest"):
        cure_time(8, 20, 15, 45, None, 35, 5)


URETHANE = {
    "coating": "clear", "humidity": 50, "base_temperature": 23, "base_touch_dry": 4,
    "base_wet_on_wet_close": None, "base_earliest_recoat": 0.5, "base_latest_recoat": 72, "base_handle": 24,
    "base_full_cure": 288, "early_energy": 42, "recoat_energy": 45, "full_energy": 55,
    "minimum_temperature": 12, "maximum_temperature": 35, "maximum_humidity": 65,
}  # fmt: skip


def test_at_the_base_temperature_the_data_sheet_comes_back():
    window = cure_window(**URETHANE, temperature=23)
    assert window == {
        "touch_dry": 4,
        "wet_on_wet_close": None,
        "earliest_recoat": 0.5,
        "latest_recoat": 72,
        "handle": 24,
        "full_cure": 288,
    }


@given(st.floats(12, 35))
@SOME
def test_the_windows_move_by_the_same_factor_and_the_last_one_never_closes_late(temperature):
    """Recoating waits for one reaction; in the cold its end is kept shorter than that reaction would have it."""
    window = cure_window(**(URETHANE | {"base_wet_on_wet_close": 0.25}), temperature=temperature)
    factor = window["earliest_recoat"] / 0.5
    assert window["wet_on_wet_close"] == pytest.approx(0.25 * factor, rel=1e-12)
    assert window["latest_recoat"] <= 72 * factor * (1 + 1e-12)
    if temperature >= URETHANE["base_temperature"]:
        assert window["latest_recoat"] == pytest.approx(72 * factor, rel=1e-12)
    assert window["handle"] == pytest.approx(24 * factor, rel=1e-12)


@pytest.mark.parametrize("limits", [{"temperature": 12}, {"temperature": 35}, {"humidity": 65}])
def test_the_limits_of_a_window_are_themselves_allowed(limits):
    assert cure_window(**(URETHANE | {"temperature": 23} | limits))["full_cure"] > 0


@given(st.floats(12, 34))
@SOME
def test_every_stage_is_sooner_when_warmer_and_the_window_stays_open(temperature):
    cool = cure_window(**URETHANE, temperature=temperature)
    warm = cure_window(**URETHANE, temperature=temperature + 1)
    for stage, time in warm.items():
        assert time is None or time < cool[stage]
    assert warm["earliest_recoat"] < warm["latest_recoat"]
    assert warm["touch_dry"] < warm["handle"] < warm["full_cure"]


@given(st.floats(12, 35))
@SOME
def test_a_window_is_the_cure_time_of_each_stage(temperature):
    window = cure_window(**URETHANE, temperature=temperature)
    assert window["full_cure"] == pytest.approx(cure_time(288, 23, temperature, 55, None, 5, 35))
    assert window["touch_dry"] == pytest.approx(cure_time(4, 23, temperature, 42, None, 5, 35))


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"temperature": 11.9}, "too-cold"),
        ({"temperature": 35.1}, "too-hot"),
        ({"temperature": 20, "humidity": 65.1}, "too-damp"),
        ({"temperature": 20, "base_latest_recoat": 0.5}, "closed-window"),
        ({"temperature": 20, "base_latest_recoat": 0.4}, "closed-window"),
    ],
)
def test_a_window_that_would_mislead_is_refused(changed, code):
    with pytest.raises(Refusal) as caught:
        cure_window(**(URETHANE | changed))
    assert caught.value.code == code


def test_house_coating_fills_the_window_and_an_unknown_one_is_named(house):
    answer = Bench(house).ask("cure-window", coating="urethane-brush", temperature="23 degC", humidity="50 %")
    assert answer.results["latest_recoat"] == pytest.approx(72)
    assert answer.results["wet_on_wet_close"] is None
    with pytest.raises(BadInput, match="not in the house's list; allowed is one of "):
        Bench(house).ask("cure-window", coating="urethan-brush", temperature="23 degC", humidity="50 %")


def test_no_limit_is_said_in_words(house):
    answer = Bench(house).ask("cure-window", coating="acrylic-brush", temperature="20 degC", humidity="50 %")
    assert answer.show("latest_recoat") == "no limit"


# Units


@pytest.mark.parametrize(
    ("name", "first", "second"),
    [
        (
            "wet-film",
            {"dry_film": "25.4 um", "volume_solids": "40 %", "thinner": "0 %"},
            {"dry_film": "1 mil", "volume_solids": "400000 ppm", "thinner": "0 ppm"},
        ),
        (
            "coverage",
            {"area": "6.4516 cm^2", "dry_film": "0.02 mm", "volume_solids": "40 %",
             "transfer_efficiency": "50 %", "coats": "2"},
            {"area": "1 in^2", "dry_film": "20 um", "volume_solids": "40 %",
             "transfer_efficiency": "50 %", "coats": "2"},
        ),
        (
            "dew-point",
            {"temperature": "21 degC", "humidity": "55 %"},
            {"temperature": "69.8 degF", "humidity": "55 %"},
        ),
        (
            "surface-minimum",
            {"air_temperature": "21 degC", "humidity": "55 %", "margin": "3 delta_degC"},
            {"air_temperature": "294.15 K", "humidity": "55 %", "margin": "5.4 delta_degF"},
        ),
        (
            "cure-time",
            {"time": "24 h", "base_temperature": "23 degC", "temperature": "18 degC",
             "activation_energy": "45 kJ/mol", "minimum_temperature": "5 degC",
             "maximum_temperature": "35 degC"},
            {"time": "1 d", "base_temperature": "73.4 degF", "temperature": "64.4 degF",
             "activation_energy": "45000 J/mol", "minimum_temperature": "41 degF",
             "maximum_temperature": "95 degF"},
        ),
        (
            "resin-mass",
            {"volume": "250 mL", "percent": "15 %"},
            {"volume": "0.25 L", "percent": "15 %"},
        ),
        (
            "solution-solids",
            {"percent": "15 %", "resin_density": "1.15 g/cm^3"},
            {"percent": "15 %", "resin_density": "1150 kg/m^3"},
        ),
    ],
)  # fmt: skip
def test_units_do_not_change_the_answer(name, first, second):
    one, other = (Bench(None).ask(name, **written).results for written in (first, second))
    for key, value in one.items():
        assert other[key] == (value if value is None else pytest.approx(value, rel=1e-9))


@pytest.mark.parametrize(
    ("name", "written", "says"),
    [
        ("dew-point", {"temperature": "21", "humidity": "55 %"}, "temperature = 21 has no unit"),
        ("dew-point", {"temperature": "61 degC", "humidity": "55 %"}, "allowed is -20 to 60 °C"),
        ("dew-point", {"temperature": "21 degC", "humidity": "101 %"}, "allowed is 0 to 100 %"),
        ("wet-film", {"dry_film": "20 um", "volume_solids": "0.4 %"}, "solids by weight give a wrong film"),
        ("coats-needed", {"dry_film": "20 g", "film_per_coat": "5 um"}, "does not convert to 'um'"),
        ("coverage", {"coats": "1.5"}, "coats = 1.5 is not a whole number"),
    ],
)
def test_bad_input_names_argument_value_and_what_is_allowed(name, written, says):
    with pytest.raises(BadInput) as caught:
        Bench(None).ask(name, **written)
    assert says in str(caught.value)


# House rules


@pytest.mark.parametrize(
    ("key", "value", "says"),
    [
        ("coating.kind", "acrilic-brush", "is not in coating.kinds; did you mean 'acrylic-brush'?"),
        ("coating.spray_kind", "acrylic-brush", "is not put on by spray; allowed is one of acrylic-aerosol"),
        ("coating.wipe_kind", "vax", "is not in coating.kinds; allowed is one of microcrystalline-wax"),
        ("coating.margin", "1 delta_degC", "allowed is at least 1.3 delta_degC"),
        ("coating.minimum_temperature", "8 degC", "allowed is 10 degC or more"),
        ("coating.minimum_temperature", "25 degC", "is not below coating.maximum_temperature"),
        ("coating.maximum_temperature", "31 degC", "allowed is 30 degC or less"),
        ("coating.maximum_humidity", "70 %", "allowed is 65 % or less"),
        ("coating.cure_minimum", "35 degC", "is not below coating.cure_maximum"),
        ("coating.room_temperature", "15 degC", "allowed is at least 18 degC"),
        ("coating.room_humidity", "62 %", "allowed is up to 60 %"),
        ("coating.wait_before_boxing", "7 d", "allowed is 14 d or more"),
        ("coating.watch", "20 d", "is below specimen.watch"),
        ("coating.kinds.urethane-brush.latest_recoat", "20 min", "closes the recoat window before it opens"),
        ("coating.kinds.urethane-brush.applied_by", "spray", "isocyanate into the air that people breathe"),
        ("coating.kinds.alkyd-brush.wet_on_wet_close", "7 d", "so there are no two windows"),
        ("coating.kinds.alkyd-brush.handle", "1 h", "comes before touch_dry"),
        ("coating.kinds.alkyd-brush.full_cure", "20 h", "comes before handle"),
        ("coating.kinds.alkyd-brush.minimum_temperature", "30 degC", "is not below maximum_temperature"),
        ("coating.kinds.alkyd-brush.base_temperature", "35 degC", "allowed is 5 to 30 degC"),
        ("coating.kinds.acrylic-brush.film_per_coat", "70 um", "would run when wet; allowed is 65 um"),
    ],
)
@pytest.mark.long
def test_a_contradiction_is_a_fault_of_the_standard(tmp_path, key, value, says):
    text, line = changed_standard(STANDARD.read_text(encoding="utf-8"), key, value)
    path = tmp_path / "house-standard.yml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(HouseFaults) as caught:
        house_module.load(path)
    assert any(f":{line}: {key}: " in fault and says in fault for fault in map(str, caught.value.faults))


# Tables


def cells(name, house):
    return [row[1:] for row in TABLES[name].compute(house).rows]


def test_the_spray_grid_has_all_three_words(house):
    words = {cell.word for row in cells("spray-grid", house) for cell in row}
    assert words == {"go", "wait", "stop"}
    marks = [cell for row in cells("spray-grid", house) for cell in row]
    assert all(isinstance(mark, Mark) and mark.state == mark.word for mark in marks)


def test_a_refused_temperature_says_why_in_its_row(house):
    rows = TABLES["cure-windows-all"].compute(house).rows
    cold = next(row for row in rows if row[0] == "urethane-brush" and row[1] == 10)
    assert all(isinstance(cell, Refused) for cell in cold[2:])
    assert "urethane-brush does not cure at 10" in cold[2].reason


def test_spans_hold_their_value_and_widen_away_from_the_base(house):
    found = [row for row in TABLES["cure-windows"].compute(house).rows if isinstance(row[-1], Span)]
    assert found
    assert all(row[-1].low <= row[-1].value <= row[-1].high for row in found)
    coldest, next_one = found[0][-1], found[1][-1]
    assert coldest.high - coldest.low > next_one.high - next_one.low


def test_solids_of_the_house_solution_are_those_of_its_resin(house):
    bench = Bench(house)
    computed = bench("solution-solids", percent=house["coating.resin_percent"])
    assert house["coating.kinds.acrylic-brush.volume_solids"] == pytest.approx(computed, rel=0.02)


@pytest.mark.parametrize(("temperature", "printed"), [(10.0, 144), (23.0, 72), (35.0, 36)])
def test_the_latest_recoat_is_never_later_than_the_sheet(temperature, printed):
    """Latest recoat of the urethane's data sheet, row by row."""
    latest = cure_window(**(URETHANE | {"minimum_temperature": 5}), temperature=temperature)["latest_recoat"]
    assert 0.9 * printed < latest <= printed
