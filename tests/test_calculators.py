"""The generated formulas in V8 against the functions they are made from."""

import itertools
import json
import math
import random
import re

import pytest
from support import ROOT, STANDARD, for_each

from handbook_calc.engine import browser, examples, forms, house, numerals, quantities
from handbook_calc.engine.bench import Answer, Bench
from handbook_calc.engine.calculation import CATALOGUE, Number, Verdict
from handbook_calc.engine.checks import checks
from handbook_calc.engine.faults import BadInput, Refusal
from handbook_calc.engine.fields import Choice, Count, Quantity, Rows
from handbook_calc.engine.known import Known, leaf_of

RANDOM_INPUTS = 1000
SCRIPT_LIMIT = 90_000
PART_LIMIT = 36_000  # of one calculation with all that it calls, formulas and declarations
BENCH = ROOT / "docs" / "assets" / "bench"
PURE = ("read.js", "answer.js", "interval.js", "store.js")  # they know no page


@pytest.fixture(scope="module")
def scripts():

    return forms.scripts(house.load(ROOT / "docs" / "house-standard.yml"))


@pytest.fixture(scope="module")
def v8(scripts):
    """An embedded V8 with the scripts of the pages loaded."""
    engine = engine_of(scripts, *forms.WHOLE)
    yield engine
    engine.close()  # without this the process may hang at its end


def engine_of(scripts, *names):
    """Return an embedded V8 with some scripts, and what runs a calculation."""
    from py_mini_racer import MiniRacer

    engine = MiniRacer()
    engine.eval("var window = this;")
    for name in names:
        engine.eval(scripts[name])
    for name in PURE:
        engine.eval((BENCH / name).read_text(encoding="utf-8"))
    engine.eval(ASK)
    return engine


ASK = """
function ask(name, inputs) {
  try {
    var results = HB.run(name, inputs);
    return {results: results, shown: HB.declared[name].results.map(function (result) {
      return HB.shownResult(result, results[result.name], HB.given(name, inputs, results));
    })};
  } catch (problem) {
    if (problem.sentence) return {refused: problem.refused, said: problem.sentence};
    if (problem.bad) return {bad: problem.bad};
    throw problem;
  }
}
function readOne(name, argument, text) {
  var d = HB.declared[name].inputs.filter(function (i) { return i.name === argument; })[0];
  try { return JSON.stringify(HB.read(d, text, d.form === "rows" ? "" : d.unit)); } catch (problem) { return problem.message; }
}
function askSpread(text) {
  var asked = JSON.parse(text), name = asked.name, results;
  try { results = HB.run(name, asked.values); } catch (problem) { return JSON.stringify({refused: problem.refused || "bad"}); }
  var spread = HB.propagate(name, asked.values, asked.spans, results);
  var seen = HB.seenIntervals(name, results, spread), given = HB.given(name, asked.values, results, seen);
  return JSON.stringify({share: HB.refusedShare(spread), shown: HB.declared[name].results.map(function (result) {
    var value = results[result.name], interval = seen[result.name];
    var words = result.words && value !== null ? HB.sentence(result, value, given) : "";
    return [HB.shownResult(result, value, given, interval, seen), words].concat(HB.notes(result, value, seen, spread));
  })});
}
function readCells(name, argument, cells) {
  var input = HB.declared[name].inputs.filter(function (i) { return i.name === argument; })[0];
  var found = HB.readRows(input, JSON.parse(cells));
  return JSON.stringify({message: found.message, faults: found.faults, written: HB.rowsText(input, JSON.parse(cells))});
}
function askAll(text) {
  var asked = JSON.parse(text);
  return JSON.stringify(asked.inputs.map(function (inputs) { return ask(asked.name, inputs); }));
}
"""


def in_v8(v8, name, inputs):
    return json.loads(v8.call("askAll", json.dumps({"name": name, "inputs": inputs})))


def in_python(name, inputs):
    calculation = CATALOGUE[name]
    try:
        results = calculation.by_name(calculation(**inputs))
    except Refusal as refusal:
        return {"refused": refusal.code, "said": refusal.message}
    except BadInput as bad:
        return {"bad": str(bad)}
    given = Answer(calculation, inputs, results).given()
    shown = [r.show(results[r.name], given) for r in calculation.results]
    return {"results": results, "shown": shown}


