"""What is printed of a least or a most lies on its safe side, and within one unit of its last digit."""

import json
import math
import random

import pytest
from support import ROOT
from test_calculators import in_python, random_inputs, scripts, v8  # noqa: F401  (fixtures)

from handbook_calc.engine import house, numerals, quantities, spread
from handbook_calc.engine.bench import Answer, Bench
from handbook_calc.engine.calculation import CATALOGUE, Figure, Number, Whole
from handbook_calc.engine.faults import BadInput, Refusal
from handbook_calc.engine.known import Sided, scaled
from handbook_calc.engine.tables import Column, Span, shown

LIMITS = [
    (name, declared)
    for name, calculation in CATALOGUE.items()
    for result in calculation.results
    for declared in (result, *getattr(result, "columns", ()))
    if isinstance(declared, Number) and declared.safe
]
# Needs and limits that can hurt somebody, or a piece, if they are a little off. Each is a result by name.
MUST = [
    "bath-chloride-limit.limit",
    "cathode-current.current",
    "cover-depth.level",
    "cover-depth.liquid",
    "crack-drying-time.time",
    "cure-window.earliest_recoat",
    "cure-window.full_cure",
    "cure-window.handle",
    "cure-window.latest_recoat",
    "cure-window.wet_on_wet_close",
    "current-density.most",
    "flammable-limit.flash_point",
    "flammable-limit.lower",
    "flammable-volume.at_safety_share",
    "flammable-volume.just_flammable",
    "gel-life.recharge_after",
    "gel-mass.reserve_mass",
    "heat-up-time.time_inside",
    "hydrogen-airflow.flow",
    "hydrogen-openings.area",
    "hydroxide-neutraliser.citric_acid",
    "neutraliser-mass.sodium_bicarbonate",
    "oven-solvent.mass",
    "oven-solvent.volume",
    "ramp-time.time",
    "sealed-room-time.time",
    "soak-time.time",
    "surface-minimum.surface_temperature",
    "vapour-airflow.flow",
]
SIDES = {"up": 1, "down": -1}
DUST = 1e-9  # of the last digit: what lies so near its digits is printed as lying on them
SHOWN_IN_V8 = """
function sided(text) {
  return JSON.stringify(JSON.parse(text).map(function (a) { return HB.show(a[0], "1", a[1], a[2]); }));
}
function between(text) {
  return JSON.stringify(JSON.parse(text).map(function (a) {
    return HB.showInterval(a[0], a[1], a[2], "1", a[3], a[4]);
  }));
}
function us(text) {
  var asked = JSON.parse(text), declared = HB.declared[asked.name];
  return JSON.stringify(asked.inputs.map(function (inputs) {
    var results = HB.run(asked.name, inputs), given = HB.given(asked.name, inputs, results);
    return declared.results.map(function (result) {
      if (result.kind !== "reasons") return "";
      return HB.sentences(result, results[result.name], given, function (unit) { return HB.us[unit] || unit; }).join(" ");
    }).join("");
  }));
}
"""


def number_of(text: str) -> float:
    mantissa, _, power = text.partition("×10")
    return float(mantissa + (f"e{power.translate(quantities.RAISED)}" if power else ""))


def last_digit(text: str, digits: int) -> float:
    """Return the worth of the last of a count of digits: 150 to two has tens."""
    number = number_of(text)
    return 10.0 ** (numerals.power_of_ten(abs(number)) - digits + 1) if number else 1.0


def on_the_safe_side(text: str, exact: float, digits: int, side: int) -> bool:
    unit = last_digit(text, digits)
    over = (number_of(text) - exact) * side / unit
    return -10 * DUST <= over <= 1 + DUST


def answers(name: str, wanted: int = 40):
    dice = random.Random(name)
    found = []
    for inputs in random_inputs(CATALOGUE[name], dice, 400):
        try:
            results = CATALOGUE[name].by_name(CATALOGUE[name](**inputs))
        except (Refusal, BadInput):
            continue
        found.append((inputs, results))
        if len(found) == wanted:
            break
    return found


