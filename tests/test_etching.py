"""Etching: strengths and dilution, time in passes, what dissolves, nital and its refusals."""

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from support import STANDARD, changed_house, changed_standard, examples, numbers_in

from handbook_calc.compatibility import never_together
from handbook_calc.engine import house as house_module
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.data import rows
from handbook_calc.engine.faults import BadInput, HouseFaults, Refusal
from handbook_calc.engine.tables import TABLES, Mark, Refused, Span
from handbook_calc.etching import (
    STRENGTHS,
    bath_capacity,
    baume_from_gravity,
    density_from_baume,
    dilute_etchant,
    etch_depth,
    etch_gate,
    etch_time,
    etchant_from_crystals,
    etchant_rinses,
    ferric_chloride_density,
    ferric_chloride_strength,
    gravity_from_baume,
    hexahydrate_strength,
    iron_dissolved,
    neutraliser_mass,
    nital_acid,
    nital_percent,
    nital_strength,
)

SOME = examples(60)
STRENGTH = st.floats(1, 44)
TEMPERATURE = st.floats(10, 30)
VOLUME = st.floats(1, 5000)
BATH = st.floats(5, 32)
ENERGY = st.floats(5, 80)


def refusal(call) -> str:
    with pytest.raises(Refusal) as caught:
        call()
    return caught.value.code


# Strength


@given(st.floats(0, 70))
@SOME
def test_baume_and_gravity_are_inverse(baume):
    assert baume_from_gravity(gravity_from_baume(baume)) == pytest.approx(baume, abs=1e-9)
    assert density_from_baume(baume) < gravity_from_baume(baume)


@given(STRENGTH, TEMPERATURE)
@SOME
def test_strength_and_density_are_inverse(percent, temperature):
    density = ferric_chloride_density(percent, temperature)
    found = ferric_chloride_strength(density, temperature)
    assert found["mass_percent"] == pytest.approx(percent, abs=1e-9)
    assert found["concentration"] == pytest.approx(found["molarity"] * 162.195, rel=1e-12)
    assert found["hexahydrate_percent"] > found["mass_percent"]


@given(STRENGTH, STRENGTH, TEMPERATURE)
@SOME
def test_stronger_is_denser(one, other, temperature):
    low, high = sorted((one, other))
    lighter = ferric_chloride_density(low, temperature)
    assert lighter <= ferric_chloride_density(high, temperature)


@given(STRENGTH, TEMPERATURE, TEMPERATURE)
@SOME
def test_a_warm_liquid_reads_weak(percent, one, other):
    cold, warm = sorted((one, other))
    density = ferric_chloride_density(percent, warm)
    foot = ferric_chloride_density(1, cold)
    if density < foot:
        assert refusal(lambda: ferric_chloride_strength(density, cold)) == "outside-table"
    else:
        taken_for_cold = ferric_chloride_strength(density, cold)["mass_percent"]
        assert taken_for_cold <= percent + 1e-9


def test_no_answer_outside_the_density_table():
    assert refusal(lambda: ferric_chloride_strength(1.472, 30)) == "outside-table"
    assert refusal(lambda: ferric_chloride_strength(1.0075, 10)) == "outside-table"
    with pytest.raises(BadInput, match="density"):
        ferric_chloride_strength(1.48, 20)
    with pytest.raises(BadInput, match="temperature"):
        ferric_chloride_strength(1.4, 30.1)
    assert STRENGTHS[0] == 1
    assert STRENGTHS[-1] == 44


@pytest.mark.parametrize("row", rows("ferric_chloride_density"), ids=lambda row: row["mass_percent"])
def test_the_density_table_comes_back_and_between_its_columns_lies_their_mean(row):
    percent = float(row["mass_percent"])
    cold, usual, warm = (float(row[f"density_{degrees}"]) for degrees in (10, 20, 30))
    for temperature, density in ((10, cold), (20, usual), (30, warm)):
        assert ferric_chloride_density(percent, temperature) == pytest.approx(density, rel=1e-12)
    assert ferric_chloride_density(percent, 15) == pytest.approx((cold + usual) / 2, rel=1e-12)
    assert ferric_chloride_density(percent, 25) == pytest.approx((usual + warm) / 2, rel=1e-12)
    just_below, just_above = usual - 0.05 * (usual - cold), usual + 0.05 * (warm - usual)
    assert ferric_chloride_density(percent, 19.5) == pytest.approx(just_below, rel=1e-12)
    assert ferric_chloride_density(percent, 20.5) == pytest.approx(just_above, rel=1e-12)


