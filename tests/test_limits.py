"""A limit of safety can be tightened and never loosened, and nothing typed switches a refusal off."""

import random
import re
from fnmatch import fnmatch

import pytest
from support import STANDARD, changed_piece, differing, is_of_piece

from handbook_calc import compatibility, electrolysis, etching, exchange, solvents, waste
from handbook_calc.engine import house as house_module
from handbook_calc.engine.bench import Answer, Bench
from handbook_calc.engine.calculation import CATALOGUE, Verdict
from handbook_calc.engine.checks import checks
from handbook_calc.engine.defaults import house_field
from handbook_calc.engine.examples import starting_values
from handbook_calc.engine.faults import BadInput, HouseFaults, Refusal
from handbook_calc.engine.fields import Choice, Count, Quantity, YesNo
from handbook_calc.engine.house import FAMILIES, SETTINGS
from handbook_calc.ventilation import lowest_published

HOUSE = house_module.load(STANDARD)

SUSPECT = re.compile(
    r"limit|share|margin|ceiling|oldest|warmest|strongest|allowed|at most|at least|no more than|\bmost\b|fullest"
)
# What has the name of a limit and is none, or is nobody's safety: the reason stands beside it.
NO_LIMITS = {
    "storage.*": "conservation: the box is compared with any limit, and the verdict names it",
    "specimen.*": "survey and grading: shares of a surface, a box or a mass, with the owner's consent",
    "abrasives.*loss_limit": "the owner's word, who may give any share",
    "abrasives.*": "quality of the face",
    "drying.places*": "strength of the baths: dryness of the piece",
    "drying.soak_fraction": "a share to be drawn out: dryness of the piece",
    "drying.water_limit": "dryness of the piece; held against the solvent by a rule",
    "drying.proof_share": "what the weighings can show",
    "drying.bath_ratio": "dryness of the piece",
    "drying.oven_margin": "from when a piece counts as warm",
    "rinsing.*": "chloride and alkali left on the piece; the chloride test decides",
    "coating.transfer_efficiency": "a share that is measured",
    "coating.kinds*": "a data sheet's own figures",
    "coating.*imum_temperature": "held within the data sheet's own figures by a rule",
    "coating.cure_*": "what the data sheets cover",
    "coating.maximum_humidity": "held within the data sheet's own figure by a rule",
    "electrolysis.supply_limit": "what the supply is; held to airflow and leads by rules",
    "electrolysis.drop_limit": "a voltage that is lost, in the range of what a supply makes up for",
    "electrolysis.extract": "a share to be drawn out",
    "electrolysis.chloride_share": "when a bath is spent",
    "electrolysis.*_limit": "the end of treatment: the verdict says where the house's own was not used",
    "electrolysis.current_density": "what is set; electrolysis.density_limit is its limit",
    "electrolysis.calibration_error": "an error that is measured",
    "etching.spent": "when a bath is thrown out",
    "etching.pass_limit": "quality of the face; etch-time tells a total that is too long",
    "piece.*": "what is measured",
    "approval.notable": "which changes are told first; nothing is allowed by it",
    "wanted.*": "what the owner asks for; the plan refuses what is unsafe",
}
FREE = {
    ("sealed-room-time", "share"): "a level that a closed space is followed up to; nothing is allowed by it",
    ("soak-time", "temperature"): "what the bath has; warmest is its limit",
    ("soaked-fraction", "temperature"): "what the bath has",
    ("soak-sequence", "temperature"): "what the bath has",
}


def house_fields():
    """Yield the key and the declaration of every house value."""
    yield from SETTINGS.items()
    for key, family in FAMILIES.items():
        yield from ((f"{key}.{{entry}}.{field.name}", field) for field in family.fields)


def laxer(field: Quantity) -> float:
    """Return a value a little past the ceiling."""
    assert field.ceiling is not None
    step = 1 if isinstance(field, Count) else (field.high - field.low) / 1000
    return field.ceiling + step if field.limit == "most" else field.ceiling - step


LIMITS = [(key, field) for key, field in house_fields() if isinstance(field, Quantity) and field.limit]
LIMITED = {
    calculation.name: [d for d in calculation.inputs if isinstance(d, Quantity) and d.limit]
    for calculation in CATALOGUE.values()
    if any(isinstance(d, Quantity) and d.limit for d in calculation.inputs)
}


