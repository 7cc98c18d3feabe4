"""The register of substances: complete, each fact with its source, and limits that can only be tightened."""

import itertools
import re
from collections import Counter

import pytest
from support import for_each

from handbook_calc.alkalinity import ALKALIS
from handbook_calc.compatibility import never_together
from handbook_calc.electrolysis import materials_for
from handbook_calc.engine.data import rows
from handbook_calc.engine.sources import sources
from handbook_calc.etching import ACIDS, ALCOHOLS
from handbook_calc.solvents import FLAMMABLE
from handbook_calc.substances import (
    BARE,
    FACTS,
    FIRST_AID,
    KINDS,
    LIMIT_TYPES,
    ROLES,
    TEXTS,
    fact,
    limits,
    limits_of,
    names,
    register,
    statements,
    strictest,
    substance,
)

ENTRIES = [entry for entry in register().values() if entry.kind not in BARE]
STATUSES = {"in force", "proposed", "from 2029", "superseded"}


@for_each("entry", ENTRIES)
def test_an_entry_says_all_that_a_card_needs(entry):
    assert entry.kind in KINDS
    assert entry.signal in ("Danger", "Warning", "none")
    assert (entry.signal == "none") == (not [code for code in entry.statements if code.startswith("H")])
    assert set(entry.statements) <= set(statements())
    assert set(entry.texts) == set(TEXTS)
    assert set(entry.first_aid) == set(FIRST_AID)
    assert all(len(text) > 3 for text in (*entry.texts.values(), *entry.first_aid.values()))
    assert entry.cap in ("closed", "vented", "never kept")
    assert (entry.cap == "never kept") == (entry.texts["store"].startswith("not kept"))
    assert not entry.limit or limits_of(entry.limit), entry.limit


# What harms by a way is told a person who helps, by that way: codes of the Globally Harmonized System, 10th edition,
# annex 3, whose precautionary statements P301 to P342 ask for a doctor or a poison service at each of these.
HELPED_BY = {
    "eye": {"H314", "H318", "H319"},
    "skin": {"H310", "H311", "H312", "H314", "H317"},
    "breath": {"H314", "H330", "H331", "H332", "H334", "H335"},
    "swallowed": {"H300", "H301", "H302", "H304", "H314"},
}
HELPERS = re.compile("medical help|hospital|emergency service|poison service|doctor", re.IGNORECASE)


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.name)
def test_first_aid_calls_for_help_where_the_label_says_harm(entry):
    for way, codes in HELPED_BY.items():
        text = entry.first_aid[way]
        if codes & set(entry.statements) and text != "No such way":
            assert HELPERS.search(text), (way, text)


def test_a_gas_that_the_bench_makes_is_not_told_to_be_in_a_cylinder():
    """H280 is of gas in a container under pressure, which no entry of this bench is."""
    for entry in ENTRIES:
        if entry.kind == "gas":
            assert "H280" not in entry.statements, entry.name
            assert not re.search("cold burn", " ".join(entry.first_aid.values()), re.IGNORECASE), entry.name


def test_what_burns_has_its_figures():
    for entry in ENTRIES:
        if any(code in entry.statements for code in ("H225", "H226")) and entry.classes[0] == "flammable":
            assert entry.flash is not None, entry.name
            assert entry.lower is not None, entry.name
            assert entry.lower < (entry.upper or 100)
            assert entry.vapour_origin in ("read", "memory")
            assert entry.vapour_source in sources()
            # Globally Harmonized System, category 2 below 23 degC and category 3 from there to 60.
            if "H225" in entry.statements:
                assert entry.flash < 23, entry.name


def test_a_name_stands_for_one_thing():
    told = Counter(name.lower() for entry in register().values() for name in (entry.name, *entry.other))
    assert [name for name, count in told.items() if count > 1] == []
    assert len(names()) == len(told)
    assert substance("Isopropyl  Alcohol").name == "2-propanol"
    with pytest.raises(KeyError, match="kept apart from all"):
        substance("benzol")