def some_value(field, dice):
    """Return a valid value of a field; one in twenty lies at an end of its range."""
    if field.optional and dice.random() < 0.15:
        return None
    if isinstance(field, Count):
        return dice.randint(int(field.low), min(int(field.high), int(field.low) + 40))
    if isinstance(field, Quantity):
        if dice.random() < 0.05:
            return dice.choice([field.low, field.high])
        if field.low > 0 and field.high / field.low > 100:
            value = math.exp(dice.uniform(math.log(field.low), math.log(field.high)))
        else:
            value = dice.uniform(field.low, field.high)
        value = min(max(value, field.low), field.high)
        return -value if field.form == "reading" and dice.random() < 0.2 else value
    if field.form == "choice":
        return dice.choice(field.names())
    if field.form == "several":
        return dice.sample(field.names(), dice.randint(field.least, min(5, len(field.names()))))
    if field.form == "yesno":
        return dice.random() < 0.5
    if field.form == "rows":
        return [
            [some_value(column, dice) for column in field.columns]
            for _ in range(dice.randint(field.least, min(field.most, field.least + 6)))
        ]
    return "acrylic-brush"


def near(base, field, dice):
    """Return a valid value close to one that gave an answer, so that answers are common too."""
    value = base[field.name]
    if isinstance(value, bool) or not isinstance(value, int | float) or not isinstance(field, Quantity):
        return value if dice.random() < 0.9 else some_value(field, dice)
    if isinstance(field, Count):
        return min(max(value + dice.randint(-2, 2), int(field.low)), int(field.high))
    if field.form == "reading":
        return value
    changed = value * dice.uniform(0.7, 1.4) if value else dice.uniform(field.low, field.high)
    return min(max(changed, field.low), field.high)


def random_inputs(calculation, dice, count):
    bases = [
        Bench(None).ask(check.calculation, **check.inputs).inputs
        for check in checks()
        if check.calculation == calculation.name and not check.expected.startswith("refused")
    ]
    for number in range(count):
        if number % 2:
            yield {field.name: some_value(field, dice) for field in calculation.inputs}
        else:
            base = dice.choice(bases)
            yield {field.name: near(base, field, dice) for field in calculation.inputs}


def differences(ours, theirs, where=""):
    """Yield every place where two answers differ by more than the last digits."""
    if isinstance(ours, dict):
        for key in ours:
            yield from differences(ours[key], theirs.get(key), f"{where}.{key}")
    elif isinstance(ours, list | tuple):
        if not isinstance(theirs, list) or len(ours) != len(theirs):
            yield f"{where}: {ours} and {theirs}"
            return
        for i, (a, b) in enumerate(zip(ours, theirs, strict=True)):
            yield from differences(a, b, f"{where}[{i}]")
    elif isinstance(ours, float):
        # What little leaves a full crack is a difference of sums, which costs it four of its sixteen digits.
        if not isinstance(theirs, int | float) or not math.isclose(
            ours, theirs, rel_tol=1e-11, abs_tol=1e-300
        ):
            yield f"{where}: {ours!r} and {theirs!r}"
    elif ours != theirs:
        yield f"{where}: {ours!r} and {theirs!r}"


@pytest.mark.parametrize("name", CATALOGUE)
def test_same_answers_same_refusals_on_random_inputs(v8, name):
    calculation = CATALOGUE[name]
    dice = random.Random(name)
    inputs = list(random_inputs(calculation, dice, RANDOM_INPUTS))
    theirs = in_v8(v8, name, inputs)
    answered = 0
    for given, their in zip(inputs, theirs, strict=True):
        our = in_python(name, given)
        answered += "results" in our
        assert our.keys() == their.keys(), (given, our, their)
        if "results" in our:
            assert list(differences(our["results"], their["results"])) == [], given
            if our["shown"] != their["shown"]:
                pairs = zip(calculation.results, our["shown"], their["shown"], strict=True)
                for declared, ours_text, theirs_text in pairs:
                    # A figure that lies on the edge of a rounding may round either way.
                    assert isinstance(declared, Number) or ours_text == theirs_text, given
        elif "refused" in our:
            assert our["refused"] == their["refused"], given
    assert answered >= RANDOM_INPUTS // 20, f"only {answered} of {RANDOM_INPUTS} inputs gave an answer"