def test_the_limits_that_the_bench_lives_by_are_declared():
    assert {
        "drying.safety_share", "drying.open_solvent", "drying.oven_ceiling", "drying.glued_ceiling",
        "electrolysis.density_limit", "electrolysis.strength_limit", "electrolysis.cover",
        "electrolysis.freeboard", "electrolysis.gap", "etching.nital_limit", "etching.nital_percent",
        "etching.nital_volume", "etching.etchant_age", "etching.acid_stock", "ventilation.hydrogen_share",
        "ventilation.vapour_share", "ventilation.exposure_limit.acetone", "waste.fill",
    } <= {key for key, _ in LIMITS}  # fmt: skip


@pytest.mark.parametrize(
    ("key", "ceiling"),
    [
        ("etching.nital_limit", 3.0),
        ("etching.nital_percent", 3.0),
        ("etching.nital_volume", 100.0),
        ("etching.etchant_age", 8.0),
        ("etching.acid_stock", 250.0),
        ("drying.safety_share", 25.0),
        ("ventilation.hydrogen_share", 25.0),
        ("electrolysis.density_limit", 1.0),
        ("electrolysis.strength_limit", 50.0),
    ],
)
def test_a_ceiling_is_where_it_was_set(key, ceiling):
    """Common practice of the bench; the quarters are the rule for ovens and for hydrogen."""
    declared = SETTINGS[key]
    assert isinstance(declared, Quantity)
    assert declared.ceiling == ceiling


def test_whatever_is_named_a_limit_is_one_or_has_a_reason_not_to_be():
    open_ends = [
        key
        for key, field in house_fields()
        if isinstance(field, Quantity) and not field.limit
        if SUSPECT.search(key) or SUSPECT.search(field.about)
        if not any(fnmatch(key, pattern) for pattern in NO_LIMITS)
    ]
    assert open_ends == []


def test_an_input_of_a_limit_is_a_limit_itself_or_has_a_reason_not_to_be():
    free = set()
    for calculation in CATALOGUE.values():
        for declared in calculation.inputs:
            behind = house_field(declared.house) if declared.house else None
            if not isinstance(behind, Quantity) or not behind.limit:
                continue
            assert isinstance(declared, Quantity)
            if declared.limit:
                assert declared.limit == behind.limit
                assert declared.ceiling == behind.ceiling, (calculation.name, declared.name)
            else:
                free.add((calculation.name, declared.name))
    assert free == set(FREE)


@pytest.mark.parametrize(("key", "field"), LIMITS, ids=[key for key, _ in LIMITS])
@pytest.mark.long
def test_no_house_is_laxer_than_the_ceiling(tmp_path, key, field):
    if "{" in key:
        pytest.skip("an entry of a family has no line of its own in this test")
    unit = "" if field.unit == "1" else field.unit
    path = differing(tmp_path, {key: f"{laxer(field):.8g} {unit}".rstrip()})
    line = len(path.read_text(encoding="utf-8").splitlines())
    with pytest.raises(HouseFaults) as caught:
        house_module.load(overlay=path)
    told = str(caught.value)
    assert f"{path.name}:{line}: {key}: " in told.replace(str(path), path.name)
    assert "allowed is" in told
    assert field.why in told


@pytest.mark.parametrize("name", LIMITED)
def test_nothing_typed_is_laxer_than_the_ceiling(name):
    for declared in LIMITED[name]:
        with pytest.raises(BadInput) as caught:
            Bench(HOUSE).answer(name, **(start_of(name) | {declared.name: laxer(declared)}))
        told = str(caught.value)
        assert told.startswith(f"{name}: {declared.name} = ")
        assert "allowed is" in told
        assert declared.why in told


# --- what is refused at the ceiling is refused at every stricter value ----------------------------


def start_of(name: str) -> dict:
    """Return values that give an answer, in declared units."""
    bench = Bench(HOUSE)
    found = starting_values(CATALOGUE[name], bench, {})
    for declared in CATALOGUE[name].inputs:
        if declared.house and declared.name not in found:
            bench._take_default(CATALOGUE[name], declared, found)
    return found


def other(declared, chance: random.Random, present):
    """Return another allowed value of an input."""
    if isinstance(declared, Quantity):
        if declared.low > 0 and declared.high / declared.low > 100:
            value = declared.low * (declared.high / declared.low) ** chance.random()
        else:
            value = chance.uniform(declared.low, declared.high)
        return round(value) if isinstance(declared, Count) else value
    if isinstance(declared, YesNo):
        return chance.random() < 0.5
    if type(declared) is Choice:
        return chance.choice(declared.names())
    return present


def held(name: str, values: dict) -> bool:
    """Say whether a call is refused, or answered with a verdict that is no go."""
    calculation = CATALOGUE[name]
    try:
        found = calculation.by_name(calculation(**values))
    except Refusal:
        return True
    waits = any(isinstance(r, Verdict) and found[r.name] in ("wait", "thin") for r in calculation.results)
    return waits or bool(Answer(calculation, values, found).stops())