def test_the_register_knows_all_that_a_house_may_choose():
    for name in (*ALKALIS, *FLAMMABLE, *ALCOHOLS[:4], *ACIDS, *materials_for("anode"), *materials_for("tub")):
        assert substance(name)


def test_what_the_register_must_hold():
    for name in (
        "sodium carbonate", "potassium hydroxide", "white spirit", "aerosol propellant", "iron swarf",
        "drying-oil rags", "superglue", "hardener", "acetic acid", "sodium sulphite", "slower solvent",
        "hydrogen", "hydrogen sulphide", "nitrogen dioxide", "silver nitrate", "ferric chloride", "nital",
    ):  # fmt: skip
        assert substance(name)


def test_strong_nitric_acid_never_gets_nitrile_and_both_eyes_are_guarded():
    glove = substance("nitric acid").texts["glove"]
    assert "never nitrile" in glove
    for entry in ENTRIES:
        if "H314" in entry.statements and entry.kind != "gas":
            assert "goggles" in entry.texts["eye"], entry.name
            assert "shield over" in entry.texts["eye"], entry.name


# What a spill text may tell to put on the spill, by the register's name.
REMEDIES = {"citric acid": "citric acid", "bicarbonate": "sodium bicarbonate", "water": "water"}


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: entry.name)
def test_nothing_is_put_on_a_spill_that_must_never_meet_it(entry):
    told = [
        part for part in re.split(r"[;,]", entry.texts["spill"]) if not re.search(r"\bno\b|\bnever\b", part)
    ]
    for word, remedy in REMEDIES.items():
        if any(word in part for part in told) and remedy != entry.name:
            assert never_together(remedy, entry.name)["verdict"] != "never", (entry.name, remedy)


def test_a_spill_that_burns_touches_no_switch():
    for entry in ENTRIES:
        if entry.classes[0] == "flammable" or "alcohol" in entry.classes:
            assert re.search(r"no switch|without a spark|everybody out", entry.texts["spill"]), entry.name


# Limits


def test_each_limit_says_whose_it_is_and_how_it_was_obtained():
    for limit in limits():
        assert limit.value > 0
        assert limit.unit in ("ppm", "mg/m^3")
        assert limit.type in LIMIT_TYPES
        assert limit.status in STATUSES
        assert limit.origin in ("read", "memory")
        assert (limit.origin == "memory") == limit.shown().endswith("remembered")
    keys = Counter(
        (x.substance, x.body, x.country, x.type, x.status, x.note, x.unit, x.value) for x in limits()
    )
    assert [key for key, count in keys.items() if count > 1] == []


def the_strictest(name, kind):
    """Return the strictest limit of a substance that has one."""
    found = strictest(name, kind)
    assert found is not None, f"no limit of {name}"
    return found


@pytest.mark.parametrize("kind", LIMIT_TYPES)
def test_no_limit_in_force_is_below_the_strictest(kind):
    for name in {limit.substance for limit in limits()}:
        found = strictest(name, kind)
        rows_in_force = limits_of(name, kind)
        assert (found is None) == (not rows_in_force)
        for limit in rows_in_force:
            assert found is not None
            assert limit.comparable() >= found.comparable()
            assert limit.status == "in force"