ALONE = """
function alone(text) {
  var asked = JSON.parse(text);
  return JSON.stringify(asked.inputs.map(function (inputs) {
    var steps = HB.steps = [];
    return [ask(asked.name, inputs), steps, Object.keys(HB.kernels).sort(), HB.house, HB.spans, HB.families,
      HB.declared[asked.name].inputs.map(function (i) { return [HB.lists[i.options], HB.called[i.called]]; })];
  }));
}
"""


@for_each("name", CATALOGUE)
@pytest.mark.long
def test_a_calculation_alone_answers_as_it_does_among_all(scripts, v8, name):
    calculation = CATALOGUE[name]
    text = json.dumps({"name": name, "inputs": list(random_inputs(calculation, random.Random(name), 30))})
    engine = engine_of(scripts, forms.READER, forms.part_name(name))
    engine.eval(ALONE)
    v8.eval(ALONE)
    alone, among = json.loads(engine.call("alone", text)), json.loads(v8.call("alone", text))
    engine.close()
    for (answer, steps, kernels, *values, lists), theirs in zip(alone, among, strict=True):
        assert (answer, steps, lists) == (theirs[0], theirs[1], theirs[-1])
        assert name in kernels
        assert len(kernels) < 6, "what it does not call came with it"
        for some, every in zip(values, theirs[3:6], strict=True):
            assert all(every[key] == some[key] for key in some)
        for declared in calculation.inputs:
            assert not declared.house or "{" in declared.house or declared.house in values[0]


@for_each("name", CATALOGUE)
def test_same_words_out_of_range_and_when_refused(v8, name):
    calculation = CATALOGUE[name]
    base = next(random_inputs(calculation, random.Random(1), 1))
    rows = [check for check in checks() if check.calculation == name]
    asked = [Bench(None).ask(name, **c.inputs).inputs for c in rows if not c.expected.startswith("refused")][
        :1
    ]
    for field in calculation.inputs:
        if isinstance(field, Quantity):
            wide = field.high - field.low + 1
            asked += [base | {field.name: field.high + wide}, base | {field.name: field.low - wide}]
    for our, their in zip([in_python(name, a) for a in asked], in_v8(v8, name, asked), strict=True):
        if "bad" in our:
            assert our["bad"].split(" = ")[0] == their["bad"].split(" = ")[0]
            assert our["bad"].partition(" is ")[2] == their["bad"].partition(" is ")[2]
        elif "refused" in our:
            assert our == their


def test_printed_numbers_are_the_same_in_both(v8):
    dice = random.Random(7)
    numbers = [dice.uniform(-1, 1) * 10.0 ** dice.uniform(-12, 12) for _ in range(5000)]
    numbers += [0.0, 9.996, 0.125, 2.5, 999.5, 1e-5, 9.9999e6, 1e7, 0.1 + 0.2]
    ask = "function figs(t){return JSON.stringify(JSON.parse(t).map(function(n){return HB.numerals.significant(n,3);}));}"
    v8.eval(ask)
    theirs = json.loads(v8.call("figs", json.dumps(numbers)))
    assert [numerals.significant(n, 3) for n in numbers] == theirs


CHOOSERS = [
    (calculation.name, declared)
    for calculation in CATALOGUE.values()
    for declared in calculation.inputs
    if isinstance(declared, Choice) and declared.others()
]


@pytest.mark.parametrize(("name", "declared"), CHOOSERS, ids=[f"{n}-{d.name}" for n, d in CHOOSERS])
@pytest.mark.long
def test_a_chooser_reads_other_names_as_in_python(v8, name, declared):
    read = 0
    for others in declared.others().values():
        for other in others:
            for text in (other, f" {other.upper()} ", other.replace(" ", "  ")):
                theirs = v8.call("readOne", name, declared.name, text)
                try:
                    ours = declared.read(text)
                except ValueError:  # the name of an entry that is not offered here
                    assert "is not a known" in theirs, text
                    continue
                assert json.loads(theirs) == (list(ours) if isinstance(ours, tuple) else ours), text
                read += 1
    assert read


def test_the_register_is_asked_by_any_of_its_names():
    assert {"never-together", "cupboard-plan", "vapour-level", "nital-acid"} <= {name for name, _ in CHOOSERS}