@pytest.mark.parametrize(
    ("density", "temperature", "low", "high"), [(1.472, 30, 1.005, 1.468), (1.006, 10, 1.008, 1.475)]
)
def test_a_density_outside_the_table_is_told_its_ends(density, temperature, low, high):
    ends = [float(r[f"density_{temperature}"]) for r in rows("ferric_chloride_density")]
    assert (ends[0], ends[-1]) == (low, high)
    with pytest.raises(Refusal) as caught:
        ferric_chloride_strength(density, temperature)
    assert [low, high] == pytest.approx(numbers_in(caught.value.message)[2:4], abs=0.006)


def test_a_gravity_is_not_taken_for_a_density():
    # The reading of 42 degrees taken as g/cm3 would count a tenth of a per cent too much.
    right = ferric_chloride_strength(density_from_baume(42), 15.56)["mass_percent"]
    wrong = ferric_chloride_strength(gravity_from_baume(42), 15.56)["mass_percent"]
    assert 0.05 < wrong - right < 0.2


@given(STRENGTH, STRENGTH, VOLUME)
@SOME
def test_dilution_keeps_the_salt_and_the_mass(one, other, volume):
    target, stock = sorted((one, other))
    found = dilute_etchant(stock, target, volume)
    finished = volume * ferric_chloride_density(target, 20)
    assert found["stock_mass"] * stock == pytest.approx(finished * target, rel=1e-9)
    assert found["stock_mass"] + found["water_mass"] == pytest.approx(finished, rel=1e-9)
    assert found["stock"] * ferric_chloride_density(stock, 20) == pytest.approx(found["stock_mass"])
    assert found["water"] >= 0
    # Water of 20 degC weighs 0.9982 g/mL.
    assert found["water"] * 0.9982 == pytest.approx(found["water_mass"], rel=2e-5)
    # Volumes shrink or swell by a few parts in a hundred at most.
    assert found["stock"] + found["water"] == pytest.approx(volume, rel=0.03)


def test_water_does_not_strengthen():
    assert refusal(lambda: dilute_etchant(20, 20.1, 100)) == "not-weaker"
    assert dilute_etchant(20, 20, 100)["water"] == 0


@given(st.floats(1, 44), st.floats(1, 10_000))
@example(44.0, 100.0)
@example(44.0, 7.0)
@SOME
def test_crystals_and_their_strength_are_inverse(percent, volume):
    made = etchant_from_crystals(percent, volume)
    finished = volume * ferric_chloride_density(percent, 20)
    assert made["hexahydrate"] + made["water"] == pytest.approx(finished, rel=1e-12)
    strength = hexahydrate_strength(made["hexahydrate"], made["water"])
    assert strength == pytest.approx(percent, rel=1e-9)
    assert made["hexahydrate"] * 162.195 / 270.285 < made["hexahydrate"]


def test_too_many_crystals_are_refused():
    assert refusal(lambda: hexahydrate_strength(900, 100)) == "outside-table"
    # Of crystals 162.195 / 270.285 is ferric chloride: 44 % from 73.3 g in 100 g.
    crystals = 44 * 270.285 / 162.195
    assert hexahydrate_strength(crystals * 0.999, 100 - crystals * 0.999) == pytest.approx(43.956)
    assert refusal(lambda: hexahydrate_strength(crystals * 1.01, 100 - crystals * 1.01)) == "outside-table"


# Time


@given(st.floats(5, 300), BATH, BATH, ENERGY)
@SOME
def test_warmer_is_faster_and_no_pass_is_too_long(base, trial, today, energy):
    found = etch_time(base, trial, today, energy, 30, 300)
    if today > trial + 1e-6:
        assert found["total"] < base
    assert found["each"] <= 30 * (1 + 1e-9)
    assert found["each"] * found["passes"] == pytest.approx(found["total"], rel=1e-12)
    assert (found["passes"] - 1) * 30 < found["total"] + 1e-6
    assert found["verdict"] == ("long" if found["total"] > 300 else "go")


