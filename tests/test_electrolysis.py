"""Electrolysis: limits, monotony, inverse pairs, traps, refusals, house rules."""

import csv
import math
from pathlib import Path

import chemicals
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from support import ROOT, differing, examples, numbers_in

from handbook_calc import electrolysis as stage
from handbook_calc.engine import house as house_module
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.directives import find
from handbook_calc.engine.faults import BadInput, HouseFaults, Refusal
from handbook_calc.engine.subset import complaints
from handbook_calc.engine.tables import TABLES, Mark, Refused, Span

SOME = examples(60)
AREA = st.floats(1, 2000)
CURRENT = st.floats(0.001, 20)
OURS = [c for c in CATALOGUE.values() if c.stage == "electrolysis"]


def ask(name, **written):
    return Bench(None).ask(name, **written).results


def refused(code, name, **written):
    with pytest.raises(Refusal) as caught:
        Bench(None).ask(name, **written)
    assert caught.value.code == code
    assert "{" not in caught.value.message
    return caught.value.message


@pytest.mark.parametrize("calculation", OURS, ids=lambda c: c.name)
def test_formulas_stay_in_the_subset_that_pages_can_run(calculation):
    assert complaints(calculation.kernel) == []


# --- bath ----------------------------------------------------------------------------------------


@given(st.floats(5, 100), st.floats(5, 100), st.floats(2, 50), st.floats(0, 0.99))
@SOME
def test_liquid_and_piece_together_fill_the_box(length, width, depth, share):
    piece = share * length * width * depth
    assume(piece <= 50_000)
    volume = stage.bath_volume(length, width, depth, piece)
    assert volume * 1000 + piece == pytest.approx(length * width * depth, rel=1e-12)


def test_cover_depth_agrees_with_the_filled_box():
    answer = stage.cover_depth(30, 20, 20, 10, 8, 5, 200, 3, 4)
    assert answer["liquid"] == pytest.approx(stage.bath_volume(30, 20, answer["level"], 200))
    assert answer["level"] + answer["freeboard"] == 20


def test_the_sides_typed_into_the_box_of_the_page_are_those_of_the_reference_piece():
    """The box wants centimetres and the standard holds millimetres, so the page types them out."""
    page = (ROOT / "docs" / "procedures" / "electrolysis.md").read_text(encoding="utf-8")
    box = next(asked for asked in find(page) if asked.name == "cover-depth")
    standard = house_module.load(ROOT / "docs" / "house-standard.yml")
    typed = {name: float(text.split()[0]) for name, text in box.literals.items()}
    assert typed["piece_length"] * 10 == pytest.approx(standard["piece.length"])
    assert typed["piece_width"] * 10 == pytest.approx(standard["piece.width"])
    assert typed["piece_height"] * 10 == pytest.approx(standard["piece.thickness"])
    solid = standard["piece.mass"] / standard["abrasives.density"]
    assert typed["volume"] == pytest.approx(solid, rel=0.005)


def test_a_piece_may_lie_either_way_but_not_stick_out():
    assert stage.cover_depth(30, 20, 20, 19, 29, 5, 200, 3, 4)
    message = refused(
        "does-not-fit", "cover-depth", tub_length="30 cm", tub_width="20 cm", tub_height="20 cm",
        piece_length="31 cm", piece_width="8 cm", piece_height="5 cm", volume="200 cm^3",
        cover="3 cm", least_freeboard="4 cm",
    )  # fmt: skip
    assert "take a larger tub" in message


@pytest.mark.parametrize(
    ("length", "width", "fits"),
    [
        (29, 19, True), (19, 29, True), (30, 20, True), (20, 30, True),
        (29, 21, False), (21, 29, False), (31, 8, False), (20, 31, False), (21, 21, False),
    ],
)  # fmt: skip
def test_a_piece_fits_a_tub_of_30_by_20_along_or_across(length, width, fits):
    if fits:
        assert stage.cover_depth(30, 20, 20, length, width, 5, 200, 3, 4)["level"] == 8
        return
    with pytest.raises(Refusal, match="does not lie flat"):
        stage.cover_depth(30, 20, 20, length, width, 5, 200, 3, 4)