@pytest.mark.parametrize(
    ("name", "argument", "text", "value"),
    [
        ("drag-out", "area", "98 cm²", 98.0),
        ("drag-out", "area", "1 in^2", 6.4516),
        ("dew-point", "temperature", "68 °F", 20.0),
        ("dew-point", "temperature", "\u22124 °C", -4.0),
        ("drag-out", "area", "9.8×10¹ cm^2", 98.0),
        ("constant-mass", "weighings", "0 h 120.5 g\n1 d 0.1205 kg", [[0.0, 120.5], [24.0, 120.5]]),
    ],
)
def test_what_a_person_types_is_read_as_in_python(v8, name, argument, text, value):
    read = json.loads(v8.call("readOne", name, argument, text))
    assert list(differences(CATALOGUE[name].read(argument, text), read)) == []
    assert list(differences(value, read)) == []


@pytest.mark.parametrize(
    "text",
    [
        "",
        "abc",
        "1,5 mm",
        "2 kg",
        "2 oz",
        "nan",
        "Infinity",
        "1e999",
        "-5",
        "1 2",
        "\u22125",
        "٩٨",
        "1,234",
        "½½",
    ],
)
def test_what_a_person_mistypes_is_refused_never_a_number(v8, text):
    read = v8.call("readOne", "drag-out", "area", text)
    assert " is " in f" {read}"
    assert not read.replace(".", "").isdigit()


@pytest.mark.parametrize(
    ("text", "said"),
    [("", "needs at least 1 of none, "), ("copper, copper", "names one entry twice; allowed is none, ")],
)
def test_a_list_is_neither_empty_nor_says_a_thing_twice(v8, text, said):
    assert said in v8.call("readOne", "waste-sort", "metals", text)


@pytest.mark.parametrize(
    ("name", "argument"),
    [
        ("drag-out", "area"),
        ("dew-point", "temperature"),
        ("dew-point", "humidity"),
        ("constant-mass", "weighings"),
    ],
)
@pytest.mark.parametrize(
    "text",
    ["1,234 mm", "0,5 %", "5 furlongs", "2 oz", "4 \u00b1 1 mm", "98 cm2", "70 F", "98 cm2 (97 to 99)", "0 h 75,3 g; 1 d 75,2 g",
     "0 h 1,234 g", "0 h", "300 kg", "98 sq cm", "0.5 % %", "2 to 3 %", "1e999 %", "\U0001d7d3 %", "1/2 in"],
)  # fmt: skip
def test_a_typed_field_is_read_or_refused_in_the_same_words(v8, name, argument, text):
    field = next(declared for declared in CATALOGUE[name].inputs if declared.name == argument)
    read = v8.call("readOne", name, argument, text)
    assert read == python_reads(field, text) or json.loads(read) == python_reads(field, text)


def python_reads(field, text):
    """Return the value, or the words of the refusal."""
    try:
        return field.read_optional(text)
    except ValueError as refused:
        return str(refused)


ROWS_OF_ONE_MEANING = [
    ("constant-mass", "weighings", "0 120.5; 24 120.498", "0 h 120.5 g; 24 h 120.498 g"),
    ("constant-mass", "weighings", "0, 120.5\n1 d, 120.498", "0 h 120.5 g; 24 h 120.498 g"),
    ("constant-mass", "weighings", "0\t120.5 g\n1 d\t120.498", "0 h 120.5 g; 24 h 120.498 g"),
    ("constant-mass", "weighings", '[[0, 120.5], ["24", "120.498"]]', "0 h 120.5 g; 24 h 120.498 g"),
    ("chloride-ledger", "readings", "12 1 0.25 7; below 5 1 0.25 7",
     "12 mg/L 1 mg/L 0.25 L 7 d; below 5 mg/L 1 mg/L 0.25 L 7 d"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "argument", "bare", "full"), ROWS_OF_ONE_MEANING)
def test_a_bare_number_in_a_row_is_in_the_unit_of_its_column(v8, name, argument, bare, full):
    python = CATALOGUE[name].read(argument, bare)
    assert python == CATALOGUE[name].read(argument, full)
    assert json.loads(v8.call("readOne", name, argument, bare)) == python
    assert json.loads(v8.call("readOne", name, argument, full)) == python


@pytest.mark.parametrize(
    "text", ["0 900000; 24 120.5", "1 h 30, 120.5", "0 mm, 120.5", "0 120.5; soon 120.5"]
)
def test_a_row_with_a_slip_is_refused_in_pythons_words(v8, text):
    with pytest.raises(BadInput) as python:
        CATALOGUE["constant-mass"].read("weighings", text)
    said = v8.call("readOne", "constant-mass", "weighings", text)
    assert said.startswith("has in row")
    assert said in str(python.value)


