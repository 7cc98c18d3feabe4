"""Waste: one container by the worst property, refusals first, citric acid for caustic."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import STANDARD, changed_house, changed_standard, examples

from handbook_calc.engine import house as house_module
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.faults import BadInput, HouseFaults, Refusal
from handbook_calc.engine.tables import TABLES, Refused
from handbook_calc.waste import (
    METALS,
    hydroxide_neutraliser,
    waste_containers,
    waste_sort,
)

SOME = examples(60)


def sort(ph, alcohol=0.0, metals=("none",), silver=False, oxidiser=False, line=3, solvent=None, kind=None):
    return waste_sort(1, ph, alcohol, metals, silver, oxidiser, line, solvent, kind)


def codes(reasons) -> set[str]:
    return {reason[0] for reason in reasons}


# Sorting


@given(
    st.one_of(st.none(), st.floats(-1, 15)),
    st.floats(0, 100),
    st.lists(st.sampled_from(METALS), min_size=1, max_size=4, unique=True),
    st.booleans(),
    st.booleans(),
)
@SOME
def test_every_liquid_has_a_container_and_a_carrier_or_a_refusal(ph, alcohol, metals, silver, oxidiser):
    unsafe = ((oxidiser or silver) and alcohol > 0) or (silver and ph is not None and ph >= 9)
    if unsafe or ("none" in metals and len(metals) > 1):
        with pytest.raises(Refusal):
            sort(ph, alcohol, tuple(metals), silver, oxidiser)
        return
    found = sort(ph, alcohol, tuple(metals), silver, oxidiser)
    assert "refer" in codes(found["flags"])
    assert found["never_joins"]
    chromium = "chromium" in metals
    assert (found["container"] == "chromium") == chromium
    assert not chromium or codes(found["never_joins"]) == {"chromium-apart"}
    unknown = (ph is None or "unknown" in metals) and not chromium
    assert (found["container"] == "hold for test") == unknown
    assert not unknown or codes(found["never_joins"]) == {"anything"}
    if oxidiser and not unknown and not chromium:
        assert "solvent" in codes(found["never_joins"])
    if ph is not None:
        # 40 CFR 261.22: corrosive at pH 2 or below, 12.5 or above.
        assert ("corrosive-acid" in codes(found["flags"])) == (ph <= 2)
        assert ("corrosive-alkali" in codes(found["flags"])) == (ph >= 12.5)
    # 40 CFR 261.21: less than 24 % alcohol in water is exempt.
    assert ("ignitable" in codes(found["flags"])) == (alcohol >= 24)


@pytest.mark.parametrize(
    ("liquid", "container"),
    [
        ({"ph": 12.5, "metals": ("iron",)}, "alkali"),
        ({"ph": 9.1}, "alkali"),
        ({"ph": 9.0}, "water"),
        ({"ph": 6.0}, "water"),
        ({"ph": 5.9}, "acid"),
        ({"ph": 2.0, "metals": ("iron", "nickel")}, "acid"),
        ({"ph": 7.0, "metals": ("nickel",)}, "metal liquid"),
        ({"ph": 7.0, "alcohol": 3.0}, "alcohol"),
        ({"ph": 7.0, "alcohol": 2.9}, "water"),
        # Neutral nital: nitrate and nickel in thin alcohol, kept out of the solvent can.
        ({"ph": 7.5, "alcohol": 9.0, "metals": ("iron", "nickel")}, "alcohol with metal"),
        ({"ph": 13.5, "alcohol": 70.0}, "flammable and corrosive"),
        ({"ph": 1.0, "alcohol": 10.0}, "flammable and corrosive"),
        ({"ph": 2.0, "silver": True}, "silver"),
        ({"ph": 0.5, "oxidiser": True}, "oxidising acid"),
        ({"ph": 7.0, "oxidiser": True}, "oxidiser"),
        # 6 and 9 themselves still count as neutral.
        ({"ph": 6.0, "oxidiser": True}, "oxidiser"),
        ({"ph": 6.0, "alcohol": 50.0}, "alcohol"),
        ({"ph": 9.0, "alcohol": 50.0}, "alcohol"),
        ({"ph": 5.9, "alcohol": 3.0}, "flammable and corrosive"),
        ({"ph": 9.1, "alcohol": 3.0}, "flammable and corrosive"),
        ({"ph": 4.0, "alcohol": 2.9}, "acid"),
        ({"ph": None}, "hold for test"),
        ({"ph": 7.0, "metals": ("unknown",)}, "hold for test"),
        # Chromium alone first, whatever the pH and whatever else.
        ({"ph": 1.0, "metals": ("chromium",)}, "chromium"),
        ({"ph": 13.0, "metals": ("iron", "chromium")}, "chromium"),
        ({"ph": None, "metals": ("chromium", "unknown")}, "chromium"),
        ({"ph": 7.0, "alcohol": 50.0, "metals": ("chromium",)}, "chromium"),
        # Strong solvent goes into closed metal though metal is in it; neutral nital does not.
        ({"ph": 7.0, "alcohol": 24.0, "metals": ("iron",)}, "alcohol"),
        ({"ph": 7.0, "alcohol": 23.9, "metals": ("iron",)}, "alcohol with metal"),
        # Each solvent from its own strength, and never later than the house says.
        ({"ph": 7.0, "alcohol": 1.0, "solvent": "acetone"}, "alcohol"),
        ({"ph": 7.0, "alcohol": 0.9, "solvent": "acetone"}, "water"),
        ({"ph": 7.0, "alcohol": 1.0, "solvent": "butanone"}, "alcohol"),
        ({"ph": 7.0, "alcohol": 1.0, "solvent": "another or several"}, "alcohol"),
        ({"ph": 7.0, "alcohol": 2.0, "solvent": "2-propanol"}, "alcohol"),
        ({"ph": 7.0, "alcohol": 1.9, "solvent": "2-propanol"}, "water"),
        ({"ph": 7.0, "alcohol": 3.0, "solvent": "ethanol"}, "alcohol"),
        ({"ph": 7.0, "alcohol": 3.9, "solvent": "ethanol", "line": 5}, "water"),
        ({"ph": 7.0, "alcohol": 4.0, "solvent": "ethanol", "line": 5}, "alcohol"),
        ({"ph": 7.0, "alcohol": 3.0, "solvent": "methanol"}, "alcohol"),
        # Bleach and peroxide are not nitric acid.
        ({"ph": 0.5, "oxidiser": True, "kind": "nitric acid"}, "oxidising acid"),
        ({"ph": 4.0, "oxidiser": True, "kind": "hydrogen peroxide"}, "oxidiser"),
        ({"ph": 4.0, "oxidiser": True, "kind": "permanganate"}, "oxidiser"),
        ({"ph": 12.0, "oxidiser": True, "kind": "hypochlorite bleach"}, "oxidiser"),
    ],
)
def test_container(liquid, container):
    assert sort(**liquid)["container"] == container


@pytest.mark.parametrize(
    ("liquid", "code"),
    [
        ({"ph": 0.5, "alcohol": 98.0, "oxidiser": True}, "oxidiser-with-alcohol"),
        ({"ph": None, "alcohol": 0.1, "oxidiser": True}, "oxidiser-with-alcohol"),
        ({"ph": 2.0, "alcohol": 1.0, "silver": True}, "silver-with-alcohol"),
        ({"ph": 9.0, "silver": True}, "silver-in-alkali"),
        ({"ph": 13.0, "silver": True, "metals": ("unknown",)}, "silver-in-alkali"),
        ({"ph": 7.0, "metals": ("none", "nickel")}, "contradicting-metals"),
        ({"ph": 7.0, "metals": ("none", "unknown")}, "contradicting-metals"),
        ({"ph": 7.0, "kind": "hydrogen peroxide"}, "contradicting-oxidiser"),
        ({"ph": 8.9, "oxidiser": True, "kind": "hypochlorite bleach"}, "bleach-turning-acid"),
        ({"ph": None, "silver": True, "oxidiser": True, "kind": "hypochlorite bleach"}, "silver-with-bleach"),
    ],
)
def test_unsafe_mixtures_are_refused_before_anything_else(liquid, code):
    with pytest.raises(Refusal) as caught:
        sort(**liquid)
    assert caught.value.code == code


def test_refusals_say_what_to_do_instead():
    with pytest.raises(Refusal, match="ten times as much cold water") as caught:
        sort(0.5, 98.0, ("iron",), oxidiser=True)
    assert "98\u00a0%" in caught.value.message
    with pytest.raises(Refusal, match="call a trained chemist"):
        sort(12.0, silver=True)


def test_advice_to_thin_is_for_todays_nital_only():
    with pytest.raises(Refusal) as caught:
        sort(7.0, 30.0, ("none",), oxidiser=True)
    advice = caught.value.message
    assert "only nital mixed today" in advice
    assert advice.index("anything else") < advice.index("leave the room")


def test_neutralised_liquids_stay_apart_from_acid_and_nital_from_solvent():
    assert "acid" in codes(sort(7.5, metals=("nickel",))["never_joins"])
    assert {"acid", "solvent", "oxidiser"} <= codes(sort(7.5, 9.0, ("nickel",))["never_joins"])


@pytest.mark.parametrize("metal", [metal for metal in METALS if metal not in ("none", "unknown")])
def test_each_metal_alone_makes_a_neutral_liquid_one_that_holds_metal(metal):
    found = sort(7.5, metals=(metal,))
    assert found["container"] == ("chromium" if metal == "chromium" else "metal liquid")
    assert "metal" in codes(found["flags"])
    with pytest.raises(Refusal):
        sort(7.5, metals=("none", metal))


def test_flags_name_metals_and_flash():
    flags = codes(sort(7.0, 5.0, ("nickel", "chromium"))["flags"])
    assert {"nickel", "chromium", "metal", "flash", "refer"} == flags
    assert "acid" in codes(sort(7.0, 50.0)["never_joins"])


KEPT_APART = [
    # Acid: heat with alkali, sulphur dioxide from sulphite, chlorine from bleach; nitric acid with solvent.
    ({"ph": 5.9}, {"alkali", "sulphite", "solvent", "oxidiser", "bleach"}),
    ({"ph": 1.0, "alcohol": 10.0}, {"alkali", "sulphite", "solvent", "oxidiser", "bleach"}),
    # Neutral liquid: nothing that burns or gasses it.
    ({"ph": 6.0}, {"oxidiser", "bleach"}),
    # Neutral because it was neutralised: acid makes it foam, and brings the metal back into it.
    ({"ph": 9.0, "metals": ("nickel",)}, {"acid", "oxidiser", "bleach"}),
    ({"ph": 7.0, "alcohol": 50.0, "metals": ("nickel",)}, {"acid", "solvent", "oxidiser", "bleach"}),
    # Caustic: heat with acid, hydrogen from aluminium and zinc.
    ({"ph": 9.1}, {"acid", "light-metal", "oxidiser", "bleach"}),
    ({"ph": 13.0, "alcohol": 70.0}, {"acid", "light-metal", "oxidiser", "bleach"}),
    # Solvent: nitric acid above all.
    ({"ph": 7.0, "alcohol": 50.0}, {"acid", "oxidiser", "bleach"}),
    # What feeds fire: nothing that burns.
    ({"ph": 0.5, "oxidiser": True}, {"alkali", "sulphite", "solvent", "rags", "bleach"}),
    ({"ph": 6.0, "oxidiser": True}, {"alkali", "sulphite", "solvent", "rags", "bleach"}),
    (
        {"ph": 12.0, "oxidiser": True},
        {"alkali", "sulphite", "acid", "light-metal", "solvent", "rags", "bleach"},
    ),
    # Silver: ammonia and alkali make a solid that explodes, and alcohol with nitric acid another.
    ({"ph": 7.0, "silver": True}, {"alkali", "sulphite", "solvent", "oxidiser", "ammonia", "bleach"}),
    ({"ph": 2.0, "silver": True}, {"alkali", "sulphite", "solvent", "oxidiser", "ammonia", "bleach"}),
    (
        {"ph": 2.0, "silver": True, "oxidiser": True},
        {"alkali", "sulphite", "solvent", "rags", "ammonia", "bleach"},
    ),
    ({"ph": None}, {"anything"}),
    # Bleach: no acid, no ammonia.
    (
        {"ph": 12.0, "oxidiser": True, "kind": "hypochlorite bleach"},
        {"alkali", "sulphite", "acid", "light-metal", "solvent", "rags", "bleach-ammonia", "bleach"},
    ),
    ({"ph": 12.0, "metals": ("chromium",)}, {"chromium-apart"}),
]


@pytest.mark.parametrize(("liquid", "apart"), KEPT_APART)
def test_what_never_joins_a_liquid(liquid, apart):
    found = [reason[0] for reason in sort(**liquid)["never_joins"]]
    assert set(found) == apart
    assert len(found) == len(apart)


@pytest.mark.parametrize(
    ("liquid", "flags"),
    [
        ({"ph": 7.0}, {"refer"}),
        ({"ph": 7.0, "metals": ("iron",)}, {"metal", "refer"}),
        ({"ph": 7.0, "metals": ("nickel", "iron")}, {"nickel", "metal", "refer"}),
        ({"ph": 7.0, "metals": ("iron", "chromium")}, {"chromium", "metal", "refer"}),
        ({"ph": 7.0, "metals": ("unknown",)}, {"unmeasured", "refer"}),
        ({"ph": 7.0, "silver": True}, {"silver", "refer"}),
        ({"ph": 7.0, "oxidiser": True}, {"oxidiser", "refer"}),
        # The lines themselves belong to the waste: pH 2, pH 12.5, 24 %, and the house's own 3 %.
        ({"ph": 2.0}, {"corrosive-acid", "refer"}),
        ({"ph": 2.1}, {"refer"}),
        ({"ph": 12.5}, {"corrosive-alkali", "refer"}),
        ({"ph": 13.5}, {"corrosive-alkali", "refer"}),
        ({"ph": 12.4}, {"refer"}),
        ({"ph": 7.0, "alcohol": 24.0}, {"ignitable", "refer"}),
        ({"ph": 7.0, "alcohol": 24.0, "metals": ("iron",)}, {"ignitable", "metal", "own-can", "refer"}),
        ({"ph": 7.0, "alcohol": 1.0, "solvent": "acetone"}, {"flash", "refer"}),
        ({"ph": 7.0, "alcohol": 23.9}, {"flash", "refer"}),
        ({"ph": 7.0, "alcohol": 3.0}, {"flash", "refer"}),
        ({"ph": 7.0, "alcohol": 2.9}, {"refer"}),
    ],
)
def test_what_the_carrier_is_told(liquid, flags):
    assert codes(sort(**liquid)["flags"]) == flags


def test_nothing_sorted_is_ever_sent_down_a_drain():
    answer = Bench(None).ask(
        "waste-sort", volume="1 L", ph="7", alcohol="0 %", metals="none", silver="no",
        oxidiser="no", flammable_from="3 %",
    )  # fmt: skip
    assert "no answer here is leave to use a drain" in answer.show("flags")


def test_bad_inputs_are_one_clear_error():
    with pytest.raises(BadInput, match="metals"):
        Bench(None).ask("waste-sort", metals="tin")
    with pytest.raises(BadInput, match="ph = 16"):
        sort(16.0)
    with pytest.raises(BadInput, match="flammable_from"):
        sort(7.0, line=6)


# Containers


@given(st.floats(0, 5000), st.floats(0.1, 200), st.floats(20, 90))
@SOME
def test_no_container_is_too_full(volume, size, fill):
    containers = waste_containers(volume, size, fill)
    assert containers * size * fill / 100 >= volume * (1 - 1e-6) - 1e-6
    if containers:
        assert (containers - 1) * size * fill / 100 < volume


# Citric acid


@given(st.floats(0.01, 1000), st.floats(0.01, 200))
@SOME
def test_citric_acid_is_in_proportion(volume, strength):
    found = hydroxide_neutraliser(volume, strength)
    moles = volume * strength / 39.997
    assert found["citric_acid"] == pytest.approx(moles / 3 * 192.123)
    assert found["citric_acid_monohydrate"] / found["citric_acid"] == pytest.approx(1.0938, rel=1e-4)
    # One water is what the monohydrate has more: 18.015 g/mol.
    extra = found["citric_acid_monohydrate"] - found["citric_acid"]
    assert extra == pytest.approx(moles / 3 * 18.015)
    assert ("parts" in codes(found["cautions"])) == (found["warming"] > 10)
    assert {"acid-in", "sulphite", "paper", "metals"} <= codes(found["cautions"])


def test_warming_does_not_hang_on_the_size_of_the_bath():
    assert hydroxide_neutraliser(1, 20)["warming"] == pytest.approx(hydroxide_neutraliser(50, 20)["warming"])


def test_units_do_not_change_the_dose():
    bench = Bench(None)
    litres = bench.ask("hydroxide-neutraliser", volume="1 L", strength="20 g/L").results
    gallons = bench.ask("hydroxide-neutraliser", volume="0.26417205 gal", strength="20000 mg/L").results
    assert litres["citric_acid"] == pytest.approx(gallons["citric_acid"], rel=1e-6)


# House rules and tables


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("waste.solvent_container", "60 L"),
        ("waste.flammable_from", "24 %"),
        ("waste.fill", "100 %"),
        ("waste.nickel_ph", "8"),
    ],
)
def test_unsafe_house_values_are_faults(tmp_path, key, value):
    text, line = changed_standard(STANDARD.read_text(encoding="utf-8"), key, value)
    changed = tmp_path / "house.yml"
    changed.write_text(text, encoding="utf-8")
    with pytest.raises(HouseFaults) as caught:
        house_module.load(changed)
    assert f":{line}: {key}: {value}" in str(caught.value)
    assert "allowed is" in str(caught.value)


def test_end_ph_limits_must_not_cross(tmp_path):
    with pytest.raises(HouseFaults, match=r"waste.end_ph_low: 7.8 is not below"):
        changed_house(tmp_path, {"waste.end_ph_low": "7.8", "waste.end_ph_high": "7.5"})


WASTE_TABLES = [name for name, table in TABLES.items() if table.stage == "waste"]


@pytest.mark.parametrize("name", WASTE_TABLES)
def test_tables_fill_and_fit_a_phone(house, name):
    filled = TABLES[name].compute(house)
    assert len(filled.columns) <= 8
    assert filled.calculations or filled.sources
    assert len(filled.rows) >= 6


def test_container_table_refuses_the_two_unsafe_liquids(house):
    rows = TABLES["waste-containers"].compute(house).rows
    refused = [row[0] for row in rows if isinstance(row[3], Refused)]
    assert refused == ["Nital, as it leaves the dish", "Silver test in an alkaline sample"]
    where = {row[0]: row[3] for row in rows}
    assert where["Carbonate bath, spent"] == "alkali"
    assert where["Nital, thinned and neutralised"] == "alcohol with metal"


@pytest.mark.parametrize(
    ("ph", "alcohol", "told"), [(1.0, 98.0, True), (5.9, 0.5, True), (1.0, 0.0, False), (7.0, 98.0, False)]
)
def test_acid_with_alcohol_is_asked_about_nitric_acid(ph, alcohol, told):
    """Whoever forgets that the acid was nitric is told what the answer hangs on."""
    assert ("acid-alcohol" in codes(sort(ph, alcohol, ("iron",))["flags"])) == told