def test_a_rim_that_is_just_enough_and_a_block_that_is_just_full_pass():
    assert stage.cover_depth(30, 20, 12, 10, 8, 5, 400, 3, 4)["freeboard"] == 4
    with pytest.raises(Refusal, match="take a higher tub"):
        stage.cover_depth(30, 20, 12, 10, 8, 5, 400, 3, 4.01)
    with pytest.raises(Refusal, match="one of the units is wrong"):
        stage.cover_depth(30, 20, 12, 10, 8, 5, 400.01, 3, 4)


@pytest.mark.parametrize("piece", [1000.0, 1500.0])
def test_a_piece_as_large_as_the_filled_box_or_larger_is_refused(piece):
    with pytest.raises(Refusal, match="take a larger tub"):
        stage.bath_volume(10, 10, 10, piece)


def test_salt_above_the_bench_limit_is_refused_with_what_to_do_instead():
    message = refused(
        "too-strong", "electrolyte-mass", volume="1 L", strength="60 g/L", strength_limit="50 g/L"
    )
    assert "move the plates nearer" in message


def test_without_a_house_the_strongest_published_bath_is_the_limit():
    assert ask("electrolyte-mass", volume="1 L", strength="50 g/L") == {"mass": 50}
    refused("too-strong", "electrolyte-mass", volume="1 L", strength="50.1 g/L")
    refused(
        "too-strong", "concentrate-volume", volume="1 L", strength="51 g/L",
        concentrate_percent="47 %", concentrate_density="1.48 g/cm^3",
    )  # fmt: skip


def test_crystals_taken_for_dry_salt_give_a_bath_of_a_third():
    crystals = stage.hydrate_mass(20, "sodium carbonate decahydrate")
    assert 20 / crystals == pytest.approx(0.3704, abs=0.0001)


@pytest.mark.parametrize(
    ("written", "reason"),
    [
        ("washing soda", "read the label"),
        ("table salt", "chlorine"),
        ("NaCl", "chlorine"),
        ("salt", "may mean table salt"),
        ("baking soda", "too weakly alkaline"),
    ],
)
def test_a_name_that_may_harm_is_refused_with_the_reason(written, reason):
    with pytest.raises(BadInput, match=reason):
        ask("electrolyte-conductivity", salt=written, mass_percent="2 %", temperature="20 degC")


@given(st.floats(0.1, 100), st.floats(0.5, 50), st.floats(10, 90), st.floats(1.05, 1.8))
@SOME
def test_concentrate_holds_the_salt_asked_for(volume, strength, percent, density):
    assume(percent * density * 10 > strength)
    answer = stage.concentrate_volume(volume, strength, percent, density, 50.0)
    held = answer["concentrate"] * density * percent / 100
    assert held == pytest.approx(volume * strength, rel=1e-12)
    assert answer["water"] + answer["concentrate"] / 1000 == pytest.approx(volume, rel=1e-12)


@given(st.floats(1, 200), st.floats(0.2, 50))
@SOME
def test_warming_depends_on_strength_alone_and_grows_with_it(strength, volume):
    rise = stage.solution_warming(strength * volume, volume, "sodium hydroxide")["temperature_rise"]
    one = stage.solution_warming(strength, 1.0, "sodium hydroxide")["temperature_rise"]
    assert rise == pytest.approx(one, rel=1e-9)
    assert stage.solution_warming(strength * 1.1, 1.0, "sodium hydroxide")["temperature_rise"] > one


def test_a_concentrate_weaker_than_the_bath_is_refused_with_what_it_holds():
    """3 % of 1.03 g/mL is 30.9 g/L."""
    message = refused(
        "too-weak", "concentrate-volume", volume="1 L", strength="40 g/L",
        concentrate_percent="3 %", concentrate_density="1.03 g/cm^3",
    )  # fmt: skip
    assert numbers_in(message) == [3, 30.9, 40]


def test_what_is_no_bath_any_more_gets_no_warming():
    assert stage.solution_warming(500.0, 2.0, "sodium hydroxide")["temperature_rise"] > 50
    message = refused("no-bath", "solution-warming", mass="600 g", volume="2 L", solute="sodium hydroxide")
    assert numbers_in(message) == [300]