def test_the_script_is_small_and_holds_every_formula(scripts):
    script = scripts["calculations.js"]
    assert len(script.encode()) < SCRIPT_LIMIT
    for name in CATALOGUE:
        assert f'"{name}":' in script
        assert len(scripts[forms.part_name(name)].encode()) < PART_LIMIT
    for name, text in scripts.items():
        assert name == "calculations.js" or not re.search(r"[:,\[](?:NaN|-?Infinity)\b", text), name


def test_no_formula_stands_in_the_hand_written_scripts():
    for script in BENCH.glob("*.js"):
        text = script.read_text(encoding="utf-8")
        for word in ("Math.exp", "Math.log", "Math.pow", "Math.sqrt", "8.314", "96485", "273.15"):
            assert word not in text, script.name


def test_every_hand_written_script_is_loaded_and_only_the_store_keeps_anything():
    on_every_page = (ROOT / "mkdocs.yml").read_text(encoding="utf-8")
    names = [script.name for script in BENCH.glob("*.js")]
    others = ["begin.js", "dom.js", "store.js"]
    assert sorted([*forms.HAND_WRITTEN, *forms.SOMETIMES, *forms.ALONE, *others]) == sorted(names)
    assert "- assets/bench/store.js\n  - assets/bench/dom.js\n  - assets/handbook.js\n" in on_every_page
    for script in [*BENCH.glob("*.js"), BENCH.parent / "handbook.js"]:
        assert ("localStorage" in script.read_text(encoding="utf-8")) == (script.name == "store.js")


def test_a_formula_that_cannot_be_translated_is_named_with_its_line():
    collector = browser.Collector()
    with pytest.raises(browser.CannotTranslate, match=r"test_calculators\.py:\d+: _outside: operator Mod"):
        collector.function(_outside)


def _outside(a):
    return a % 3


def test_a_number_stands_in_a_field_as_a_person_would_write_it_and_alike_on_both_sides(v8):
    dice = random.Random(11)
    numbers = [dice.uniform(-1, 1) * 10.0 ** dice.uniform(-12, 12) for _ in range(2000)]
    numbers += [60.0, 0.1, 2.54, 120.498, 1234.567, 1e-9, 1e7, 0.0, -4.0, 70 / 1.8 - 160 / 9, 3785.411784]
    v8.eval("function readable(t){return JSON.stringify(JSON.parse(t).map(HB.readable));}")
    ours = [forms.typed(number) for number in numbers]
    assert ours == json.loads(v8.call("readable", json.dumps(numbers)))
    assert ours[2000:] == [
        "60", "0.1", "2.54", "120.498", "1234.567", "1e-9", "1e7", "0", "-4", "21.11", "3785",
    ]  # fmt: skip
    for number, text in zip(numbers, ours, strict=True):
        assert float(text) == pytest.approx(number, rel=5.1e-4)


def test_a_menu_of_units_holds_the_few_that_fit():
    units = quantities.known_units()
    for declared, others in forms.UNIT_MENUS.items():
        assert 1 <= len(others) <= 4
        assert len({declared, *others}) == len(others) + 1
        for other in others:
            assert units[other][0] == units[declared][0]
            assert quantities.label(other) != quantities.label(declared)
        twin = forms.US_UNITS.get(declared)
        assert twin is None or twin in others, f"the unit switch wants {twin} for {declared}"


@pytest.mark.parametrize(
    ("name", "argument", "text", "number", "unit"),
    [
        ("dew-point", "temperature", "70 F", "70", "degF"),
        ("dew-point", "temperature", " \u22124.50 °C ", "\u22124.50", "degC"),
        ("drag-out", "area", "9.8×10¹ cm²", "9.8×10¹", "cm^2"),
        ("drag-out", "area", "1e1cm^2", "1e1", "cm^2"),
        ("drag-out", "area", "070.0", "070.0", ""),
        ("drag-out", "area", "1.23456789012345 m^2", "1.23456789012345", "m^2"),
    ],
)
def test_a_unit_written_behind_a_number_is_parted_from_it_and_the_number_kept(
    v8, name, argument, text, number, unit
):
    v8.eval(PART)
    assert json.loads(v8.call("part", name, argument, text)) == {"number": number, "unit": unit}