def values_of(declared, name: str):
    """Yield what a result, or a column of a listing, comes to for random inputs."""
    calculation = CATALOGUE[name]
    for _, results in answers(name):
        for result in calculation.results:
            if result == declared:
                yield results[result.name]
            elif declared in getattr(result, "columns", ()):
                place = result.columns.index(declared)
                yield from (row[place] for row in results[result.name])


def test_the_limits_that_keep_people_and_pieces_safe_are_declared():
    declared = {f"{name}.{result.name}" for name, result in LIMITS}
    assert set(MUST) <= declared


@pytest.mark.parametrize(("name", "declared"), LIMITS, ids=[f"{n}-{d.name}" for n, d in LIMITS])
def test_a_limit_is_printed_on_its_safe_side_in_metric_and_us_units_and_alike_in_v8(name, declared, v8):  # noqa: F811
    v8.eval(SHOWN_IN_V8)
    side = SIDES[declared.safe]
    printed, asked = declared.unit or "1", []
    for value in values_of(declared, name):
        if value is None or value == 0:
            continue
        unit = quantities.US_UNITS.get(printed, printed)
        label = quantities.label(printed)
        text = declared.show(value).removesuffix(label).rstrip()
        assert on_the_safe_side(text, value, declared.digits, side), (text, value)
        asked += [
            [value, declared.digits, side],
            [quantities.convert(value, printed, unit), declared.digits, side],
        ]
    assert asked, "no random input gave it"
    for (value, digits, _), text in zip(asked, json.loads(v8.call("sided", json.dumps(asked))), strict=True):
        assert on_the_safe_side(text, value, digits, side), (text, value)
        assert text == quantities.show(value, "1", digits, side)


@pytest.mark.parametrize("side", [1, -1])
def test_any_number_is_printed_on_the_side_asked_for_and_alike_in_v8(v8, side):  # noqa: F811
    v8.eval(SHOWN_IN_V8)
    dice = random.Random(side)
    numbers = [dice.uniform(-1, 1) * 10.0 ** dice.uniform(-9, 9) for _ in range(3000)]
    asked = [[number, dice.choice([2, 3, 4]), side] for number in numbers]
    ours = [quantities.show(number, "1", digits, side) for number, digits, _ in asked]
    assert json.loads(v8.call("sided", json.dumps(asked))) == ours
    for (number, digits, _), text in zip(asked, ours, strict=True):
        assert on_the_safe_side(text, number, digits, side), (text, number)


@pytest.mark.parametrize("side", [1, -1])
def test_an_interval_is_printed_on_the_side_asked_for_and_alike_in_v8(v8, side):  # noqa: F811
    v8.eval(SHOWN_IN_V8)
    dice = random.Random(side)
    asked = []
    for _ in range(1500):
        value = 10.0 ** dice.uniform(-3, 5)
        low, high = value * dice.uniform(0.3, 1), value * dice.uniform(1, 3)
        asked.append([value, low, high, dice.choice([2, 3]), side])
    ours = [
        quantities.show_interval(value, low, high, "1", digits, s) for value, low, high, digits, s in asked
    ]
    assert json.loads(v8.call("between", json.dumps(asked))) == ours
    for value, low, high, digits, _ in asked:
        for text, exact in zip(
            spread.interval_texts(value, low, high, digits, side), (value, low, high), strict=True
        ):
            assert (number_of(text) - exact) * side >= -DUST * exact, (text, exact)


@pytest.mark.parametrize(
    ("number", "digits", "text"),
    [
        (1.8 * 60 + 32, 3, "140"),
        (0.1 + 0.2, 3, "0.300"),
        (3 * 1.1, 2, "3.3"),
        (57.0, 3, "57.0"),
        (0.0, 3, "0"),
    ],
)
@pytest.mark.parametrize("side", [1, 0, -1])
def test_what_lies_on_its_digits_stays(number, digits, text, side):
    assert quantities.show(number, "1", digits, side) == text
    assert quantities.show(-number, "1", digits, side) == (f"-{text}" if number else text)


def said(name: str, **inputs: str) -> Answer:
    return Bench(house.load(ROOT / "docs" / "house-standard.yml")).ask(name, **inputs)