@pytest.mark.parametrize(
    ("solute", "strength", "caution"),
    [
        ("sodium hydroxide", 1, "solid into cold water, slowly"),
        ("sodium hydroxide", 100, "solid into cold water, in portions"),
        ("sodium carbonate decahydrate", 1, "cools"),
    ],
)
def test_a_little_heat_is_heat_and_a_little_cold_is_cold(solute, strength, caution):
    answer = stage.solution_warming(strength, 1.0, solute)
    assert answer["caution"] == caution
    if strength == 1:
        assert 0 < abs(answer["temperature_rise"]) < 1


# --- conductivity --------------------------------------------------------------------------------

# Limiting conductivities of the ions at 25 degC, S cm2 for each charge, from the library chemicals.
IONS = {"potassium carbonate": 73.48 + 69.3, "sodium carbonate": 50.08 + 69.3}
MASSES = {"potassium carbonate": 138.205, "sodium carbonate": 105.988}
FORMULAS = {"potassium carbonate": "K2CO3", "sodium carbonate": "Na2CO3"}


def library_rows():
    folder = Path(chemicals.__file__).parent / "Electrolytes"
    path = folder / "McCleskey Electrical Conductivity.tsv"
    with path.open(encoding="utf-8") as file:
        return {row["formula"]: row for row in csv.DictReader(file, delimiter="\t")}


def library_molar(salt, molality, temperature):
    """S cm2/mol as the library's coefficients and multiplier give it."""
    row = {k: v for k, v in library_rows()[FORMULAS[salt]].items() if k not in ("formula", "CASRN")}
    c1, c2, c3, d1, d2, d3, b, multiplier = map(float, row.values())
    limiting = c1 * temperature**2 + c2 * temperature + c3
    falling = d1 * temperature**2 + d2 * temperature + d3
    root = math.sqrt(molality)
    return multiplier * (limiting - falling * root / (1 + b * root))


def our_molar(salt, percent, temperature):
    """S cm2/mol from our table; the density makes less than one percent below 1 %."""
    conductivity = stage.electrolyte_conductivity(salt, percent, temperature) / 1000
    moles_in_cm3 = percent / 100 * 1.01 / MASSES[salt]
    return conductivity / moles_in_cm3


@pytest.mark.parametrize("salt", IONS)
@pytest.mark.parametrize("percent", [0.5, 1, 2, 5, 10])
def test_no_solution_conducts_better_than_its_free_ions(salt, percent):
    """Kohlrausch: the molar conductivity falls with strength from the sum over the ions."""
    assert our_molar(salt, percent, 25) < 2 * IONS[salt]


def test_the_doubled_sodium_carbonate_of_one_library_is_caught():
    """The held multiplier breaks the bound above; halved, the row agrees with our table."""
    molality = 0.5 / 99.5 * 1000 / 105.988
    held = library_molar("sodium carbonate", molality, 25)
    assert held > 1.5 * 2 * IONS["sodium carbonate"]
    assert held / 2 == pytest.approx(our_molar("sodium carbonate", 0.5, 25), rel=0.12)
    assert held != pytest.approx(our_molar("sodium carbonate", 0.5, 25), rel=0.5)
    potassium = library_molar("potassium carbonate", 0.5 / 99.5 * 1000 / 138.205, 25)
    assert potassium == pytest.approx(our_molar("potassium carbonate", 0.5, 25), rel=0.08)


@given(st.sampled_from(stage.SALTS), st.floats(0.5, 4.9), st.floats(10, 39))
@SOME
def test_conductivity_rises_with_strength_and_warmth(salt, percent, temperature):
    here = stage.electrolyte_conductivity(salt, percent, temperature)
    assert stage.electrolyte_conductivity(salt, percent + 0.1, temperature) > here
    assert stage.electrolyte_conductivity(salt, percent, temperature + 1) > here