PART = """
function inputOf(name, argument) {
  return HB.declared[name].inputs.filter(function (i) { return i.name === argument; })[0];
}
function part(name, argument, text) { return JSON.stringify(HB.parts(inputOf(name, argument), text)); }
function cellsOf(text) { return JSON.stringify(HB.cells(text)); }
function grid(name, argument, cells) {
  return JSON.stringify(HB.readRows(inputOf(name, argument), JSON.parse(cells)));
}
function gridText(name, argument, cells) { return HB.rowsText(inputOf(name, argument), JSON.parse(cells)); }
function gridBack(name, argument, text) {
  return JSON.stringify(HB.underUnits(inputOf(name, argument), HB.cells(text)));
}
"""


@pytest.mark.parametrize(
    ("text", "cells"),
    [
        ("0\t120.5\n24\t120.498\n", [["0", "120.5"], ["24", "120.498"]]),
        ("0\t120,5\r\n24\t120,498", [["0", "120,5"], ["24", "120,498"]]),
        ("0;120,5\n24;120,498", [["0", "120,5"], ["24", "120,498"]]),
        ("0 h 120.5 g; 24 h 120.498 g", [["0 h", "120.5 g"], ["24 h", "120.498 g"]]),
        ("0 h, 120.5 g\n\n1 d, 0.1205 kg", [["0 h", "120.5 g"], ["1 d", "0.1205 kg"]]),
        ("7 d below 5 mg/L", [["7 d", "below 5 mg/L"]]),
        ('[["0 h", "120,5 g"]]', [["0 h", "120,5 g"]]),
    ],
)
def test_pasted_text_is_parted_into_cells(v8, text, cells):
    v8.eval(PART)
    assert json.loads(v8.call("cellsOf", text)) == cells


def test_a_cell_is_in_its_columns_unit_unless_it_has_one_of_its_own(v8):
    v8.eval(PART)
    cells = [["0", "120.5"], ["1 d", "0.120498 kg"], ["", " "]]
    read = json.loads(v8.call("grid", "constant-mass", "weighings", json.dumps(cells)))
    assert read["message"] == ""
    assert list(differences([[0.0, 120.5], [24.0, 120.498]], read["values"])) == []
    readings = [["7", "below 5"], ["14", "<5 mg/L"], ["21", "0.006 g/L"]]
    read = json.loads(v8.call("grid", "chloride-forecast", "readings", json.dumps(readings)))
    assert list(differences([[7.0, -5.0], [14.0, -5.0], [21.0, 6.0]], read["values"])) == []


@pytest.mark.parametrize(
    ("cells", "said", "place"),
    [
        ([["0", "120.5"], ["24", "heavy"]], "row 2, mass of the piece: heavy is not a number", (1, 1)),
        ([["0", "120.5"], ["24", ""]], "row 2, mass of the piece: is missing; allowed is 0.01", (1, 1)),
        ([["0", "120.5"], ["", ""], ["24 kg", "1"]], "row 3, time of the weighing: 24 kg is in 'kg'", (2, 0)),
        ([["0", "-1"], ["24", "1"]], "row 1, mass of the piece: -1 is out of range", (0, 1)),
        ([["0", "120.5"], ["", ""]], "has 1 row; allowed is 2 to 100", None),
    ],
)
def test_a_wrong_cell_is_told_by_its_row_and_column(v8, cells, said, place):
    v8.eval(PART)
    read = json.loads(v8.call("grid", "constant-mass", "weighings", json.dumps(cells)))
    assert read["message"].startswith(said)
    assert [(fault["row"], fault["column"]) for fault in read["faults"]] == ([place] if place else [])


@pytest.mark.parametrize(
    ("name", "argument", "cells"),
    [
        ("constant-mass", "weighings", [["0", "120.500"], ["24", "120.498"]]),
        ("constant-mass", "weighings", [["0", "120,5"], ["1 d", "0.1204980000001 kg"]]),
        ("chloride-forecast", "readings", [["7", "below 5"], ["14", "12"]]),
        ("chloride-ledger", "readings", [["46", "<1", "1", "7"]]),
        ("hygrometer-correction", "pairs", [["33", "35.5"], ["75.3", "77"]]),
    ],
)
def test_rows_go_into_an_address_and_come_back_as_they_were_typed(v8, name, argument, cells):
    v8.eval(PART)
    text = v8.call("gridText", name, argument, json.dumps(cells))
    assert json.loads(v8.call("gridBack", name, argument, text)) == cells
    if not any("," in cell or "<" in cell for row in cells for cell in row):
        ours = CATALOGUE[name].read(argument, text)  # the same text serves the command line
        theirs = json.loads(v8.call("grid", name, argument, json.dumps(cells)))
        assert list(differences(ours, theirs["values"])) == []


