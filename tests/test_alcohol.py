"""Alcohol: limits, monotony, inverse pairs, refusals, house rules, and the slab that soaking rests on."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import differing, examples, numbers_in

from handbook_calc import solvents
from handbook_calc.alcohol import (
    alcohol_strength,
    azeotrope,
    bath_verdict,
    ethanol_strength,
    flammable_limit,
    flammable_volume,
    jar_vapour,
    soak_residue,
    soak_time,
    soaked_fraction,
    soaks_needed,
    strength_by_volume,
    vapour_pressure,
)
from handbook_calc.diffusion import slab_fourier, slab_released
from handbook_calc.engine import house, stages
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.data import rows
from handbook_calc.engine.faults import BadInput, HouseFaults, Refusal
from handbook_calc.engine.subset import complaints
from handbook_calc.engine.tables import TABLES, Mark, Span
from handbook_calc.evaporation import last_bath
from handbook_calc.solvents import FLAMMABLE, SOLVENTS, solvent_place

stages.load()
SOME = examples(60)
NO_HOUSE = Bench(None)
SOLVENT = st.sampled_from(FLAMMABLE)
SOAK = (20.0, 300.0, 22.16)


def ask(name, **written):
    answer = NO_HOUSE.ask(name, **written)
    return answer.results if len(answer.results) > 1 else next(iter(answer.results.values()))


def refused(call, *arguments):
    with pytest.raises(Refusal) as caught:
        call(*arguments)
    assert len(str(caught.value)) > 30
    assert "{" not in str(caught.value)
    return caught.value.code


# --- diffusion out of a slab -------------------------------------------------------------------


def long_series(fourier, terms=4000):
    total = 0.0
    for n in range(terms):
        rate = ((2 * n + 1) * math.pi) ** 2
        total += 8 / rate * math.exp(-rate * fourier / 4)
    return 1 - total


@pytest.mark.parametrize("fourier", [1e-3, 0.005, 0.0199, 0.0201, 0.05, 0.2, 1.0, 3.0, 8.0])
def test_slab_agrees_with_the_long_series(fourier):
    # Crank, The Mathematics of Diffusion, plane sheet (memory); 4000 terms serve from 0.001 on.
    assert slab_released(fourier) == pytest.approx(long_series(fourier), abs=1e-9)


def test_slab_has_no_step_where_its_two_laws_meet():
    below, above = slab_released(0.02), slab_released(math.nextafter(0.02, 1))
    assert above == pytest.approx(below, abs=1e-12)


@given(st.floats(1e-6, 0.999999))
@SOME
def test_slab_and_its_inverse(share):
    assert slab_released(slab_fourier(share)) == pytest.approx(share, abs=1e-12)


@given(st.floats(1e-7, 4), st.floats(1.001, 3))
@SOME
def test_more_time_releases_more(fourier, factor):
    assert slab_released(fourier) < slab_released(fourier * factor) < 1


def test_slab_starts_full_and_ends_empty():
    assert slab_released(0) == 0
    assert slab_released(20) == pytest.approx(1, abs=1e-15)


@pytest.mark.parametrize("share", [1.0, math.nextafter(1, 0), 1 - 1e-12])
def test_the_inverse_holds_to_the_last_share_there_is(share):
    fourier = slab_fourier(share)
    assert 10 < fourier <= 15
    assert slab_released(fourier) == pytest.approx(share, abs=3e-16)


def test_half_time_of_the_slab():
    # Crank, half-time 0.04919 of the square of the whole thickness, both faces open (memory).
    assert slab_fourier(0.5) == pytest.approx(4 * 0.04919, rel=2e-4)


# --- strength of the solvent -------------------------------------------------------------------


@given(st.floats(0.786, 0.98), st.floats(10, 30))
@SOME
def test_denser_alcohol_is_weaker(density, temperature):
    lighter = alcohol_strength(density, temperature) if density > 0.795 else None
    if lighter is not None and density + 0.002 < 0.98:
        assert alcohol_strength(density + 0.002, temperature) < lighter


@given(st.floats(9.58, 100))
@SOME
def test_alcohol_strength_undoes_the_table(strength):
    density = solvents.propanol_density_at(strength)
    assert alcohol_strength(density, 20.0) == pytest.approx(strength, abs=1e-6)


@given(st.floats(0.1, 99.9), st.floats(0, 40))
@SOME
def test_ethanol_strength_undoes_the_formula(strength, temperature):
    density = solvents.ethanol_density(strength, temperature)
    assert ethanol_strength(density, temperature) == pytest.approx(strength, abs=1e-6)


@pytest.mark.parametrize(
    ("strength", "temperature", "density"),
    # OIML R 22 (1975): Table I for water, erratum value for pure ethanol.
    [(0, 0, 0.99984), (0, 10, 0.99970), (100, 20, 0.78924)],
)
def test_ethanol_formula_against_its_standard(strength, temperature, density):
    assert solvents.ethanol_density(strength, temperature) == pytest.approx(density, abs=1.1e-5)


@given(st.floats(15, 100))
@SOME
def test_strength_by_volume_gives_back_the_volume(volume):
    for solvent in ("2-propanol", "ethanol"):
        mass = strength_by_volume(solvent, volume)
        if solvent == "ethanol":
            density, pure = solvents.ethanol_density(mass, 20), solvents.ethanol_density(100, 20)
        else:
            density, pure = solvents.propanol_density_at(mass), solvents.propanol_density_at(100)
        assert mass * density / pure == pytest.approx(volume, abs=1e-6)
        assert mass <= volume + 1e-9


def test_a_warm_reading_is_brought_back_to_the_table():
    # 0.0009 g/cm3 a degree for dry 2-propanol: handbook slope (memory).
    assert alcohol_strength(0.78556 - 0.0045, 25.0) == pytest.approx(100, abs=0.1)
    assert alcohol_strength(0.795, 25.0) < alcohol_strength(0.795, 20.0)


def test_readings_outside_the_tables_are_refused():
    assert refused(alcohol_strength, 0.784, 20.0) == "lighter"
    assert refused(alcohol_strength, 0.99, 20.0) == "weaker"
    assert refused(ethanol_strength, 0.788, 20.0) == "lighter"
    assert refused(ethanol_strength, 1.01, 20.0) == "heavier"
    # Water of 20 degC has 0.9982 g/cm3.
    assert refused(ethanol_strength, 0.9990, 20.0) == "heavier"
    assert refused(strength_by_volume, "2-propanol", 10.0) == "weaker"
    for temperature in (9.9, 30.1):
        with pytest.raises(BadInput, match="temperature"):
            alcohol_strength(0.8, temperature)


def test_a_reading_a_tenth_of_a_thousandth_outside_counts_as_the_end():
    water, dry = solvents.ethanol_density(0, 20), solvents.ethanol_density(100, 20)
    assert ethanol_strength(water + 0.00009, 20.0) == pytest.approx(0, abs=1e-9)
    assert ethanol_strength(dry - 0.00009, 20.0) == pytest.approx(100, abs=1e-9)
    assert alcohol_strength(0.78556 - 0.00009, 20.0) == pytest.approx(100, abs=0.02)


def test_the_weakest_propanol_of_the_table_by_volume():
    """By volume a mixture is its mass share times its density over that of the dry alcohol."""
    weakest, density = solvents.PROPANOL_PERCENT[0], solvents.PROPANOL_DENSITY[0]
    by_volume = weakest * density / solvents.PROPANOL_DENSITY[-1]
    assert strength_by_volume("2-propanol", by_volume * 1.0001) == pytest.approx(weakest, rel=2e-4)
    with pytest.raises(Refusal, match="starts at") as caught:
        strength_by_volume("2-propanol", by_volume * 0.999)
    assert numbers_in(caught.value.message)[-1] == pytest.approx(by_volume, abs=0.06)
    assert strength_by_volume("ethanol", 0.0) == pytest.approx(0, abs=1e-9)
    assert strength_by_volume("ethanol", 0.5) == pytest.approx(0.5 * 0.78924 / 0.9973, abs=0.001)


@pytest.mark.parametrize(
    ("strength", "place"),
    [(59.9, "none"), (60.0, "first"), (89.9, "first"), (90.0, "middle"), (94.9, "middle"), (96.0, "last")],
)
@pytest.mark.parametrize("bath", ["first", "middle", "last"])
def test_a_strength_serves_up_to_its_place_and_no_drier(strength, place, bath):
    order = ["none", "first", "middle", "last"]
    found = bath_verdict("2-propanol", strength, bath, 60.0, 90.0, 96.0)
    assert found["serves_as"] == place
    fit = order.index(place) >= order.index(bath)
    assert found["verdict"] == ("use" if fit else "discard" if place == "none" else "move down one place")


@pytest.mark.parametrize(
    ("solvent", "strength", "bath", "reasons"),
    [
        ("acetone", 98.0, "last", ["limit", "water"]),
        ("acetone", 50.0, "first", ["limit"]),
        ("2-propanol", 90.0, "last", ["limit"]),
        ("2-propanol", 80.0, "last", ["limit", "water"]),
        ("2-propanol", 80.0, "middle", ["limit"]),
        ("2-propanol", 87.4, "last", ["limit"]),
        ("2-propanol", 99.5, "last", []),
    ],
)
def test_reasons_of_a_bath_that_does_not_serve(solvent, strength, bath, reasons):
    found = bath_verdict(solvent, strength, bath, 60.0, 90.0, 99.5)["reasons"]
    assert [reason[0] for reason in found] == reasons
    assert all(reason[1] in (60.0, 90.0, 99.5) for reason in found if reason[0] == "limit")


def test_places_may_ask_the_same_strength():
    assert bath_verdict("ethanol", 90.0, "middle", 90.0, 90.0, 90.0)["verdict"] == "use"


def test_azeotrope_names_none_for_acetone():
    assert azeotrope("acetone") is None
    assert NO_HOUSE.ask("azeotrope", solvent="acetone").show() == "none"
    assert ask("azeotrope", solvent="isopropyl alcohol") == azeotrope("2-propanol")


@given(SOLVENT, st.floats(0, 100), st.sampled_from(["first", "middle", "last"]))
@SOME
def test_bath_verdict_hangs_together(solvent, strength, bath):
    found = bath_verdict(solvent, strength, bath, 60.0, 90.0, 95.0)
    order = ["none", "first", "middle", "last"]
    fit = order.index(found["serves_as"]) >= order.index(bath)
    assert (found["verdict"] == "use") is fit
    assert (found["verdict"] == "discard") is (strength < 60)
    assert bool(found["reasons"]) is not fit


@given(SOLVENT, st.floats(0, 100), st.floats(0, 95))
@SOME
def test_a_last_bath_is_one_that_dries_in_the_room(solvent, strength, humidity):
    found = bath_verdict(solvent, strength, "last", 10.0, 20.0, 30.0, humidity, 20.0, 1.0)
    dries = strength >= 30 and last_bath(solvent, strength, humidity, 20.0, 1.0)["verdict"] == "dries"
    assert (found["verdict"] == "use") == dries


@pytest.mark.parametrize(("humidity", "verdict"), [(20.0, "use"), (50.0, "move down one place")])
def test_ordinary_spirit_serves_in_a_dry_room_and_not_in_a_damp_one(humidity, verdict):
    found = bath_verdict("ethanol", 93.84, "last", 60.0, 90.0, 92.0, humidity, 20.0, 1.0)
    assert found["verdict"] == verdict
    assert [reason[0] for reason in found["reasons"]] == ([] if verdict == "use" else ["water"])


def test_bath_verdict_explains_acetone_and_refuses_limits_out_of_order():
    answer = NO_HOUSE.ask(
        "bath-verdict", solvent="acetone", mass_percent="98 %", bath="last", first_limit="60 %",
        middle_limit="90 %", last_limit="95 %",
    )  # fmt: skip
    assert "it leaves 1.34" in answer.show("reasons")
    assert refused(bath_verdict, "ethanol", 90.0, "first", 70.0, 60.0, 95.0) == "limits"


# --- soaking -----------------------------------------------------------------------------------


@given(st.floats(0.01, 20), st.floats(25, 2000), st.integers(0, 8), st.floats(0, 10))
@SOME
def test_more_soaks_leave_less_but_never_less_than_the_solvent_holds(water, bath, soaks, own):
    now, after = (soak_residue(water, bath, n, own) for n in (soaks, soaks + 1))
    assert own <= after <= now
    assert soak_residue(water, bath, 0, own) == 100


@given(st.floats(0.01, 20), st.floats(25, 2000), st.floats(0, 5))
@SOME
def test_one_soak_conserves_the_water(water, bath, own):
    left = soak_residue(water, bath, 1, own)
    assert left * (water + bath) == pytest.approx(100 * water + own * bath, rel=1e-12)


@given(st.floats(0.05, 20), st.floats(25, 2000), st.floats(1.001, 50), st.floats(0, 1))
@SOME
def test_the_soaks_asked_for_are_enough_and_one_fewer_is_not(water, bath, limit, own):
    soaks = soaks_needed(water, bath, limit, own)
    assert soak_residue(water, bath, soaks, own) <= limit * (1 + 1e-6)
    assert soak_residue(water, bath, soaks - 1, own) > limit * (1 - 1e-6)


def test_soaks_are_refused_where_they_cannot_help():
    assert refused(soak_residue, 50.0, 50.0, 1, 0.0) == "small-bath"
    assert refused(soaks_needed, 50.0, 50.0, 1.0, 0.0) == "small-bath"
    assert refused(soaks_needed, 1.0, 100.0, 1.0, 1.0) == "floor"
    assert refused(soaks_needed, 1.0, 100.0, 0.5, 1.0) == "floor"
    assert soaks_needed(1.0, 100.0, 99.5, 1.0) == 1
    # A tenth stays and the solvent holds 10 %: 19, then 10.9, then 10.09 %.
    assert [soaks_needed(10.0, 90.0, limit, 10.0) for limit in (19.0, 10.9, 10.899)] == [1, 2, 3]
    assert soaks_needed(1.0, 100.0, 100.0, 1.0) == 0


def soak_hours(*inputs):
    """Return the time alone; no house says how warm its baths are."""
    return soak_time(*inputs, None)["time"]


@pytest.mark.parametrize(
    ("temperature", "warmest", "verdict"),
    [(20.0, 20.0, "go"), (20.1, 20.0, "stop"), (30.0, None, "go"), (30.1, None, "stop"), (30.0, 30.0, "go")],
)
def test_a_bath_warmer_than_the_house_keeps_it_is_a_stop(temperature, warmest, verdict):
    assert soak_time(2.0, 99.0, temperature, 300.0, 22.16, warmest)["verdict"] == verdict


@given(st.floats(0.1, 50), st.floats(1, 99.9), st.floats(0, 40), st.floats(10, 5000))
@SOME
def test_soak_time_and_share_undo_each_other(depth, fraction, temperature, diffusivity):
    time = soak_hours(depth, fraction, temperature, diffusivity, 22.16)
    if time <= 20_000:
        share = soaked_fraction(time, depth, temperature, diffusivity, 22.16)
        assert share == pytest.approx(fraction, abs=1e-7)


@given(st.floats(0.1, 20), st.floats(5, 99))
@SOME
def test_soak_time_grows_with_depth_squared_and_falls_with_warmth(depth, fraction):
    time = soak_hours(depth, fraction, *SOAK)
    assert soak_hours(2 * depth, fraction, *SOAK) == pytest.approx(4 * time, rel=1e-9)
    assert soak_hours(depth, fraction, 25.0, 300.0, 22.16) < time
    assert soak_hours(depth, fraction + 0.5, *SOAK) > time


@given(st.floats(1, 39))
@SOME
def test_warmth_speeds_soaking_by_the_law_of_arrhenius(temperature):
    ratio = soak_hours(2.0, 80.0, temperature, 300.0, 22.16) / soak_hours(2.0, 80.0, 25.0, 300.0, 22.16)
    kelvin = temperature + 273.15
    expected = math.exp(22_160 / 8.314462618 * (1 / kelvin - 1 / 298.15))
    assert ratio == pytest.approx(expected, rel=1e-9)


def test_extraction_time_scales_with_size_squared():
    # Geankoplis, Example 12.8-1: 80 % out of 2.0 mm in 3.11 h, so out of 1.5 mm in 1.75 h.
    ratio = soak_hours(1.5, 80.0, *SOAK) / soak_hours(2.0, 80.0, *SOAK)
    assert 3.11 * ratio == pytest.approx(1.75, abs=0.005)


def test_soak_inputs_outside_their_range_are_refused():
    for wrong in ({"temperature": "45 degC"}, {"depth": "0 mm"}, {"fraction": "100 %"}):
        given = {
            "depth": "2 mm", "fraction": "99 %", "temperature": "20 degC",
            "diffusivity": "300 um^2/s", "activation_energy": "22 kJ/mol",
        } | wrong  # fmt: skip
        with pytest.raises(BadInput, match=next(iter(wrong))):
            ask("soak-time", **given)


# --- vapour and fire ---------------------------------------------------------------------------


@given(st.sampled_from(SOLVENTS), st.floats(9, 76))
@SOME
def test_vapour_pressure_rises_with_temperature(solvent, temperature):
    assert vapour_pressure(solvent, temperature) < vapour_pressure(solvent, temperature + 1)


@pytest.mark.parametrize("solvent", SOLVENTS)
def test_vapour_pressure_is_one_atmosphere_at_the_boiling_point(solvent):
    # Normal boiling points: chemicals 1.5.2 and the CRC Handbook.
    boiling = solvents.BOILING_POINT[solvent_place(solvent)]
    assert vapour_pressure(solvent, boiling) == pytest.approx(101.325, rel=0.01)


@given(st.sampled_from(SOLVENTS), st.floats(10, 75))
@SOME
def test_vapour_pressure_is_antoines_with_its_printed_constants(solvent, temperature):
    """The constants are for pascals and kelvins; the answer is in kilopascals."""
    constants = {(r["solvent"], r["property"]): float(r["value"]) for r in rows("solvents") if r["value"]}
    a, b, c = (constants[solvent, f"antoine {letter}"] for letter in "abc")
    pascals = 10 ** (a - b / (temperature + 273.15 + c))
    assert vapour_pressure(solvent, temperature) == pytest.approx(pascals / 1000, rel=1e-12)


@pytest.mark.parametrize("solvent", SOLVENTS)
def test_vapour_pressure_is_refused_just_outside_its_data(solvent):
    place = solvent_place(solvent)
    for end, step in ((solvents.ANTOINE_FROM[place], -0.01), (solvents.ANTOINE_TO[place], 0.01)):
        if -25 <= end + step <= 150:
            assert vapour_pressure(solvent, min(150, end)) > 0
            assert refused(vapour_pressure, solvent, end + step) == "outside-data"


@given(SOLVENT, st.floats(10, 199))
@SOME
def test_lower_limit_falls_with_temperature_and_stays_below_the_upper(solvent, temperature):
    now, warmer = (flammable_limit(solvent, t) for t in (temperature, temperature + 1))
    assert warmer["lower"] <= now["lower"] < now["upper"]


def test_the_safer_of_two_standards_is_used():
    # IEC 60079-20-1:2010 and NFPA 497:2008, data file of chemicals 1.5.2.
    chemicals = pytest.importorskip("chemicals")
    for solvent, cas in (("2-propanol", "67-63-0"), ("ethanol", "64-17-5"), ("acetone", "67-64-1")):
        methods = ("IEC 60079-20-1 (2010)", "NFPA 497 (2008)")
        found = flammable_limit(solvent, 20.0)
        lower = min(chemicals.LFL(CASRN=cas, method=m) for m in methods)
        upper = max(chemicals.UFL(CASRN=cas, method=m) for m in methods)
        ignition = min(chemicals.T_autoignition(CASRN=cas, method=m) for m in methods) - 273.15
        assert found["lower"] == pytest.approx(100 * lower)
        assert found["upper"] == pytest.approx(100 * upper)
        assert found["ignition"] == pytest.approx(ignition)


def test_jars_are_flammable_at_room_temperature_or_too_rich():
    assert [jar_vapour(s, 20.0)["verdict"] for s in FLAMMABLE] == ["flammable", "flammable", "too rich"]
    assert jar_vapour("ethanol", 10.0)["verdict"] == "too lean"
    for solvent in FLAMMABLE:
        share = vapour_pressure(solvent, 20.0) / 101.325
        assert jar_vapour(solvent, 20.0)["concentration"] == pytest.approx(100 * share, rel=1e-9)


@pytest.mark.parametrize(("temperature", "part"), [(20, 1), (25, 1), (36, 0.98), (52.5, 0.95), (80, 0.9)])
def test_lower_limit_has_lost_a_tenth_at_80_degc(temperature, part):
    for solvent in FLAMMABLE:
        printed = solvents.LOWER_LIMIT[solvent_place(solvent)]
        assert flammable_limit(solvent, temperature)["lower"] == pytest.approx(part * printed, rel=1e-12)


@given(SOLVENT, st.floats(0.1, 1000), st.floats(10, 40))
@SOME
def test_air_for_a_spill_is_proportional(solvent, volume, temperature):
    one, two = (flammable_volume(solvent, n * volume, temperature, 25.0) for n in (1, 2))
    assert two["just_flammable"] == pytest.approx(2 * one["just_flammable"], rel=1e-12)
    assert one["at_safety_share"] == pytest.approx(4 * one["just_flammable"], rel=1e-12)


def test_spill_air_at_the_limit_holds_the_limit():
    litres = flammable_volume("ethanol", 100.0, 20.0, 25.0)["just_flammable"]
    vapour = 100 * 0.7892 / 46.068 * solvents.molar_volume(20)
    assert 100 * vapour / (vapour + litres) == pytest.approx(3.1, rel=1e-9)


# --- units -------------------------------------------------------------------------------------

SAME = [
    ("soak-time", {"depth": "0.1 inch"}, {"depth": "2.54 mm"}, "time",
     {"fraction": "99 %", "temperature": "20 degC", "diffusivity": "300 um^2/s",
      "activation_energy": "22 kJ/mol"}),
    ("soak-time", {"temperature": "68 degF"}, {"temperature": "20 degC"}, "time",
     {"depth": "2 mm", "fraction": "99 %", "diffusivity": "3e-10 m^2/s",
      "activation_energy": "22 kJ/mol"}),
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
        ({"diffusivity": "300 um^2/s (400 to 600)"}, "drying.diffusivity"),
        ({"diffusivity": "1500 um^2/s (1400 to 1600)"}, "drying.diffusivity"),
        ({"solvent": "acetone"}, "drying.diffusivity"),
        ({"water_limit": "0.5 %"}, "drying.water_limit"),
        ({"bath": "20 mL", "bath_ratio": "200"}, "drying.bath"),
        ({"soaks": "1"}, "drying.soaks"),
        ({"safety_share": "30 %"}, "drying.safety_share"),
    ],
)
def test_unsafe_house_values_are_refused(tmp_path, changes, key):
    path = differing(tmp_path, {f"drying.{name}": value for name, value in changes.items()})
    with pytest.raises(HouseFaults) as caught:
        house.load(overlay=path)
    faults = [fault for fault in str(caught.value).splitlines() if f"{key}:" in fault]
    assert faults
    assert all("allowed" in fault for fault in faults)


@pytest.mark.parametrize(
    ("solvent", "last", "complaint"),
    [
        ("2-propanol", "60 %", "of a crack as water as the 2-propanol dries off"),
        ("ethanol", "80 %", "of a crack as water as the ethanol dries off"),
        ("acetone", "95 %", "of a crack as water as the acetone dries off"),
        ("brine", "95 %", "no known solvent"),
    ],
)
def test_last_baths_that_end_wet_even_in_a_dry_room_are_refused(tmp_path, solvent, last, complaint):
    limits = {"first": "60 %", "middle": "60 %", "last": last}
    path = differing(tmp_path, {f"drying.places.{solvent}.{name}": value for name, value in limits.items()})
    with pytest.raises(HouseFaults, match=complaint):
        house.load(overlay=path)


def test_every_table_fills_and_marks_what_it_forbids(standard):
    mine = {name: table.compute(standard) for name, table in TABLES.items() if table.stage == "alcohol"}
    assert len(mine) >= 9
    for table in mine.values():
        assert table.rows
        assert len(table.columns) <= 8
        assert table.calculations
    assert all(isinstance(cell, Span) for cell in mine["soak-times"].rows[0][1:])
    assert mine["used-alcohol"].rows[0][2] == Mark("go", "yes")
    assert mine["used-alcohol"].rows[-1][2] == Mark("stop", "no")
    notes = " ".join(note for table in mine.values() for note in table.notes)
    assert "humidity of the room" in notes


def test_the_house_bench_dries_its_own_piece(standard):
    bench = Bench(standard)
    answer = bench.answer("soak-time", depth=bench.value("piece.crack_depth"))
    assert 10 < answer.results["time"] < 72
    assert answer.working()
    spirit = bench("bath-verdict", solvent="ethanol", mass_percent=93.84, bath="last")
    assert spirit["verdict"] == "move down one place"


@pytest.mark.parametrize("name", [n for n, c in CATALOGUE.items() if c.stage == "alcohol"])
def test_formulas_stay_inside_the_subset(name):
    assert complaints(CATALOGUE[name].kernel) == []