@pytest.mark.parametrize(
    ("salt", "percent"),
    [("sodium hydroxide", 5.01), ("sodium hydroxide", 0.49), ("potassium carbonate", 10.01)],
)
def test_conductivity_is_never_extrapolated(salt, percent):
    message = refused(
        "outside-table", "electrolyte-conductivity", salt=salt, mass_percent=f"{percent} %",
        temperature="20 degC",
    )  # fmt: skip
    assert "nothing is guessed beyond its ends" in message
    strongest = 5 if salt == "sodium hydroxide" else 10
    assert numbers_in(message) == [0.5, strongest, percent]


@pytest.mark.parametrize(
    ("salt", "first", "second"),
    [("potassium carbonate", (0.5, 7.0), (1, 13.6)), ("sodium hydroxide", (2, 93.1), (5, 206))],
)
def test_between_points_of_the_table_the_line_is_straight_on_logarithmic_axes(salt, first, second):
    """So at the geometric mean of two strengths stands the geometric mean of their conductivities."""
    middle = math.sqrt(first[0] * second[0])
    expected = math.sqrt(first[1] * second[1])
    assert stage.electrolyte_conductivity(salt, middle, 20) == pytest.approx(expected, rel=1e-12)


def test_table_points_come_back_as_printed():
    for salt, percent, value in zip(
        stage.CONDUCTIVITY_SALTS, stage.CONDUCTIVITY_PERCENTS, stage.CONDUCTIVITIES, strict=True
    ):
        assert stage.electrolyte_conductivity(salt, percent, 20) == pytest.approx(value, rel=1e-12)


# --- cell ----------------------------------------------------------------------------------------


@given(AREA, st.floats(0.01, 100), st.floats(0.01, 20))
@SOME
def test_the_smaller_of_area_and_supply_sets_the_current(area, density, limit):
    answer = stage.cathode_current(area, density, limit, None, None, None)
    assert answer["current"] == min(area * density / 1000, limit)
    assert answer["limited_by"] == ("supply" if area * density / 1000 > limit else "area")


@given(AREA, st.floats(0.01, 20))
@SOME
def test_density_and_current_are_inverse(area, density):
    set_ = stage.cathode_current(area, density, 100, None, None, None)
    assume(0.0001 < set_["current"] < 100)
    back = stage.current_density(set_["current"], area, 1.0)
    assert back["density"] == pytest.approx(density, rel=1e-12)
    assume(abs(density - 1) > 1e-9)
    assert (back["verdict"] == "within the limit") == (set_["verdict"] == "go") == (density <= 1)


@pytest.mark.parametrize(
    ("change", "reasons"),
    [
        ({}, []),
        ({"kind": "iron", "grade": "G4", "density_limit": 0.05}, []),
        ({"current_density": 1.01}, ["density"]),
        ({"current_density": 1.0}, []),
        ({"density_limit": 0.04}, ["density"]),
        ({"kind": "pallasite"}, ["stony"]),
        ({"kind": "mesosiderite", "grade": "G5", "current_density": 5.0}, ["density", "stony", "loose"]),
        ({"grade": "G5"}, ["loose"]),
    ],
)
def test_no_current_beyond_the_limit_nor_on_a_stony_or_loose_piece(change, reasons):
    """Common practice: soak only."""
    given = {"area": 100.0, "current_density": 0.05, "supply_limit": 3.0} | change
    found = stage.cathode_current(**given)
    assert [reason[0] for reason in found["reasons"]] == reasons
    assert found["verdict"] == ("stop" if reasons else "go")


def test_a_cell_that_no_lead_bears_is_refused():
    assert stage.cell_current(17.6, 100.0, 10.0, 100.0, 1.7)["current"] == pytest.approx(15.9)
    message = refused(
        "too-much", "cell-current", voltage="12 V", conductivity="25 mS/cm", gap="1 cm", area="500 cm^2",
        decomposition_voltage="1.7 V",
    )  # fmt: skip
    assert "129" in message
    assert "16" in message