STORE = """
function fakeHost(refuses) {
  var kept = {}, listeners = [];
  function check() { if (refuses) throw new Error("refused"); }
  return {
    kept: kept,
    localStorage: {
      getItem: function (key) { check(); return key in kept ? kept[key] : null; },
      setItem: function (key, text) { check(); kept[key] = text; },
      removeItem: function (key) { check(); delete kept[key]; }
    },
    addEventListener: function (kind, listener) { if (kind === "storage") listeners.push(listener); },
    tell: function (key, text) { listeners.forEach(function (l) { l({key: key, newValue: text}); }); }
  };
}
"""


def test_what_is_kept_has_version_and_house_in_its_key(v8):
    v8.eval(STORE)
    script = """
    var host = fakeHost(false), one = HB.openStore(host, "Elm bench"), two = HB.openStore(host, "Oak bench");
    one.set("units", "us"); two.set("units", "metric"); one.set("gone", [1]); one.set("gone", undefined);
    JSON.stringify({keys: Object.keys(host.kept), one: one.get("units"), two: two.get("units"),
                    gone: one.get("gone") === undefined});
    """
    assert json.loads(v8.eval(script)) == {
        "keys": ["handbook/1/Elm bench/units", "handbook/1/Oak bench/units"],
        "one": "us",
        "two": "metric",
        "gone": True,
    }


def test_a_browser_that_refuses_to_keep_anything_keeps_it_for_the_page(v8):
    v8.eval(STORE)
    script = """
    var store = HB.openStore(fakeHost(true), "Elm bench");
    var kept = store.set("typed", {a: "60"});
    var seen = store.get("typed").a;
    store.set("typed", undefined);
    var sealed = HB.openStore({addEventListener: function () {}, get localStorage() { throw new Error("no"); }}, "");
    JSON.stringify([kept, seen, store.get("typed") === undefined, sealed.set("a", 1), sealed.get("a")]);
    """
    assert json.loads(v8.eval(script)) == [False, "60", True, False, 1]


def test_what_another_page_sets_is_told_and_what_is_not_ours_is_not(v8):
    v8.eval(STORE)
    script = """
    var host = fakeHost(false), store = HB.openStore(host, "Elm bench"), seen = [];
    var end = store.subscribe("units", function (value) { seen.push(value === undefined ? "nothing" : value); });
    host.tell("handbook/1/Elm bench/units", '"us"');
    host.tell("handbook/1/Oak bench/units", '"metric"');
    host.tell("handbook/1/Elm bench/typed", '"x"');
    host.tell(null, null);
    host.tell("handbook/1/Elm bench/units", '{cut sho');
    end();
    host.tell("handbook/1/Elm bench/units", '"metric"');
    host.kept["handbook/1/Elm bench/units"] = "[not JSON";
    JSON.stringify([seen, store.get("units") === undefined]);
    """
    assert json.loads(v8.eval(script)) == [["us", "nothing"], True]


SPANNED = 200


def spanned_answers(standard):
    """Yield answers of the calculations for random values with random spans, some of them over an edge."""
    chance = random.Random("spans")
    bench = Bench(standard)
    named = sorted(CATALOGUE)
    while True:
        calculation = CATALOGUE[chance.choice(named)]
        values = examples.starting_values(calculation, bench, {})
        wide = [d for d in calculation.inputs if isinstance(d, Quantity) and d.spans]
        chance.shuffle(wide)
        for declared in wide[: chance.randint(1, 3)]:
            start = values.get(declared.name)
            if start is None and declared.house and "{" not in declared.house:
                start = standard[declared.house]
            if start is None:
                continue
            value = float(start) * chance.uniform(0.7, 1.5)
            low, high = sorted((value * chance.uniform(0.3, 1), value * chance.uniform(1, 3)))
            value, low, high = (min(max(n, declared.low), declared.high) for n in (value, low, high))
            if low < high:
                leaf = leaf_of(declared, declared.name, value, (low, high))
                values[declared.name] = Known(value, leaf, declared.unit)
        try:
            answer = bench.answer(calculation.name, **values)
        except (Refusal, BadInput):
            continue
        if answer.call:
            yield answer


