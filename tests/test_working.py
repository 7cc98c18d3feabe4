"""The printed working: no line reads like code, and what it comes to is the answer."""

import ast
import inspect
import random
import re
import textwrap

import pytest
from pocket_calculator import NoSum, number, worked_out
from support import for_each
from test_calculators import random_inputs
from test_catalogue import valid_inputs

from handbook_calc.engine import examples, numerals, phrases, reading
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.faults import CalculationFault
from handbook_calc.engine.working import Noting, lines_of, noted, working

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


def sums_of(name):
    """The lines that are sums: each with what it says last before what it comes to, and that."""
    for inputs, _ in answered(name):
        for step in working(CATALOGUE[name], inputs):
            said = str(step).split(" = ")
            is_sum = len(said) > 2 and said[-2] != phrases.text(step.line.said)
            if is_sum and not phrases.is_told(step.line.said):
                yield step, said[-2], number(said[-1].partition("\u00a0")[0])


@for_each("name", CATALOGUE)
@pytest.mark.long
def test_a_reader_with_a_pocket_calculator_finds_what_each_line_comes_to(name):
    """Within what rounding can do, and three digits of it with the numbers as they are printed.

    Only what lies in the last digit of what somebody gave to seven digits is not told.
    """
    for step, said, comes_to in sums_of(name):
        found = worked_out(said)
        assert found.meets(comes_to), str(step)
        if "rounded" in said:
            continue  # 11.000004 is printed as 11, and rounded up to 12
        off = abs(found.value - comes_to.value)
        lost = (
            1e-6 * max(figures(said)) if " − " in said else 0
        )  # the difference of two numbers of seven digits
        assert off <= 1e-3 * abs(comes_to.value) + lost, f"{step}: {found.value}"


@pytest.mark.parametrize(
    ("said", "value"),
    [("2 · (90 + 46) · 6", 1632), ("1 − 2 − 3", -4), ("8 ÷ 4 ÷ 2 · 3", 3), ("1 − (−2)", 3), ("−3 · 2", -6), ("(−3)²", 9),
     ("−3²", -9), ("2 · (3 + 1)²", 32), ("√(9 · 4) − 1", 5), ("ln(1)", 0), ("e to the power of (−0)", 1), ("8×10⁻³ ÷ 2", 0.004),
     ("(2×10⁻³)²", 4e-6), ("4 to the power of (1 ÷ 2)", 2), ("|2 − 5|", 3), ("the cube root of (9 · 3)", 3),
     ("(the larger of 2 and 1 + 2) ÷ 6", 0.5), ("the smallest of 3, 2 and 4 ÷ 1", 2), ("5 − 9, but at least 0", 0),
     ("7 ÷ 2, rounded up to a whole number", 4), ("1 ÷ 2, rounded down to a whole number, but at least 1", 1),
     ("((7 ÷ 2, rounded down to a whole number) + 1) · 10", 40), ("5, but between 1 and 3", 3)],
)  # fmt: skip
def test_the_pocket_calculator_itself(said, value):
    assert worked_out(said).value == pytest.approx(value, abs=1e-12)


@pytest.mark.parametrize("said", ["mass ÷ 3", "3 ÷", "2 · (3 + 1", "1 ÷ 0", "ln(0)", "2 3", ""])
def test_the_pocket_calculator_takes_no_words(said):
    with pytest.raises(NoSum):
        worked_out(said)


@pytest.mark.parametrize(
    ("told", "other"), [("0.33333", "0.3334"), ("1632", "1633"), ("2.5×10⁻⁷", "2.5002×10⁻⁷")]
)
def test_a_printed_number_is_no_other_number(told, other):
    assert number(told).meets(number(told))
    assert not number(told).meets(number(other))


def figures(text):
    """The numbers in a sum."""
    return [number(figure).value for figure in re.findall(r"\d+(?:\.\d+)?(?:×10[⁻⁰¹²³⁴-⁹]+)?", text)]


def named(said):
    """The names of inputs and earlier lines in a line."""
    return {getattr(part, "name", "") for part in phrases.parts_of(said)}


def read_beside_lines(calculation):
    """The names that a formula reads elsewhere than in a line that is told: to compare, to refuse."""
    kernel = calculation.kernel
    function = ast.parse(textwrap.dedent(inspect.getsource(kernel))).body[0]
    assert isinstance(function, ast.FunctionDef)
    Noting("note", function, phrases.Reader(calculation.name, kernel)).visit(function)
    lines, found = lines_of(calculation), set()
    waiting: list[ast.AST] = list(function.body)
    while waiting:
        node = waiting.pop()
        if (
            isinstance(node, ast.Call)
            and ast.unparse(node.func) == "note"
            and lines[int(ast.unparse(node.args[0]))]
        ):
            continue
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load):
            found.add(node.id)
        waiting += ast.iter_child_nodes(node)
    return found