@given(st.floats(10, 200), BATH, BATH, ENERGY)
@SOME
def test_there_and_back_is_the_same_time(base, trial, today, energy):
    there = etch_time(base, trial, today, energy, 30, 300)["total"]
    if 1 <= there <= 900:
        back = etch_time(there, today, trial, energy, 30, 300)["total"]
        assert back == pytest.approx(base, rel=1e-9)


def test_a_warm_etchant_is_refused():
    assert refusal(lambda: etch_time(60, 20, 32.4, 20, 30, 300)) == "too-warm"
    assert etch_time(60, 20, 32.2, 20, 30, 300)["total"] < 60
    assert [etch_time(total, 20, 20, 20, 30, 300)["verdict"] for total in (300, 300.5)] == ["go", "long"]
    with pytest.raises(BadInput, match="pass_limit"):
        etch_time(60, 20, 20, 20, 0.5, 300)


# What dissolves


@given(st.floats(0.001, 1000))
@SOME
def test_iron_is_in_proportion_and_below_the_iron_of_the_salt(salt):
    iron = iron_dissolved(salt)
    assert iron_dissolved(2 * salt) == pytest.approx(2 * iron)
    assert iron == pytest.approx(salt * 55.845 / 162.195 / 2)
    # 2 FeCl3 + Fe -> 3 FeCl2: what comes out weighs what went in.
    assert 3 * salt / (2 * 162.195) * (55.845 + 70.9) == pytest.approx(salt + iron, rel=1e-9)


@given(VOLUME, STRENGTH, st.floats(1, 100))
@SOME
def test_a_bath_is_thrown_out_before_its_ceiling(volume, percent, spent):
    found = bath_capacity(volume, percent, spent)
    assert found["iron"] <= found["ceiling"] * (1 + 1e-12)
    salt = volume * ferric_chloride_density(percent, 20) * percent / 100
    assert found["ferric_chloride"] == pytest.approx(salt, rel=1e-12)
    assert found["iron"] == pytest.approx(found["ceiling"] * spent / 100)
    assert bath_capacity(volume, percent, 100)["iron"] == pytest.approx(found["ceiling"])


@given(st.floats(0, 100), st.floats(1, 1000), st.floats(4, 9))
@SOME
def test_depth_gives_the_mass_back(iron, area, density):
    depth = etch_depth(iron, area, density)
    assert depth * 1e-4 * area * density == pytest.approx(iron, rel=1e-9, abs=1e-15)


def test_units_do_not_change_an_answer():
    bench = Bench(None)
    for one, other, name in (
        (
            {"iron": "1 oz_avdp", "area": "15.5 in^2", "density": "7.88 g/cm^3"},
            {"iron": "28.349523125 g", "area": "99.99980 cm^2", "density": "7880 kg/m^3"},
            "etch-depth",
        ),
        (
            {"density": "1.4 g/cm^3", "temperature": "68 degF"},
            {"density": "1400 kg/m^3", "temperature": "20 degC"},
            "ferric-chloride-strength",
        ),
        (
            {"acid": "FeCl3", "amount": "1 lb"},
            {"acid": "ferric chloride", "amount": "453.59237 g"},
            "neutraliser-mass",
        ),
        (
            {"volume": "0.1 L", "percent": "2", "limit": "2 %", "alcohol": "ethyl alcohol"},
            {"volume": "100 mL", "percent": "2 %", "limit": "0.02", "alcohol": "ethanol"},
            "nital-acid",
        ),
        (
            {
                "base_time": "1 min", "base_temperature": "77 degF", "temperature": "59 degF",
                "activation_energy": "20000 J/mol", "pass_limit": "0.5 min", "longest": "5 min",
            },
            {
                "base_time": "60 s", "base_temperature": "25 degC", "temperature": "15 degC",
                "activation_energy": "20 kJ/mol", "pass_limit": "30 s", "longest": "300 s",
            },
            "etch-time",
        ),
    ):  # fmt: skip
        if name == "nital-acid":
            other = other | {"limit": "2 %"}
        first = bench.ask(name, **one).results
        second = bench.ask(name, **other).results
        for key, value in first.items():
            if isinstance(value, float):
                assert value == pytest.approx(second[key], rel=1e-6), (name, key)
            else:
                assert value == second[key]