def test_a_fixed_charger_is_refused_for_a_small_piece():
    answer = Bench(None).answer("current-density", current=5.0, area=535.0, density_limit=1.0)
    assert answer.results["verdict"] == "too strong"
    sentence = answer.calculation.result("verdict").sentence("too strong", answer.given())
    assert "a fixed charger is not for this piece" in sentence
    for limit in (0.1, 0.5, 1.0):
        assert stage.current_density(0.1 * limit * 1.01, 100.0, limit)["verdict"] == "too strong"
        assert stage.current_density(0.1 * limit * 0.99, 100.0, limit)["verdict"] == "within the limit"
    at_limit = stage.current_density(answer.results["most"], 535.0, 1.0)
    assert at_limit["verdict"] == "within the limit"


@given(st.floats(2, 30), st.floats(0.1, 200), st.floats(1, 50), AREA)
@SOME
def test_cell_current_obeys_ohm_beyond_decomposition(voltage, conductivity, gap, area):
    assume((voltage - 1.7) * conductivity / 1000 * area / gap < stage.MOST_OF_LEAD)
    answer = stage.cell_current(voltage, conductivity, gap, area, 1.7)
    assert answer["current"] * answer["resistance"] == pytest.approx(voltage - 1.7, rel=1e-9)
    twice = stage.cell_current(voltage, conductivity, 2 * gap, area, 1.7)
    assert twice["current"] == pytest.approx(answer["current"] / 2, rel=1e-9)
    assert answer["power"] > answer["current"] ** 2 * answer["resistance"]


# Common practice, no source: at about 12 V the ammeter of a charger reads about 0.02 A in distilled water with
# a rusty piece in it, and about 2.2 A after about 2 US fl oz of liquid carbonate, in a shallow tub. Neither the
# tub nor the plates are told. Assumed: 30 x 20 cm of liquid 5 to 10 cm deep, plates of 50 to 300 cm2, 2 to 10 cm off.
HABIT_BEFORE, HABIT_AFTER, HABIT_OUNCES = 0.02, 2.2, 2.0


def habit_conductivity(depth):
    """Conductivity in mS/cm of the tub of habit, filled to `depth` in cm."""
    salt = 0.47 * 1.48 * 29.5735 * HABIT_OUNCES
    percent = stage.bath_percent(salt, 30 * 20 * depth / 1000)
    return stage.electrolyte_conductivity("potassium carbonate", percent, 20.0)


def test_the_habit_of_two_ounces_lies_within_what_its_tub_may_have_been():
    least = stage.cell_current(12.0, habit_conductivity(10), 10.0, 50.0, 1.7)["current"]
    most = stage.cell_current(12.0, habit_conductivity(5), 4.0, 200.0, 1.7)["current"]
    assert least < HABIT_AFTER < most


def test_the_water_of_habit_is_neither_pure_nor_salty():
    """The geometry falls out of the quotient of two readings in one cell."""
    water = 1000 * habit_conductivity(8) * HABIT_BEFORE / HABIT_AFTER
    assert 5 < water < 800  # uS/cm: above distilled water in air, below hard tap water


def test_no_current_is_given_at_the_decomposition_voltage():
    message = refused(
        "no-gas", "cell-current", voltage="1.7 V", conductivity="25 mS/cm", gap="4 cm",
        area="100 cm^2", decomposition_voltage="1.7 V",
    )  # fmt: skip
    assert "raise the voltage" in message


@given(st.floats(0.5, 5), st.floats(10, 1000), st.sampled_from(stage.WIRES))
@SOME
def test_wire_drop_falls_with_the_square_of_the_diameter(diameter, length, material):
    one = stage.wire_drop(0.1, length, diameter, material)
    assert stage.wire_drop(0.1, length, 2 * diameter, material) == pytest.approx(one / 4, rel=1e-9)
    assert stage.wire_drop(0.1, 2 * length, diameter, material) == pytest.approx(2 * one, rel=1e-9)


@pytest.mark.parametrize(
    ("amperes", "inches"), [(1, 0.0047), (2, 0.0074), (3, 0.0097), (4, 0.0117), (10, 0.0216)]
)
def test_fusing_currents_of_the_printed_table(amperes, inches):
    """Preece's table of iron wire, to the last printed digit of the diameter."""
    low = stage.fusing_current((inches - 0.00005) * 25.4, "iron")
    high = stage.fusing_current((inches + 0.00005) * 25.4, "iron")
    assert low < amperes < high