# Each against its list: what the issue names, value, unit and whether it was read.
PINNED = [
    # NIOSH value profile of September 2017, abstract (read): 13 ppm, no longer 20.
    ("nitrogen dioxide", "dangerous", 13, "ppm", "read"),
    # EH40, Germany (read): 0.5; the threshold limit 0.2 is remembered.
    ("nitrogen dioxide", "day", 0.2, "ppm", "memory"),
    ("nitrogen dioxide", "short", 1, "ppm", "read"),
    # EH40, fourth edition (read): 1 ppm for a short time and no day limit.
    ("nitric acid", "short", 1, "ppm", "read"),
    ("hydrogen chloride", "day", 1, "ppm", "read"),
    # TRGS 900 as a data sheet of 2021 quotes it (read): 380 mg/m3.
    ("ethanol", "day", 200, "ppm", "read"),
    ("ethanol", "short", 800, "ppm", "read"),
    ("acetone", "day", 250, "ppm", "read"),
    ("2-propanol", "day", 150, "ppm", "memory"),
    # Directive (EU) 2024/869 (read): 10 and 20 until the end of 2028.
    ("isocyanates, as NCO", "day", 0.01, "mg/m^3", "read"),
    ("isocyanates, as NCO", "short", 0.02, "mg/m^3", "read"),
    # TRGS 910 by the German accident insurers' institute (read): compounds, respirable; TRGS 900: metal.
    ("nickel compounds", "day", 0.006, "mg/m^3", "read"),
    ("nickel", "day", 0.006, "mg/m^3", "read"),
    # OSHA's page on sampling cobalt (read): threshold limit of 1993.
    ("cobalt", "day", 0.02, "mg/m^3", "read"),
    # NIOSH 2013-128 (read): 0.2 micrograms.
    ("chromium(VI)", "day", 0.0002, "mg/m^3", "read"),
    ("silver, soluble", "day", 0.01, "mg/m^3", "read"),
    # A study of pottery studios, 2014 (read): threshold limit of quartz and cristobalite.
    ("silica, crystalline, respirable", "day", 0.025, "mg/m^3", "read"),
    ("sodium hydroxide", "day", 1, "mg/m^3", "memory"),
    ("sodium hydroxide", "short", 2, "mg/m^3", "read"),
    # A review of 2017, table 3 (read).
    ("hydrogen sulphide", "day", 1, "ppm", "read"),
    ("hydrogen sulphide", "short", 5, "ppm", "read"),
]


@pytest.mark.parametrize(("name", "kind", "value", "unit", "origin"), PINNED)
def test_strictest_limits(name, kind, value, unit, origin):
    found = the_strictest(name, kind)
    assert (found.value, found.unit, found.origin) == (value, unit, origin)


def test_a_remembered_strictest_is_stricter_than_all_that_was_read():
    """It stands as a precaution: what was read would be laxer, never stricter."""
    remembered = 0
    for name in {limit.substance for limit in limits()}:
        for kind in LIMIT_TYPES:
            found, read = strictest(name, kind), strictest(name, kind, read=True)
            assert read is None or read.origin == "read"
            if found and read:
                assert found.comparable() <= read.comparable()
                assert found.origin == "read" or found.comparable() < read.comparable()
            remembered += bool(found) and found.origin == "memory"
    assert remembered > 10


def test_what_is_not_in_force_never_wins():
    assert the_strictest("cobalt", "day").value > min(x.value for x in limits_of("cobalt", "day", "proposed"))
    later = limits_of("isocyanates, as NCO", "day", "from 2029")
    assert [limit.value for limit in later] == [0.006]
    assert the_strictest("isocyanates, as NCO", "day").value == 0.01
    assert [x.value for x in limits_of("nitrogen dioxide", "dangerous", "superseded")] == [20]


def test_limits_in_volume_and_mass_are_compared():
    # 300 mg/m3 of white spirit is about 51 ppm of a molar mass of 140 g/mol, below 100 ppm.
    assert the_strictest("white spirit", "day").unit == "mg/m^3"


# Facts for pages


@for_each("role, name", itertools.product(ROLES, FACTS))
def test_every_role_has_every_fact(house, role, name):
    text, key = fact(house, f"{role}.{name}")
    assert len(text) > 3
    assert key == ROLES[role]


def test_a_choice_that_the_register_does_not_know_is_named_so():
    text, _ = fact({"coating.kind": "bench varnish"}, "coating.isocyanate")
    assert text.startswith("not in the register")


def test_statements_are_sentences_of_the_standard():
    for row in rows("hazard_statements"):
        assert re.fullmatch(r"(H\d{3}i?|EUH\d{3})", row["code"])
        assert row["statement"][0].isupper()
        assert row["statement"][-1] != "."