def solvent_of(declared: Quantity, values: dict) -> str:
    """Return the solvent whose exposure limit an input is, or nothing."""
    if declared.name == "exposure_limit":
        return values["solvent"]
    key = declared.house.removeprefix("ventilation.exposure_limit.")
    return key if key in solvents.FLAMMABLE else ""


def ceiling_of(declared: Quantity, values: dict) -> float:
    """Return the laxest value; for a vapour that of the strictest list published for its solvent."""
    if solvent := solvent_of(declared, values):
        return lowest_published(solvent)
    assert declared.ceiling is not None
    return declared.ceiling


@pytest.mark.parametrize("name", LIMITED)
def test_no_value_of_a_limit_switches_off_what_is_refused_at_its_ceiling(name):
    chance = random.Random(name)
    start = start_of(name)
    cases = [start] + [
        {d.name: CATALOGUE[name].read(d.name, c.inputs[d.name]) for d in CATALOGUE[name].inputs if d.name in c.inputs}
        for c in checks()
        if c.calculation == name
    ]  # fmt: skip
    found = 0
    for _ in range(150):
        base = dict(chance.choice(cases))
        for declared in CATALOGUE[name].inputs:
            if chance.random() < 0.4:
                base[declared.name] = other(declared, chance, base.get(declared.name))
        laxest = base | {d.name: ceiling_of(d, base) for d in LIMITED[name]}
        if not held(name, laxest):
            continue
        found += 1
        for _ in range(4):
            typed = dict(laxest)
            for declared in LIMITED[name]:
                typed[declared.name] = other(declared, chance, None)
                if solvent_of(declared, base):
                    typed[declared.name] = chance.uniform(declared.low, laxest[declared.name])
            assert held(name, typed), typed
        for declared in LIMITED[name]:
            if declared.optional:
                assert held(name, laxest | {declared.name: None}), (declared.name, laxest)
    # That of a lax limit has a test of its own: no case is built at a ceiling that it refuses.
    if set(CATALOGUE[name].refusals) - {"lax-limit"} or any(
        isinstance(r, Verdict) and r.stops for r in CATALOGUE[name].results
    ):
        assert found, "nothing was refused, so nothing was tried"


@pytest.mark.parametrize("solvent", solvents.FLAMMABLE)
@pytest.mark.parametrize("name", ["vapour-level", "vapour-airflow", "near-room-level", "vapour-build-up"])
def test_no_exposure_limit_is_laxer_than_the_strictest_published(name, solvent):
    lowest = lowest_published(solvent)
    given = start_of(name) | {"solvent": solvent}
    CATALOGUE[name](**(given | {"exposure_limit": lowest}))
    declared = CATALOGUE[name].input("exposure_limit")
    assert isinstance(declared, Quantity)
    if lowest * 1.01 <= declared.high:
        with pytest.raises(Refusal, match="tightened, never loosened"):
            CATALOGUE[name](**(given | {"exposure_limit": lowest * 1.01}))


def test_a_closed_room_is_refused():
    with pytest.raises(Refusal, match="no steady level"):
        Bench(HOUSE).ask("vapour-level", solvent="acetone", evaporation="5 g/h", airflow="0 m^3/h")


@pytest.mark.parametrize(
    ("coating", "breathing", "word"),
    [
        ("urethane-brush", None, "stop"),
        ("urethane-brush", "no", "stop"),
        ("urethane-brush", "yes", "protected"),
        ("acrylic-brush", None, "go"),
    ],
)
def test_isocyanate_asks_for_breathing_protection_first(coating, breathing, word):
    more = {"breathing": breathing} if breathing else {}
    answer = Bench(HOUSE).ask("coating-amounts", coating=coating, area="98 cm^2", **more)
    assert answer.results["protection"] == word
    assert bool(answer.stops()) == (word == "stop")


def test_a_coating_of_which_nobody_knows_is_no_go():
    given = {
        "coating": "clear", "area": "98 cm^2", "dry_film": "20 um", "film_per_coat": "10 um", "thinner": "0 %",
        "roughness_peak": "2 um", "volume_solids": "40 %", "transfer_efficiency": "90 %",
    }  # fmt: skip
    answer = Bench(None).ask("coating-amounts", **given)
    assert answer.results["protection"] == "not known"
    assert answer.stops() == ["protection"]


# --- house values together -------------------------------------------------------------------------