# Making it harmless


@given(st.sampled_from(["ferric chloride", "nitric acid", "hydrochloric acid"]), st.floats(0, 5000))
@SOME
def test_as_many_moles_of_gas_as_of_bicarbonate(acid, amount):
    found = neutraliser_mass(acid, amount)
    moles = found["sodium_bicarbonate"] / 84.006
    assert found["carbon_dioxide"] == pytest.approx(moles * 24.055, rel=1e-4)
    codes = [reason[0] for reason in found["cautions"]]
    assert {"slowly", "open", "not-drain"} <= set(codes)
    assert ("rinse-first" in codes) == (acid == "ferric chloride")
    assert ("thin-first" in codes) == (acid == "nitric acid")
    assert ("air" in codes) == (found["carbon_dioxide"] > 100)


@pytest.mark.parametrize(("litres", "too_much"), [(99.6, False), (100.4, True)])
def test_more_than_100_litres_of_gas_are_too_much_for_a_room(litres, too_much):
    """A mole of nitric acid, 63.01 g, sets a mole free: 24.06 L at 20 degC."""
    mass = litres / (8.314462618 * 293.15 / 101.325) * 63.012
    found = neutraliser_mass("nitric acid", mass)
    assert found["carbon_dioxide"] == pytest.approx(litres, rel=1e-3)
    assert ("air" in {caution[0] for caution in found["cautions"]}) == too_much


def test_dissolved_iron_does_not_change_what_neutralises():
    # x mol of iron turn N mol of FeCl3 into N - 2x of it and 3x of FeCl2, which take 3 and 2.
    fresh = neutraliser_mass("ferric chloride", 162.195)["sodium_bicarbonate"] / 84.006
    for iron in (0.0, 0.2, 0.5):
        assert (1 - 2 * iron) * 3 + 3 * iron * 2 == pytest.approx(fresh)


# Nital


@given(st.floats(1, 100), st.floats(0.1, 3))
@SOME
def test_nital_adds_up_within_its_limits(volume, percent):
    found = nital_acid(volume, percent, 3, "ethanol")
    assert found["acid"] + found["ethanol"] == pytest.approx(volume)
    assert found["acid"] / volume * 100 == pytest.approx(percent)


@pytest.mark.parametrize(
    ("volume", "percent", "limit", "alcohol", "code"),
    [
        (100, 5.01, 3, "ethanol", "above-caution"),
        (100, 3.01, 3, "ethanol", "above-house-limit"),
        (100, 6.25, 2, "ethanol", "above-caution"),
        (100, 2.01, 2, "ethanol", "above-house-limit"),
        (100, 2, 2, "methanol", "wrong-alcohol"),
        (100, 2, 2, "2-propanol", "wrong-alcohol"),
        (100, 2, 2, "acetone", "wrong-alcohol"),
        (100, 2, 2, "other", "wrong-alcohol"),
        (100.1, 2, 2, "ethanol", "too-much"),
        (450, 33, 2, "other", "wrong-alcohol"),
    ],
)
def test_nital_refuses_with_its_reason(volume, percent, limit, alcohol, code):
    assert refusal(lambda: nital_acid(volume, percent, limit, alcohol)) == code


def test_nital_refusals_say_what_to_do():
    for inputs, words in (
        ((100, 6, 2, "ethanol"), ("5 %", "explosive", "2\u00a0%")),
        ((100, 3, 2, "ethanol"), ("2\u00a0%", "weaker")),
        ((100, 2, 2, "2-propanol"), ("2-propanol", "use ethanol")),
        ((500, 2, 2, "ethanol"), ("100\u00a0mL", "not be kept", "swab")),
    ):
        with pytest.raises(Refusal) as caught:
            nital_acid(*inputs)
        for word in words:
            assert word in caught.value.message


