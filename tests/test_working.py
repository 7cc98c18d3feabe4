"""The printed working: no line reads like code, and what it comes to is the answer."""

import ast
import random
import re

import pytest
from support import for_each
from test_calculators import random_inputs
from test_catalogue import valid_inputs

from handbook_calc.engine import examples, numerals, phrases
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.faults import CalculationFault
from handbook_calc.engine.working import lines_of, noted, working

RANDOM_INPUTS = 200
# Signs and words that code has and a person does not write; a name with an underscore, and one in capitals.
CODE = re.compile(
    r"[\[\]{}_]|\*\*|//|[=!<>]=|\bdeg[CF]\b|\b(len|min|max|abs|sqrt|log|exp|floor|ceil|round)\("
    r"|\b(None|True|False|else|lambda)\b|\b[A-Z]{3,}\b|'\w+'|\d[eE][-+]?\d|[-/](?= )|\*"
)


def all_inputs(name):
    """Inputs to print a working for: a check's, and random ones."""
    calculation = CATALOGUE[name]
    dice = random.Random(name)
    yield valid_inputs(name)
    yield from random_inputs(calculation, dice, RANDOM_INPUTS)


def answered(name):
    """The inputs among them that have an answer, with its results."""
    calculation = CATALOGUE[name]
    for inputs in all_inputs(name):
        try:
            yield inputs, calculation.by_name(calculation(**inputs))
        except CalculationFault:
            continue


@for_each("name", CATALOGUE)
@pytest.mark.long
def test_no_line_reads_like_code(name):
    for inputs, _ in answered(name):
        for step in working(CATALOGUE[name], inputs):
            found = CODE.search(str(step))
            assert not found, f"{step}: {found[0] if found else ''}"


@for_each("name", CATALOGUE)
@pytest.mark.long
def test_what_a_line_gives_back_is_the_answer(name):
    for inputs, results in answered(name):
        given_back = {step.line.result: step for step in working(CATALOGUE[name], inputs)}
        for result, step in given_back.items():
            if result:
                assert step.value == results[result]
                assert str(step).endswith(step.shown)


@for_each("name", CATALOGUE)
@pytest.mark.long
def test_every_number_of_a_formula_is_told_or_said_to_be_no_step(name):
    calculation = CATALOGUE[name]
    code, expressions = noted(calculation)
    lines = lines_of(calculation)
    untold = set()

    def note(number, value):
        if lines[number] is None and isinstance(value, int | float) and not isinstance(value, bool):
            untold.add(expressions[number].expression)
        return value

    scope = dict(calculation.kernel.__globals__, __note=note)
    exec(code, scope)
    for inputs, _ in answered(name):
        calculation._compute([inputs[key] for key in calculation.names], scope[calculation.kernel.__name__])
    declared = {what for (_, what), words in phrases.words_of().items() if words == phrases.UNTOLD}
    for expression in untold:
        names = [f"{ast.unparse(node.func)}()" for node in ast.walk(expression) if isinstance(node, ast.Call)]
        assert {ast.unparse(expression), *names} & declared, ast.unparse(expression)


def test_each_row_of_words_is_used_and_placed():
    used: set = set()
    for name, calculation in CATALOGUE.items():
        reader = phrases.Reader(name, calculation.kernel, used)
        for line in noted(calculation)[1]:
            reader.name(line.name)
            reader.unit(ast.Name(line.name))
            reader.unit(line.expression)
            reader.where(line.where, "")
            try:
                reader.line(line.expression)
            except phrases.Unsaid:
                continue
    assert set(phrases.rows()) - used == set()