def test_a_wire_near_melting_and_a_stainless_one_are_refused():
    assert "thicker wire" in refused(
        "wire-too-thin", "wire-drop", current="3 A", length="1 m", diameter="0.5 mm", material="iron"
    )
    with pytest.raises(BadInput, match="hexavalent chromium"):
        ask("wire-drop", current="1 A", length="1 m", diameter="1 mm", material="stainless steel")


# --- gas -----------------------------------------------------------------------------------------


@given(CURRENT, st.floats(0, 60), st.floats(60, 110))
@SOME
def test_twice_as_much_hydrogen_as_oxygen(current, temperature, pressure):
    hydrogen = stage.hydrogen_rate(current, temperature, pressure)
    assert hydrogen == pytest.approx(2 * stage.oxygen_rate(current, temperature, pressure), rel=1e-12)
    assert stage.hydrogen_rate(current, temperature + 5, pressure) > hydrogen


@given(CURRENT, st.floats(0.1, 1000))
@SOME
def test_gas_and_water_weigh_the_same(current, hours):
    """Mass is conserved: 2.016 g of hydrogen and 15.999 g of oxygen from 18.015 g of water."""
    hydrogen = stage.hydrogen_rate(current, 0, 101.325) / 22.413969 * hours
    mass = hydrogen * 2.01588 + hydrogen / 2 * 31.9988
    assert stage.water_consumed(current, hours) == pytest.approx(mass, rel=1e-4)


# --- materials, house, tables --------------------------------------------------------------------


@pytest.mark.parametrize("role", ["anode", "hanger", "tub"])
@pytest.mark.parametrize("material", ["stainless steel", "aluminium", "zinc", "galvanised steel"])
def test_poison_and_alkali_eaten_metals_are_never_used(role, material):
    answer = Bench(None).answer("bath-material", material=material, role=role)
    assert answer.results["verdict"] == "never"
    word = "hexavalent chromium" if "stainless" in material else "hydrogen"
    assert word in answer.show("reasons")


@pytest.mark.parametrize("salt", ["sodium chloride", "calcium chloride", "sea water"])
def test_no_chloride_is_an_electrolyte(salt):
    answer = Bench(None).answer("bath-material", material=salt, role="electrolyte")
    assert answer.results["verdict"] == "never"
    assert "chlorine" in answer.show("reasons")


def test_every_reason_of_the_data_has_its_sentence_and_every_sentence_its_use():
    assert set(stage.MATERIAL_REASONS) == set(stage.BATH_REASONS)


@pytest.mark.parametrize(
    ("key", "value", "complaint"),
    [
        ("anode", "stainless steel", "hexavalent chromium"),
        ("tub", "aluminium", "makes hydrogen"),
        ("hanger", "copper", "plates copper"),
        ("strength", "80 g/L", "strength_limit"),
        ("current_density", "5 mA/cm^2", "density_limit"),
        ("voltage", "1.5 V", "the cell would do nothing"),
    ],
)
def test_a_house_value_that_harms_is_a_fault_at_its_line(tmp_path, key, value, complaint):
    path = differing(tmp_path, {f"electrolysis.{key}": value})
    with pytest.raises(HouseFaults, match=complaint) as caught:
        house_module.load(overlay=path)
    assert any(f.file.endswith(path.name) and f.line == 3 for f in caught.value.faults)


@pytest.mark.parametrize(
    "table", [t for t in TABLES.values() if t.stage == "electrolysis"], ids=lambda t: t.id
)
def test_tables_fill_and_stay_narrow(house, table):
    filled = table.compute(house)
    assert filled.rows
    assert len(filled.columns) <= 8
    assert "nan" not in filled.csv().lower()
    for row in filled.rows:
        for cell in row:
            if isinstance(cell, Span):
                assert cell.low <= cell.value <= cell.high


def test_tables_mark_what_must_not_be_done(house):
    settings_table = TABLES["current-settings"].compute(house)
    assert all(isinstance(row[-1], Mark) and row[-1].state == "stop" for row in settings_table.rows)
    drops = TABLES["wire-drops"].compute(house)
    assert any(isinstance(cell, Refused) for row in drops.rows for cell in row)


