"""Unsafe wishes: what somebody in a hurry would ask for is held, with a reason, by whichever way it is asked.

By a calculation, by a directive of a page, by an edit of the house standard. Held is: refused, out of range,
answered with a verdict that is no go, or a fault with file and line. What a wish must be told stands beside
it, so that it is held for its own reason and not for a slip in the test.
"""

import re

import pytest
from support import STANDARD, differing

from handbook_calc.engine import directives
from handbook_calc.engine import house as house_module
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.faults import BadInput, HouseFaults, Refusal
from handbook_calc.engine.render import PageFault, Renderer

HOUSE = house_module.load(STANDARD)
GATE = {
    "etchant": "nital", "kind": "iron", "cracked": "no", "chloride_clear": "yes", "trial": "yes", "water_film": "yes",
    "since_degreased": "5 min", "etchant_age": "1 h", "sulphide": "no",
}  # fmt: skip
LIQUID = {"volume": "1 L", "ph": "7", "alcohol": "0 %", "metals": "none", "silver": "no", "oxidiser": "no"}

CALLS = [
    ("nital-acid", {"volume": "100 mL", "percent": "6 %"}, "potentially explosive"),
    ("nital-acid", {"volume": "100 mL", "percent": "4 %"}, "above this house's limit"),
    ("nital-acid", {"volume": "100 mL", "percent": "4 %", "limit": "5 %"}, "limit = 5 %"),
    ("nital-acid", {"volume": "1000 mL", "percent": "2 %"}, "more than a day's need"),
    ("nital-acid", {"volume": "100 mL", "percent": "2 %", "alcohol": "methanol"}, "must not meet methanol"),
    ("nital-acid", {"volume": "100 mL", "percent": "2 %", "alcohol": "isopropanol"}, "must not meet 2-propanol"),
    ("nital-acid", {"volume": "100 mL", "percent": "2 %", "alcohol": "petrol"}, "is not a known liquid"),
    ("nital-strength", {"percent": "10 %"}, "dangerous"),
    ("nital-percent", {"molarity": "1 mol/L"}, "dangerous"),
    ("etch-gate", GATE | {"etchant_age": "20 h"}, "wait"),
    ("etch-gate", GATE | {"etchant_age": "20 h", "oldest": "48 h"}, "oldest = 48 h"),
    ("etch-gate", GATE | {"sulphide": "yes"}, "wait"),
    ("etch-gate", {key: value for key, value in GATE.items() if key != "sulphide"}, "wait"),
    ("etch-gate", GATE | {"etchant": "ferric chloride", "cracked": "yes"}, "stop"),
    ("etch-gate", GATE | {"etchant": "ferric chloride", "kind": "pallasite"}, "stop"),
    ("etch-time", {"temperature": "35 degC"}, "too warm for an etchant"),
    ("waste-sort", LIQUID | {"ph": "1", "alcohol": "98 %", "oxidiser": "yes"}, "may explode"),
    ("waste-sort", LIQUID | {"ph": "12", "silver": "yes"}, "explosive solid"),
    ("waste-sort", LIQUID | {"ph": "2", "silver": "yes", "alcohol": "10 %"}, "explosive solid"),
    ("waste-sort", LIQUID | {"ph": "5", "oxidiser": "yes", "oxidiser_kind": "hypochlorite bleach"}, "chlorine"),
    ("waste-containers", {"volume": "100 L", "fill": "100 %"}, "fill = 100 %"),
    ("oven-solvent", {"solvent": "acetone", "safety_share": "50 %"}, "safety_share = 50 %"),
    ("oven-vapour", {"solvent": "2-propanol", "solvent_mass": "5 g", "temperature": "80 degC"}, "stop"),
    ("jar-vapour", {"solvent": "acetone", "temperature": "60 degC"}, "a jar of solvent is kept cool"),
    ("jar-vapour", {"solvent": "acetone", "temperature": "8 degC"}, "below, vapour pressure data end"),
    ("soak-time", {"depth": "4 mm", "temperature": "60 degC"}, "never warmed"),
    ("soak-time", {"depth": "4 mm", "temperature": "38 degC", "warmest": "40 degC"}, "warmest = 40 degC"),
    ("vapour-level", {"solvent": "acetone", "evaporation": "200 g/h"}, "stop"),
    ("vapour-level", {"solvent": "acetone", "evaporation": "5 g/h", "airflow": "0 m^3/h"}, "no steady level"),
    ("vapour-level", {"solvent": "2-propanol", "evaporation": "5 g/h", "exposure_limit": "200 ppm"}, "tightened"),
    ("vapour-airflow", {"solvent": "ethanol", "evaporation": "5 g/h", "exposure_limit": "1000 ppm"}, "1000 ppm"),
    ("hydrogen-airflow", {"current": "3 A", "share": "100 %"}, "share = 100 %"),
    ("cathode-current", {"area": "98 cm^2", "current_density": "5 mA/cm^2"}, "stop"),
    ("cathode-current", {"area": "98 cm^2", "kind": "mesosiderite"}, "stop"),
    ("cathode-current", {"area": "98 cm^2", "grade": "G5"}, "stop"),
    ("current-density", {"current": "3 A", "area": "98 cm^2"}, "too strong"),
    ("cell-current", {"voltage": "30 V", "conductivity": "200 mS/cm", "gap": "1 cm", "area": "1000 cm^2"}, "no bench supply"),
    ("electrolyte-mass", {"volume": "1 L", "strength": "200 g/L"}, "stronger than"),
    ("bath-material", {"material": "stainless steel", "role": "anode"}, "never"),
    ("bath-material", {"material": "aluminium", "role": "tub"}, "never"),
    ("bath-material", {"material": "titanium", "role": "anode"}, "is not a known material"),
    ("wire-drop", {"current": "1 A", "length": "1 m", "diameter": "1 mm", "material": "stainless steel"}, "no wire"),
    ("ramp-time", {"oven": "250 degC"}, "oven = 250 degC"),
    ("spray-check", {"air_temperature": "21 degC", "humidity": "95 %", "surface_temperature": "15 degC"}, "stop"),
    ("coating-amounts", {"coating": "urethane-brush", "area": "98 cm^2"}, "stop"),
    ("coating-amounts", {"coating": "urethane-brush", "area": "98 cm^2", "isocyanate": "no"}, "stop"),
    ("coating-amounts", {"coating": "urethane-spray", "area": "98 cm^2"}, "not in the house's list"),
    ("cupboard-plan", {"bottles": "nital, ethanol"}, "nital is never stored"),
    ("cupboard-plan", {"bottles": "bleach, citric acid"}, "bleach and peroxide have no shelf"),
    ("cupboard-plan", {"bottles": "nitric acid, petrol"}, "keep it apart"),
]  # fmt: skip
PAIRS = [
    ("nitric acid", "isopropanol"), ("nitric acid", "white spirit"), ("nitric acid", "rags"),
    ("aqua fortis", "acetone"), ("nital", "closed bottle"), ("nital", "oven"), ("nital", "solvent can"),
    ("nital", "bleach"), ("bleach", "ammonia"), ("bleach", "white spirit"), ("bleach", "muriatic acid"),
    ("hydrogen peroxide", "acetone"), ("hydrogen peroxide", "vinegar essence"), ("silver test", "spirit"),
    ("silver nitrate", "ammonia"), ("silver nitrate", "lye"), ("caustic soda", "aluminium foil"),
    ("oven", "cobalt gel"), ("oven", "acetone"), ("oven", "aerosol can"), ("oven", "urethane-brush"),
    ("electrolysis", "isopropyl alcohol"), ("electrolysis", "tight cap"), ("electrolysis", "pallasite"),
    ("swarf", "muriatic acid"), ("swarf", "nital"), ("grinding dust", "ferric chloride"),
    ("troilite-rich piece", "aqua fortis"), ("sulphite", "citric acid"), ("hardener", "water"),
    ("hardener", "closed vessel"), ("chromate", "spirit"), ("oily rags", "oven"), ("superglue", "rags"),
    ("petrol", "water"), ("acetone", "something new"),
]  # fmt: skip
# House value, what is written for it, words of the fault.
EDITS = [
    ("etching.nital_limit", "5 %", "potentially explosive"),
    ("etching.nital_volume", "500 mL", "a dish for one face"),
    ("etching.alcohol", "methanol", "allowed is ethanol"),
    ("etching.etchant_age", "24 h", "kept overnight"),
    ("etching.acid_stock", "2500 mL", "one small bottle"),
    ("etching.foam_room", "5", "ten times the liquid"),
    ("etching.bicarbonate_ready", "1.1", "leaves acid in a vessel"),
    ("etching.etchant_volume", "10 L", "to be neutralised in"),
    ("drying.open_solvent", "500 mL", "drying.open_solvent"),
    ("drying.bath", "5 L", "knocked over"),
    ("drying.safety_share", "50 %", "oven standards"),
    ("drying.oven_ceiling", "250 degC", "drying.oven_ceiling"),
    ("drying.glued_ceiling", "90 degC", "drying.glued_ceiling"),
    ("drying.soak_temperature", "40 degC", "drying.soak_temperature"),
    ("drying.air_dry", "1 h", "drying.air_dry"),
    ("drying.solvent", "methanol", "is not a known solvent"),
    ("electrolysis.salt", "table salt", "is a chloride"),
    ("electrolysis.strength_limit", "100 g/L", "electrolysis.strength_limit"),
    ("electrolysis.anode", "stainless steel", "electrolysis.anode"),
    ("electrolysis.tub", "aluminium", "electrolysis.tub"),
    ("electrolysis.hanger", "copper", "electrolysis.hanger"),
    ("electrolysis.gap", "0.2 cm", "electrolysis.gap"),
    ("electrolysis.cover", "0.5 cm", "electrolysis.cover"),
    ("electrolysis.supply_limit", "50 A", "electrolysis.supply_limit"),
    ("electrolysis.density_limit", "10 mA/cm^2", "electrolysis.density_limit"),
    ("ventilation.hydrogen_share", "100 %", "needs a gas alarm"),
    ("ventilation.exposure_limit.2-propanol", "200 ppm", "kept as a precaution"),
    ("ventilation.exposure_limit.ethanol", "250 ppm", "Germany"),
    ("coating.kinds.urethane-brush.applied_by", "spray", "into the air that people breathe"),
    ("coating.kinds.urethane-brush.isocyanate", "no", "cannot be"),
    ("coating.kinds.acrylic-brush.about", "two-pack polyurethane", "says urethane"),
    ("coating.spray_kind", "urethane-brush", "is not put on by spray"),
    ("coating.wait_before_boxing", "1 d", "shut solvent in"),
    ("coating.solution_volume", "5 L", "knocked over"),
    ("storage.indicator", "cobalt", "storage.indicator"),
    ("storage.gel_oven_temperature", "200 degC", "storage.gel_oven_temperature"),
    ("waste.solvent_container", "20 L", "little solvent in one place"),
    ("waste.container", "200 L", "two people"),
    ("waste.fill", "95 %", "room for gas"),
    ("safety.eye_rinse", "5 min", "15 min"),
    ("safety.eyewash_reach", "60 s", "10 s"),
    ("safety.burn_cooling", "5 min", "20 min"),
    ("specimen.two_people", "80 kg", "specimen.two_people"),
]
ON_A_PAGE = [
    ('{{ value nital-acid.acid volume="100 mL" percent="6 %" }}', "potentially explosive"),
    ('{{ value nital-acid.acid volume="100 mL" percent="2 %" alcohol="2-propanol" }}', "must not meet"),
    ('{{ value vapour-level.level solvent="acetone" evaporation="5 g/h" airflow="0 m^3/h" }}', "no steady level"),
    ('{{ value never-together.verdict agent="bleach" other="acetone" }}', "never"),
    ('{{ value never-together.verdict agent="acetone" other="petrol" }}', "keep it apart"),
    ('{{ value coating-amounts.protection coating="urethane-brush" area=piece.area isocyanate="no" }}', "stop"),
    ('{{ value oven-solvent.volume solvent="acetone" safety_share="100 %" }}', "100 %"),
    ('{{ value waste-containers volume="10 L" fill="100 %" }}', "100 %"),
    ('{{ value soak-time depth=piece.crack_depth temperature="60 degC" }}', "never warmed"),
    ('{{ value bath-material.verdict material="aluminium" role="tub" }}', "never"),
]  # fmt: skip