@pytest.mark.parametrize(
    ("name", "line"),
    [
        ("piece-side", "side sought = box in mm³ ÷ side ÷ other side = 26227 ÷ 90 ÷ 46 = 6.335\u00a0mm"),
        ("constant-mass", "change = mass at the last weighing − mass at the weighing before it that counts = 186.396 − 186.397 = "
         "−0.001\u00a0g"),
        ("slab-area", "edge = 2 · (length + width) · thickness = 2 · (90 + 46) · 6 = 1632"),
        ("slab-area", "area = (faces + edge) ÷ 100 = (8280 + 1632) ÷ 100 = 99.12\u00a0cm²"),
        ("rinse-residue", "share kept = drag-out ÷ (drag-out + bath) = 2.3 ÷ (2.3 + 500) = 0.0045789"),
        ("rinse-baths", "exact count = ln(limit ÷ start) ÷ ln(share kept) = ln(0.05 ÷ 20) ÷ ln(0.0045789) = 1.1124"),
        ("water-consumed", "moles = current · time · 3600 ÷ (2 · Faraday constant) = 3 · 168 · 3600 ÷ (2 · 96485) = 9.4025"),
        ("area-from-mass", "width = √(one face ÷ aspect) = √(39.34 ÷ 1.5) = 5.1212"),
        ("cathode-current", "current = the smaller of wanted and supply limit = the smaller of 0.0049 and 3 = 0.0049\u00a0A"),
        ("cathode-current", "limit = density limit = 1"),
        ("ferric-chloride-density", "density = density from the table, for 12.5\u00a0% at 20\u00a0°C = 1.10975\u00a0g/cm³"),
        ("alcohol-strength", "mass percent = strength from the table of densities, for 0.81\u00a0g/cm³ at 20\u00a0°C = 89.852\u00a0%"),
        ("storage-verdict", "limit = limit active = 12\u00a0%"),
        ("electrode-potential", "potential = reading + potential of the electrode read against − potential of the wanted "
         "electrode = (−900) + 197 − 0 = −703\u00a0mV"),
    ],
)  # fmt: skip
def test_lines_as_a_person_writes_them(house, name, line):
    assert line in examples.example(CATALOGUE[name], Bench(house)).working()


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("a - (b - c)", "a − (b − c)"),
        ("a / (b * c) / d", "a ÷ (b · c) ÷ d"),
        ("-(a + b) ** 2", "−(a + b)²"),
        ("a ** 3", "a³"),
        ("(a * b) ** 0.5", "√(a · b)"),
        ("max(a, min(b, c))", "c, but between a and b"),
        ("max(0, a - b)", "a − b, but at least 0"),
        ("ceil(a / b - 1e-9)", "a ÷ b, rounded up to a whole number"),
        ("a if b is None else b", "b, or a where none is given"),
        ("a if b > 2 else c", "a where b > 2, otherwise c"),
        ("abs(a - b)", "|a − b|"),
        ("exp(-a)", "e to the power of (−a)"),
        ("long_name * 2", "long name · 2"),
        ("long_name ** 2", "(long name)²"),
    ],
)
def test_signs_and_brackets(code, said):
    reader = phrases.Reader("none", test_signs_and_brackets)
    assert phrases.text(reader.line(ast.parse(code, mode="eval").body)) == said


def test_a_negative_number_stands_in_brackets_between_signs():
    reader = phrases.Reader("none", test_signs_and_brackets)
    line = reader.line(ast.parse("a - b", mode="eval").body)
    assert phrases.text(line, {"a": "1", "b": "−2"}) == "1 − (−2)"


@pytest.mark.parametrize("code", ["a[0]", "f(a)", "NOWHERE", "[a]"])
def test_what_has_no_words_is_told_apart(code):
    reader = phrases.Reader("none", test_signs_and_brackets)
    with pytest.raises(phrases.Unsaid):
        reader.line(ast.parse(code, mode="eval").body)


@pytest.mark.parametrize(
    ("number", "text"),
    [(99.12, "99.12"), (8280, "8280"), (2.0, "2"), (0, "0"), (-0.5, "-0.5"), (1 / 3, "0.33333"), (7.854e-7, "7.854×10⁻⁷"),
     (99999.712, "100000"), (110650.42, "110650"), (1e7, "1×10⁷"), (0.30000000000000004, "0.3"),
     # a reading or a constant is whole, and not quite all is not all
     (186.412, "186.412"), (101.325, "101.325"), (0.99999945, "0.99999945"), (0.999123456, "0.99912"), (1 - 1e-13, "1")],
)  # fmt: skip
def test_a_number_of_the_working_has_no_idle_zeros(number, text):
    assert numerals.worked(float(number), 5) == text