TOGETHER = [
    ({"drying.open_solvent": "200 mL"}, "drying.open_solvent", "60 m^3/h (ventilation.airflow)", "mL"),
    ({"ventilation.airflow": "20 m^3/h"}, "drying.open_solvent", "20 m^3/h (ventilation.airflow)", "mL"),
    ({"ventilation.room_volume": "3 m^3", "ventilation.vapour_share": "100 %", "drying.bath": "45 mL",
      "drying.bath_ratio": "20", "coating.solution_volume": "40 mL"}, "drying.open_solvent",
     "3 m^3 (ventilation.room_volume)", "mL"),
    ({"drying.bath": "5000 mL"}, "drying.bath", "30 m^3 (ventilation.room_volume)", "mL"),
    ({"coating.solution_volume": "5000 mL"}, "coating.solution_volume", "30 m^3 (ventilation.room_volume)", "mL"),
    ({"etching.etchant_volume": "10 L"}, "etching.etchant_volume", "20 L (waste.container)", "mL"),
    ({"drying.solvent": "ethanol", "drying.open_solvent": "60 mL"}, "drying.open_solvent", "ethanol", "mL"),
    ({"electrolysis.supply_limit": "20 A"}, "electrolysis.supply_limit", "100 cm (electrolysis.lead)", "A"),
    ({"electrolysis.supply_limit": "10 A", "electrolysis.drop_limit": "0.05 V"}, "electrolysis.supply_limit",
     "0.05 V (electrolysis.drop_limit)", "A"),
    ({"electrolysis.supply_limit": "16 A", "ventilation.hydrogen_share": "5 %", "ventilation.airflow": "3 m^3/h",
      "drying.open_solvent": "2 mL"}, "ventilation.airflow", "16 A (electrolysis.supply_limit)", "m^3/h"),
    ({"electrolysis.cover": "1 cm"}, "electrolysis.cover", "7 d (electrolysis.stand)", "cm"),
    ({"electrolysis.stand": "30 d"}, "electrolysis.cover", "30 d (electrolysis.stand)", "cm"),
    ({"waste.container": "30 L"}, "waste.container", "20 kg (specimen.two_people)", "L"),
    ({"drying.air_dry": "4 h"}, "drying.air_dry", "(piece.crack_depth)", "h"),
    ({"piece.crack_depth": "6 mm"}, "drying.air_dry", "6 mm (piece.crack_depth)", "h"),
]  # fmt: skip


def loaded(tmp_path, values: dict):
    """Load the standard with values laid over it."""
    facts = {key: value for key, value in values.items() if is_of_piece(key)}
    others = {key: value for key, value in values.items() if key not in facts}
    overlay = differing(tmp_path, others) if others else None
    return house_module.load(overlay=overlay, piece=changed_piece(tmp_path, facts))


@pytest.mark.parametrize(("values", "key", "named", "unit"), TOGETHER, ids=[str(t[0])[:50] for t in TOGETHER])
@pytest.mark.long
def test_values_that_contradict_each_other_are_told_with_both_and_with_what_is_allowed(
    tmp_path, values, key, named, unit
):
    with pytest.raises(HouseFaults) as caught:
        loaded(tmp_path, values)
    line = next(line for line in str(caught.value).splitlines() if f": {key}: " in line)
    assert re.match(r".*\.yml:\d+: ", line)
    assert named in line
    allowed = re.search(rf"allowed is (?:up to )?([\d.e+-]+) {re.escape(unit)}", line)
    assert allowed, line
    loaded(tmp_path, values | {key: f"{allowed[1]} {unit}"})  # what the fault allows is allowed


def test_isocyanate_is_not_sprayed(tmp_path):
    with pytest.raises(HouseFaults, match="would put isocyanate into the air that people breathe"):
        loaded(tmp_path, {"coating.kinds.acrylic-aerosol.isocyanate": "yes"})


@pytest.mark.parametrize(
    ("about", "told"),
    [
        ("two-part clear urethane", "says urethane"),
        ("2K clear", "says 2K"),
        ("two-pack polyurethane, isocyanate-free by its can", "says urethane"),
        ("moisture-curing PU", "says PU"),
        ("acrylic clear with hardener", "says hardener"),
        ("aliphatic polyisocyanate, trimer", "says isocyanate"),
        ("uncured urethane", "the register of substances has isocyanate in uncured urethane"),
        ("twin-pack lacquer", "says twin-pack"),
    ],
)
def test_isocyanate_is_not_denied_by_a_house(tmp_path, about, told):
    coating = "coating.kinds.acrylic-brush"
    with pytest.raises(HouseFaults) as caught:
        loaded(tmp_path, {f"{coating}.about": about})
    line = next(line for line in str(caught.value).splitlines() if "acrylic-brush.isocyanate: " in line)
    assert re.match(r".*\.yml:\d+: coating\.kinds\.acrylic-brush\.isocyanate: no ", line)
    assert told in line
    assert "allowed is yes" in line
    # What the fault allows is allowed.
    loaded(tmp_path, {f"{coating}.about": about, f"{coating}.isocyanate": "yes"})