# --- units and ranges ----------------------------------------------------------------------------

SAME = [
    ("bath-volume", {"length": "10 inch", "width": "8 inch", "depth": "4 inch", "piece_volume": "3 in^3"},
     {"length": "254 mm", "width": "20.32 cm", "depth": "0.1016 m",
      "piece_volume": "49.161192 mL"}),
    ("electrolyte-mass", {"volume": "1 gal", "strength": "20 g/L"},
     {"volume": "3.785411784 L", "strength": "20000 mg/L"}),
    ("hydrate-mass", {"mass": "2 oz_avdp", "hydrate": "sodium carbonate decahydrate"},
     {"mass": "56.69904625 g", "hydrate": "Na2CO3.10H2O"}),
    ("solution-warming", {"mass": "1 lb", "volume": "4 gal", "solute": "sodium hydroxide"},
     {"mass": "453.59237 g", "volume": "15.141647136 L", "solute": "lye"}),
    ("electrolyte-conductivity", {"salt": "K2CO3", "mass_percent": "2 %", "temperature": "77 degF"},
     {"salt": "potassium carbonate", "mass_percent": "20000 ppm", "temperature": "25 degC"}),
    ("cathode-current", {"area": "10 in^2", "current_density": "1 mA/cm^2", "supply_limit": "3 A"},
     {"area": "64.516 cm^2", "current_density": "10 A/m^2", "supply_limit": "3000 mA"}),
    ("wire-drop", {"current": "500 mA", "length": "2 ft", "diameter": "0.04 inch", "material": "iron"},
     {"current": "0.5 A", "length": "60.96 cm", "diameter": "1.016 mm", "material": "Iron"}),
    ("hydrogen-rate", {"current": "1 A", "temperature": "68 degF", "pressure": "1 atm"},
     {"current": "1000 mA", "temperature": "20 degC", "pressure": "760 mmHg"}),
]  # fmt: skip


@pytest.mark.parametrize(("name", "one", "other"), SAME, ids=[row[0] for row in SAME])
def test_the_answer_does_not_depend_on_the_units(name, one, other):
    first, second = ask(name, **one), ask(name, **other)
    for key, value in first.items():
        if isinstance(value, float):
            assert second[key] == pytest.approx(value, rel=1e-6), key
        elif isinstance(value, str):
            assert second[key] == value


INSIDE = {
    "bath-volume": ("length", "201 cm", {"width": "10 cm", "depth": "5 cm", "piece_volume": "0 cm^3"}),
    "electrolyte-mass": ("strength", "0.05 g/L", {"volume": "1 L"}),
    "electrolyte-conductivity": (
        "temperature", "45 degC", {"salt": "sodium carbonate", "mass_percent": "2 %"}),
    "cell-current": ("voltage", "31 V", {"conductivity": "25 mS/cm", "gap": "4 cm",
                     "area": "100 cm^2", "decomposition_voltage": "1.7 V"}),
    "hydrogen-rate": ("pressure", "49 kPa", {"current": "1 A", "temperature": "20 degC"}),
    "water-consumed": ("time", "-1 h", {"current": "1 A"}),
}  # fmt: skip


@pytest.mark.parametrize("name", INSIDE)
def test_just_outside_the_range_is_refused_by_name(name):
    argument, value, rest = INSIDE[name]
    with pytest.raises(BadInput, match=rf"{argument} = .*allowed is"):
        ask(name, **rest, **{argument: value})


@given(st.data())
@SOME
def test_plain_numbers_never_give_a_result_that_is_not_finite(data):
    """Any calculation of plain quantities, anywhere in its declared ranges."""
    plain = [c for c in OURS if all(type(d) in (stage.Quantity,) for d in c.inputs)]
    calculation = data.draw(st.sampled_from(plain))
    values = {d.name: data.draw(st.floats(d.low, d.high), label=d.name) for d in calculation.inputs}
    try:
        answer = Bench(None).answer(calculation.name, **values)
    except Refusal:
        return
    for value in answer.results.values():
        if isinstance(value, float):
            assert math.isfinite(value)