def test_the_most_current_is_not_the_one_just_refused():
    answer = said("current-density", current="0.0988 A", area="98.77 cm^2", density_limit="1 mA/cm^2")
    verdict = CATALOGUE["current-density"].result("verdict")
    told = verdict.sentence(answer.results["verdict"], answer.given())
    assert answer.show("most") == "0.0987\u00a0A"
    assert told.startswith("1.0003\u00a0mA/cm² is above the limit of 1\u00a0mA/cm²")
    assert (
        said("current-density", current="0.0987 A", area="98.77 cm^2").results["verdict"]
        == "within the limit"
    )


def test_the_warmth_asked_for_is_more_than_the_one_just_refused(v8):  # noqa: F811
    v8.eval(SHOWN_IN_V8)
    weather = {"air_temperature": "17 degC", "humidity": "71 %", "margin": "3 delta_degC"}
    answer = said("spray-check", surface_temperature="14.7 degC", **weather)
    reasons = answer.show("reasons")
    assert "only 2.999\u00a0°C above" in reasons
    assert "warm the piece to 14.8\u00a0°C or more" in reasons
    assert said("surface-minimum", **weather).show() == "14.8\u00a0°C"
    warm = said("spray-check", surface_temperature="14.8 degC", **weather)
    assert "or more" not in warm.show("reasons")
    (us,) = json.loads(v8.call("us", json.dumps({"name": "spray-check", "inputs": [answer.inputs]})))
    # 14.701 °C is 58.46 °F, and 14.8 would be 58.64: the figure comes from the exact number.
    assert "warm the piece to 58.5\u00a0°F or more" in us


@pytest.mark.parametrize(
    ("name", "inputs", "result", "shown"),
    [
        ("sealed-room-time", {"current": "2.3 A", "room_volume": "22 m^3"}, "time", "209\u00a0h"),
        ("oven-solvent", {"solvent": "2-propanol", "temperature": "standard"}, "mass", "0.466\u00a0g"),
    ],
)
def test_limits_by_the_house_s_values_lie_on_their_safe_side(name, inputs, result, shown):
    standard = house.load(ROOT / "docs" / "house-standard.yml")
    inputs = {
        key: standard.entry("drying.oven_temperature").show() if text == "standard" else text
        for key, text in inputs.items()
    }
    plain = {"share": "25 %", "pressure": "101.325 kPa", "room_temperature": "20 degC"}
    answer = said(name, **inputs, **{k: v for k, v in plain.items() if k in CATALOGUE[name].names})
    declared = CATALOGUE[name].result(result)
    assert answer.show(result) == shown
    assert quantities.show(answer.results[result], declared.unit, declared.digits) != shown


def test_a_sentence_tells_apart_what_differs_and_only_that():
    limit = Figure(3.0, "degC")
    assert Figure(2.9994, "degC", 3).told([limit]) == "2.999\u00a0°C"
    assert Figure(3.0, "degC", 3).told([limit]) == "3.00\u00a0°C"
    assert Figure(2.9994, "degC", 3).told([Figure(3.0, "mm")]) == "3.00\u00a0°C"
    assert Figure(2.99999999, "degC", 3).told([limit]) == "3.00\u00a0°C"  # not even seven digits part them


def test_a_table_prints_a_limit_on_its_side_and_keeps_the_number():
    most = Sided(0.46661, -1)
    assert shown(most, Column("Most", "g")) == "0.466"
    assert shown(scaled(most, 10), Column("Most", "g")) == "4.66"
    assert shown(Span(0.40, 0.46661, 0.5321, side=-1), Column("Most", "g")).startswith("0.466 (0.4")
    assert most == 0.46661
    house_answer = Bench(house.load(ROOT / "docs" / "house-standard.yml"))(
        "surface-minimum", air_temperature=17.0, humidity=71.0
    )
    assert math.isclose(house_answer, 14.7006, abs_tol=0.001)
    assert shown(house_answer, Column("Least", "degC")) == "14.8"


def test_a_most_is_no_whole_number_and_every_side_is_known():
    for name, declared in LIMITS:
        assert declared.safe in SIDES, name
        assert not isinstance(declared, Whole), f"{name}: a count comes whole"