def test_the_no_of_the_houses_own_urethane_is_caught_at_its_line(tmp_path):
    with pytest.raises(HouseFaults, match=r"ours\.yml:5: coating\.kinds\.urethane-brush\.isocyanate: no "):
        loaded(tmp_path, {"coating.kinds.urethane-brush.isocyanate": "no"})


@pytest.mark.parametrize(
    "about",
    [
        "oil-modified urethane varnish, one-part", "two-part epoxy", "water-borne polyurethane, one-part",
        "acrylic, without isocyanate", "purple wax paste", "clear alkyd varnish, one-part",
    ],
)  # fmt: skip
def test_a_coating_without_isocyanate_may_say_so(tmp_path, about):
    loaded(tmp_path, {"coating.kinds.acrylic-brush.about": about})


# --- hints -----------------------------------------------------------------------------------------

SUBSTANCES = {
    *electrolysis.SALTS, *electrolysis.SOLUTES, *electrolysis.HYDRATES, *electrolysis.WIRES,
    *electrolysis.MATERIALS, *solvents.SOLVENTS, *exchange.LIQUIDS, *etching.ALCOHOLS, *etching.ACIDS,
    *compatibility.AGENTS, *waste.METALS, "nital", "ferric chloride",
} - {"other", "none", "unknown"}  # fmt: skip
WRONG = (
    "titanium", "table salt", "salt", "sodium nitrate", "sodium chlorite", "sodium hypochlorite", "stainless",
    "stainles steel", "galvanized steel", "aluminum", "tin", "lead", "nickel", "methanol", "methylated spirit",
    "acetic acid", "acetylene", "nitric", "nitrous acid", "hydrofluoric acid", "hydrochloric", "sulphuric acid",
    "washing soda", "baking soda", "caustic", "bleach", "peroxide", "petrol", "propanol", "isopropanol 70 %",
    "ethanal", "ethylene glycol", "polyester", "polystyrene", "iron chloride", "chromium", "potassium nitrate",
)  # fmt: skip
CHOICES = [
    (place, field)
    for place, field in [
        *house_fields(),
        *((f"{c.name}: {d.name}", d) for c in CATALOGUE.values() for d in c.inputs),
    ]
    if isinstance(field, Choice)
]
OF_SUBSTANCES = [(place, field) for place, field in CHOICES if SUBSTANCES & set(field.names())]


def test_what_names_substances_or_materials_gives_no_hints():
    assert [place for place, field in OF_SUBSTANCES if field.hints] == []
    assert len(OF_SUBSTANCES) > 20


@pytest.mark.parametrize(("place", "field"), OF_SUBSTANCES, ids=[place for place, _ in OF_SUBSTANCES])
def test_no_wrong_name_is_answered_with_a_neighbour(place, field):
    told = [said_of(field, written) for written in (*WRONG, *sorted(SUBSTANCES))]
    assert any(told)
    assert [text for text in told if "did you mean" in text] == []


def said_of(field, written: str) -> str:
    """Return what a name is refused with; an empty text where it is read."""
    try:
        field.read(written)
    except ValueError as error:
        return str(error)
    return ""


def test_a_coating_that_is_not_there_is_not_answered_with_a_neighbour():
    for name in ("urethane-spray", "acrylic", "wax", "alkyd"):
        with pytest.raises(BadInput) as caught:
            Bench(HOUSE).ask("coating-amounts", coating=name, area="98 cm^2")
        assert "did you mean" not in str(caught.value)


# --- stops -----------------------------------------------------------------------------------------

VERDICTS = [
    pytest.param(verdict, id=f"{calculation.name}-{verdict.name}")
    for calculation in CATALOGUE.values()
    for verdict in calculation.results
    if isinstance(verdict, Verdict)
]


@pytest.mark.parametrize("verdict", VERDICTS)
def test_every_verdict_says_which_of_its_words_are_stops(verdict):
    assert verdict.stops is not None
    assert set(verdict.stops) <= set(verdict.words)
    assert {word for word in verdict.words if word.startswith(("stop", "never"))} <= set(verdict.stops)
    assert not {"go", "use", "within", "within the limit"} & set(verdict.stops)