def asked(name: str, values: dict) -> str:
    """Return how a wish is held; an empty text where it gets a go."""
    try:
        answer = Bench(HOUSE).ask(name, **values)
    except (BadInput, Refusal) as refused:
        return str(refused)
    words = [answer.results[verdict] for verdict in answer.stops()]
    return " ".join(words or [word for word in answer.results.values() if word == "wait"])


@pytest.mark.parametrize(("name", "values", "told"), CALLS, ids=[f"{n} {v}"[:70] for n, v, _ in CALLS])
def test_a_calculation_holds_the_wish(name, values, told):
    assert told in asked(name, values)


@pytest.mark.parametrize(("one", "other"), PAIRS, ids=" and ".join)
def test_two_that_must_not_meet_get_no_go_by_any_of_their_names(one, other):
    for agent, with_what in ((one, other), (other, one)):
        assert re.search(
            "never|not listed|keep it apart", asked("never-together", {"agent": agent, "other": with_what})
        )


@pytest.mark.parametrize(("key", "value", "told"), EDITS, ids=[f"{key} {value}" for key, value, _ in EDITS])
def test_an_edit_of_the_house_is_a_fault_with_its_line(tmp_path, key, value, told):
    with pytest.raises(HouseFaults) as caught:
        house_module.load(overlay=differing(tmp_path, {key: value}))
    faults = [line for line in str(caught.value).splitlines() if told in line]
    assert faults, str(caught.value)
    assert re.match(r".*\.yml:\d+: ", faults[0])
    assert "allowed is" in faults[0]


@pytest.mark.parametrize(("text", "told"), ON_A_PAGE)
def test_a_page_prints_no_go(text, told):
    renderer = Renderer(HOUSE)
    (found,) = directives.find(f"# T\n\n{text}\n")
    try:
        shown = renderer.html_of(found)
    except PageFault as fault:
        shown = str(fault)
    assert told in shown


def test_there_are_wishes_of_every_kind():
    assert len(CALLS) + len(PAIRS) + len(EDITS) + len(ON_A_PAGE) >= 120
    assert min(map(len, (CALLS, PAIRS, EDITS, ON_A_PAGE))) >= 10