@pytest.mark.long
def test_intervals_are_printed_alike_in_v8(v8):
    """Figures, notes, flips and refused shares of random spans, letter for letter."""
    standard = house.load(STANDARD)
    seen, flips, shares = set(), 0, 0
    for answer in itertools.islice(spanned_answers(standard), SPANNED):
        name = answer.calculation.name
        given = answer.given()
        ours = [
            [
                answer.show(r.name, given),
                r.sentence(answer.results[r.name], given)
                if isinstance(r, Verdict) and answer.results[r.name] is not None
                else "",
                *answer.notes(r.name),
            ]
            for r in answer.calculation.results
        ]
        asked = {"name": name, "values": answer.inputs, "spans": answer.spans}
        found = json.loads(v8.call("askSpread", json.dumps(asked)))
        assert found == {"share": answer.refused_share(), "shown": ours}, asked
        seen.add(name)
        flips += sum("but not if" in note for line in ours for note in line[2:])
        shares += bool(answer.refused_share())
    assert len(seen) > 60
    assert flips > 5
    assert shares > 5


LISTINGS = [name for name in sorted(CATALOGUE) if CATALOGUE[name].listings]


def printed(text):
    """Return the number that a cell says."""
    return float(text.replace("×10", "e").translate(quantities.RAISED).replace("−", "-"))


@for_each("name", LISTINGS)
def test_no_cell_of_a_listing_says_another_number_than_it_holds(v8, house, name):
    """Half a unit of the last digit is lost in rounding, and with none declared the number stands as given."""
    answer = examples.example(CATALOGUE[name], Bench(house))
    assert not answer.refused
    numbers = 0
    for listing in CATALOGUE[name].listings:
        for row in answer.results[listing.name] or ():
            for column, cell in zip(listing.columns, row, strict=True):
                if type(column) is not Number or cell is None:
                    continue
                numbers += 1
                texts = forms._bare(column, cell), v8.call("HB.show", float(cell), "1", column.digits)
                assert texts[0] == texts[1], column.name
                digits = column.digits or 7
                lost = abs(printed(texts[0]) - cell)
                assert lost <= 0.5 * 10 ** (math.floor(math.log10(abs(cell) or 1)) - digits + 1) * (1 + 1e-9)
    assert numbers or all(
        type(column) is not Number for one in CATALOGUE[name].listings for column in one.columns
    )


def test_sizes_of_papers_stand_in_their_listing_as_they_are(house):
    """P120, P180 and P240 in micrometres: source `grit-table-a`."""
    answer = examples.example(CATALOGUE["grit-progression"], Bench(house))
    rows = answer.results["steps"]
    size = [column.name for column in CATALOGUE["grit-progression"].listings[0].columns].index("size")
    column = CATALOGUE["grit-progression"].listings[0].columns[size]
    assert [forms._bare(column, row[size]) for row in rows][:3] == ["125", "82", "58.5"]


def test_a_span_around_a_number_that_is_printed_as_given_is_told(v8):
    for number, low, high, told in (
        (12.0, 10.0, 15.0, "12.0 d (10.0 to 15.0)"),
        (40.0, 40.0, 40.0, "40 d"),
    ):
        assert quantities.show_interval(number, low, high, "d", 0).replace("\u00a0", " ") == told
        assert v8.call("HB.showInterval", number, low, high, "d", 0).replace("\u00a0", " ") == told


@for_each(
    "name", [name for name in sorted(CATALOGUE) if any(i.form == "rows" for i in CATALOGUE[name].inputs)]
)
def test_a_row_of_another_width_is_refused_in_pythons_words(v8, name):
    for declared in (one for one in CATALOGUE[name].inputs if isinstance(one, Rows)):
        wide = len(declared.columns)
        for count in {1, wide - 1, wide + 1, wide + 4} - {0, wide}:
            cells = [["1"] * count]
            with pytest.raises(ValueError, match=rf"^has {count} entries in row 1; allowed is ") as told:
                declared.read(cells)
            found = json.loads(v8.call("readCells", name, declared.name, json.dumps(cells)))
            assert found["message"] == str(told.value)
            assert [(fault["row"], fault["column"]) for fault in found["faults"]] == [
                (0, column) for column in range(wide)
            ]
            assert found["written"]  # an address can still carry it