def test_no_house_may_raise_the_limit_over_the_caution():
    with pytest.raises(BadInput, match="limit"):
        nital_acid(100, 6, 6, "ethanol")
    with pytest.raises(BadInput, match=r"allowed is 0\.1 to 3 %.*potentially explosive"):
        nital_acid(100, 2, 3.01, "ethanol")


@given(st.floats(0.1, 19), st.floats(65, 70))
@SOME
def test_percent_and_molarity_are_inverse(percent, acid):
    made = nital_strength(percent, acid, 2)
    if 0.01 <= made["molarity"] <= 3:
        back = nital_percent(made["molarity"], acid)
        assert back["percent"] == pytest.approx(percent, rel=1e-9)
        if abs(percent - 5) > 1e-9:
            assert (back["verdict"] == "dangerous") == (percent > 5)
            assert (made["verdict"] == "dangerous") == (percent > 5)
    assert (made["verdict"] == "within") == (percent <= 2)


@pytest.mark.parametrize(
    ("percent", "verdict"),
    [(2, "within"), (2.01, "above the house"), (5, "above the house"), (5.01, "dangerous")],
)
def test_the_house_limit_is_allowed_and_five_per_cent_is_not_yet_over_the_caution(percent, verdict):
    assert nital_strength(percent, 65, 2)["verdict"] == verdict


# Gate

READY = {
    "etchant": "nital", "kind": "iron", "cracked": False, "chloride_clear": True, "trial": True,
    "water_film": True, "since_degreased": 5, "etchant_age": 1, "gate": 10, "oldest": 8, "sulphide": False,
}  # fmt: skip


@pytest.mark.parametrize(
    ("change", "verdict", "code"),
    [
        ({}, "go", "ready"),
        ({"since_degreased": 10}, "go", "ready"),
        ({"etchant_age": 8}, "go", "ready"),
        ({"since_degreased": 10.1}, "wait", "late"),
        ({"etchant_age": 8.1}, "wait", "old-nital"),
        ({"etchant_age": 8.1, "etchant": "ferric chloride"}, "wait", "old-etchant"),
        ({"trial": False}, "wait", "no-trial"),
        ({"water_film": False}, "wait", "greasy"),
        ({"chloride_clear": False}, "stop", "chloride-in"),
        ({"cracked": True}, "go", "ready"),
        ({"cracked": True, "etchant": "ferric chloride"}, "stop", "cracks"),
        ({"kind": "pallasite"}, "go", "ready"),
        ({"kind": "mesosiderite"}, "go", "metal-alone"),
        ({"kind": "pallasite", "etchant": "ferric chloride"}, "stop", "silicate"),
        ({"kind": "mesosiderite", "etchant": "ferric chloride"}, "stop", "silicate"),
        ({"sulphide": True}, "wait", "sulphide"),
        ({"sulphide": None}, "wait", "sulphide-unknown"),
        ({"sulphide": None, "chloride_clear": False}, "stop", "sulphide-unknown"),
    ],
)
def test_gate(change, verdict, code):
    found = etch_gate(**(READY | change))
    assert found["verdict"] == verdict
    assert code in [reason[0] for reason in found["reasons"]]


@pytest.mark.parametrize("etchant", ["nital", "ferric chloride"])
@pytest.mark.parametrize(
    ("change", "piece"),
    [
        ({"kind": "pallasite"}, "pallasite or mesosiderite"),
        ({"kind": "mesosiderite"}, "pallasite or mesosiderite"),
        ({"cracked": True}, "cracked piece"),
        ({"sulphide": True}, "sulphide-rich piece"),
    ],
)
def test_gate_and_register_say_the_same_of_a_piece(etchant, change, piece):
    """What never meets gets no go; what gets a go is no pair that never meets."""
    gate = etch_gate(**(READY | {"etchant": etchant} | change))["verdict"]
    assert (gate != "go") == (never_together(etchant, piece)["verdict"] == "never")


def test_gate_names_everything_at_once():
    found = etch_gate(
        **(READY | {"trial": False, "water_film": False, "chloride_clear": False, "etchant_age": 99})
    )
    assert found["verdict"] == "stop"
    assert len(found["reasons"]) == 4