@for_each("name", CATALOGUE)
@pytest.mark.long
def test_no_line_tells_what_was_not_used(name):
    calculation = CATALOGUE[name]
    elsewhere = read_beside_lines(calculation)
    for inputs, _ in answered(name):
        steps = working(calculation, inputs)
        for place, step in enumerate(steps):
            set_here = step.line.name
            if not set_here or step.line.result:
                continue
            after = [one.line for one in steps[place + 1 :] if one.line is not step.line]
            uses = [set_here in named(one.said) for one in after]
            sets = [one.name == set_here for one in after]
            first_set = sets.index(True) if True in sets else len(sets)
            used = any(uses[: first_set + 1])
            assert used or (set_here in elsewhere and True not in sets), f"{step}"


def test_units_of_the_words_are_made_of_known_ones():
    for (where, what), (_, unit) in phrases.rows().items():
        parts = [] if unit in ("", *reading.UNITS) else re.split(r"[/*]", unit)
        assert set(parts) <= {*reading.UNITS, "K"}, f"{where}, {what}: {unit}"


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
    declared = {what for (_, what), (words, _) in phrases.rows().items() if words == phrases.UNTOLD}
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
    ("test", "said"),
    [
        ("mass is None", " where no mass is given"), ("not (mass is not None)", " where no mass is given"),
        ("mass is not None", ""), ("not (mass is None)", ""), ("mass in (1, 2)", ""), ("not (mass in (1, 2))", ""),
        ("mass > 2", " where mass > 2"), ("not (mass > 2)", " where mass ≤ 2"), ("2 < mass < 3", ""),
    ],
)  # fmt: skip
def test_the_condition_of_a_line(test, said):
    """Every comparison of the subset is told, or left out, and none ends the build."""
    reader = phrases.Reader("area-from-mass", CATALOGUE["area-from-mass"].kernel)
    assert reader.where(ast.parse(test, mode="eval").body, "area") == said


@pytest.mark.parametrize(
    ("name", "line"),
    [
        ("piece-side", "side sought = box ÷ side ÷ other side = 26227 ÷ 90 ÷ 46 = 6.335\u00a0mm"),
        ("constant-mass", "change = mass at the last weighing − mass at the weighing before it that counts = 186.396 − 186.397 = "
         "−0.001\u00a0g"),
        ("slab-area", "edge = 2 · (length + width) · thickness = 2 · (90 + 46) · 6 = 1632\u00a0mm²"),
        ("slab-area", "area = (faces + edge) ÷ 100 = (8280 + 1632) ÷ 100 = 99.12\u00a0cm²"),
        ("rinse-residue", "share kept = drag-out ÷ (drag-out + bath) = 2.3 ÷ (2.3 + 500) = 0.0045789"),
        ("rinse-baths", "exact count = ln(limit ÷ start) ÷ ln(share kept) = ln(0.05 ÷ 20) ÷ ln(0.0045789) = 1.1124"),
        ("water-consumed", "moles = current · time · 3600 ÷ (2 · Faraday constant) = 3 · 168 · 3600 ÷ (2 · 96485) = 9.4025\u00a0mol"),
        ("area-from-mass", "width = √(one face ÷ aspect) = √(39.34 ÷ 1.5) = 5.1212\u00a0cm"),
        ("cathode-current", "current = the smaller of wanted and supply limit = the smaller of 0.0049 and 3 = 0.0049\u00a0A"),
        ("cathode-current", "limit = density limit = 1\u00a0mA/cm²"),
        ("ferric-chloride-density", "density = density from the table, for 12.5\u00a0% at 20\u00a0°C = 1.10975\u00a0g/cm³"),
        ("alcohol-strength", "mass percent = strength from the table of densities, for 0.81\u00a0g/cm³ at 20\u00a0°C = 89.852\u00a0%"),
        # what is looked up has a line of its own, and its number in the line that uses it
        ("flammable-volume", "molar mass of the solvent = 60.095\u00a0g/mol"),
        ("flammable-volume", "litres of gas in a mole at 21\u00a0°C = 24.137\u00a0L/mol"),
        ("flammable-volume", "litres of vapour = mass ÷ molar mass of the solvent · litres of gas in a mole = 39.275 ÷ 60.095 · "
         "24.137 = 15.775\u00a0L"),
        ("dew-point", "pressure of saturated vapour at 21\u00a0°C = 2480.9\u00a0Pa"),
        ("dew-point", "pressure = pressure of saturated vapour · humidity ÷ 100 = 2480.9 · 50 ÷ 100 = 1240.5\u00a0Pa"),
        ("gel-moisture", "water in the gel = water at the point below + slope · (humidity − humidity of the point below) = 76.773 + "
         "4.5695 · (12 − 9.6472) = 87.524\u00a0g/kg"),
        # the way that was taken, and where that is not what somebody gave, why
        ("bulk-density", "air where no air density is given = 0\u00a0g/cm³"),
        ("crack-exchange", "time where the liquid falls out = number of the falling liquid ÷ Rayleigh number · hours of one depth "
         "squared over the diffusivity = 28 ÷ 1931.4 · 14.815 = 0.21478\u00a0h"),
        # numbers that lie close together have more digits, so that their difference can be found
        ("air-lift", "change = lift − after = 28.51415 − 27.6755 = 0.83865\u00a0mg"),
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