@given(STRENGTH)
@SOME
def test_three_chlorides_come_with_each_iron_of_the_etchant(percent):
    salt = ferric_chloride_density(percent, 20) * 1000 * percent / 100
    expected = salt * 3 * 35.45 / 162.195
    assert etchant_rinses(percent, 0.05, 2, 200)["chloride"] == pytest.approx(expected, rel=1e-5)


def test_rinses_after_the_etchant_are_counted_in_milligrams():
    """Each bath leaves a hundredth; four take it to a hundred-millionth, and not to a little less."""
    chloride = 1000 * etchant_rinses(20, 0.05, 1, 99)["chloride"]
    assert etchant_rinses(20, chloride / 1e8 * 1.0005, 1, 99)["baths"] == 4
    assert etchant_rinses(20, chloride / 1e8 * 0.9995, 1, 99)["baths"] == 5


@given(st.floats(1, 43), st.floats(0.1, 20), st.floats(100, 2000))
@SOME
def test_a_stronger_etchant_never_asks_for_fewer_rinses(percent, drag_out, bath):
    weak = etchant_rinses(percent, 0.05, drag_out, bath)
    strong = etchant_rinses(percent + 1, 0.05, drag_out, bath)
    assert strong["chloride"] > weak["chloride"]
    assert strong["baths"] >= weak["baths"]
    left = 1000 * weak["chloride"] * (drag_out / (drag_out + bath)) ** weak["baths"]
    assert left <= 0.05 * (1 + 1e-6)


# House rules and tables


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("etching.strength", "39 %"),
        ("etching.etchant_volume", "50 mL"),
        ("etching.nital_percent", "3 %"),
        ("etching.nital_limit", "6 %"),
        ("etching.alcohol", "isopropanol"),
        ("etching.test_patch", "40 s"),
        ("etching.pass_limit", "400 s"),
        ("etching.base_time", "400 s"),
        ("etching.base_temperature", "35 degC"),
        ("etching.temperature", "35 degC"),
        ("etching.activation_energy", "60 kJ/mol (12 to 50)"),
    ],
)
def test_unsafe_or_contradictory_house_values_are_faults(tmp_path, key, value):
    text, line = changed_standard(STANDARD.read_text(encoding="utf-8"), key, value)
    changed = tmp_path / "house.yml"
    changed.write_text(text, encoding="utf-8")
    with pytest.raises(HouseFaults) as caught:
        house_module.load(changed)
    message = str(caught.value)
    assert f":{line}: {key}: {value}" in message
    assert "allowed is" in message


def test_face_ph_limits_must_not_cross(tmp_path):
    with pytest.raises(HouseFaults, match=r"etching.face_ph_low: 7.5 is not below"):
        changed_house(tmp_path, {"etching.face_ph_low": "7.5", "etching.face_ph_high": "7.2"})


ETCHING_TABLES = [name for name, table in TABLES.items() if table.stage == "etching"]


@pytest.mark.parametrize("name", ETCHING_TABLES)
def test_tables_fill_and_fit_a_phone(house, name):
    filled = TABLES[name].compute(house)
    assert len(filled.columns) <= 8
    assert filled.calculations
    assert filled.sources
    for row in filled.rows:
        for cell in row:
            if isinstance(cell, float):
                assert math.isfinite(cell)
            if isinstance(cell, Span):
                assert cell.low <= cell.value <= cell.high


def test_nital_table_refuses_beyond_the_house_limit(house):
    filled = TABLES["nital-recipes"].compute(house)
    for row in filled.rows:
        for column, cell in zip(filled.columns, row, strict=True):
            if column.group in ("3 % by volume", "6 % by volume") or row[0] > 100:
                assert column.group == "" or cell is None or isinstance(cell, Refused)
    reasons = {cell.reason for row in filled.rows for cell in row if isinstance(cell, Refused)}
    assert len(reasons) == 5


def test_old_recipe_table_stops_one_molar(house):
    rows = {row[0]: row[2] for row in TABLES["nital-strengths"].compute(house).rows}
    assert rows[1.0] == Mark("stop", "dangerous")
    assert rows[0.1].state == "go"
