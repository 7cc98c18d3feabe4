"""What every calculation must hold, whatever it computes."""

import ast
import importlib
import inspect
import json
import math
import re

import pytest
from support import for_each

from handbook_calc.engine import subset
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.checks import checks
from handbook_calc.engine.faults import PACKAGE, BadInput, CalculationFault
from handbook_calc.engine.fields import Quantity
from handbook_calc.engine.sources import SOURCES_FILE, sources
from handbook_calc.engine.stages import STAGES


def valid_inputs(name):
    """Inputs of the first outside check that gives an answer, in declared units."""
    for check in checks():
        if check.calculation == name and not check.expected.startswith("refused"):
            return Bench(None).ask(name, **check.inputs).inputs
    raise AssertionError(f"no outside check of {name} gives an answer")


QUANTITIES = [
    (calculation, entry)
    for calculation in CATALOGUE.values()
    for entry in calculation.inputs
    if isinstance(entry, Quantity)
]


@for_each("name", CATALOGUE)
def test_declaration_is_complete(name):
    calculation = CATALOGUE[name]
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name)
    assert calculation.title[0].isupper()
    for key in calculation.sources:
        assert key in sources(), f"{name}: unknown source {key}"
    text = calculation.__doc__ or ""
    for part in ("Arguments:", "Returns:", "Raises:", "Source:"):
        assert part in text
    for entry in calculation.inputs:
        assert f"{entry.name} [{entry.unit}]: {entry.about}" in text
    assert (calculation.assumes != ()) or calculation.refusals or "definition" in text, (
        f"{name}: says nothing about what it takes for granted"
    )


@for_each("name", CATALOGUE)
def test_formula_stays_in_the_subset(name):
    assert subset.complaints(CATALOGUE[name].kernel) == []


@for_each(
    "calculation, entry, side",
    [(*row, side) for row in QUANTITIES for side in ("below", "above", "nan", "infinite")],
)
@pytest.mark.long
def test_out_of_range_is_refused_with_all_that_is_needed(calculation, entry, side):
    inputs = valid_inputs(calculation.name)
    width = entry.high - entry.low
    value = {
        "below": entry.low - 0.01 * width - 1,
        "above": entry.high + 0.01 * width + 1,
        "nan": math.nan,
        "infinite": math.inf,
    }[side]
    with pytest.raises(BadInput) as caught:
        calculation(**(inputs | {entry.name: value}))
    message = str(caught.value)
    assert message.startswith(f"{calculation.name}: {entry.name} = ")
    assert f"allowed is {entry.allowed()}" in message


@for_each("calculation, entry", QUANTITIES)
def test_range_ends_give_a_finite_answer_or_a_reason(calculation, entry):
    inputs = valid_inputs(calculation.name)
    for value in (entry.low, entry.high):
        reason = ""
        answer = {}
        try:
            answer = calculation.by_name(calculation(**(inputs | {entry.name: value})))
        except CalculationFault as fault:
            reason = str(fault)
        assert answer or len(reason) > len(calculation.name) + 20
        for result in answer.values():
            assert not isinstance(result, float) or math.isfinite(result)


@for_each("name", CATALOGUE)
def test_answers_are_plain_data_with_working(name):
    answer = Bench(None).answer(name, **valid_inputs(name))
    plain = json.loads(json.dumps(answer.plain(), allow_nan=False))
    assert plain["name"] == name
    assert set(plain["result"]) == {"value", "unit"}
    assert ("results" in plain) == (len(CATALOGUE[name].results) > 1)
    assert plain["source"]
    for declared in CATALOGUE[name].results:
        assert declared.show(answer.results[declared.name], answer.given())


def test_no_source_key_stands_twice():
    keys = re.findall(r"^([\w.-]+):\s*$", SOURCES_FILE.read_text(encoding="utf-8"), re.MULTILINE)
    assert len(keys) == len(set(keys)) == len(sources())


def test_a_formula_outside_the_subset_is_named_by_line():
    found = " ".join(subset.complaints(_outside))
    for part in (
        "operator Mod",
        "an argument by name",
        "call of round",
        "JoinedStr",
        "anything but range",
        "operator FloorDiv",
    ):
        assert part in found


def _outside(a, b):
    c = a % b
    d = max(a, b, key=abs)
    for item in [1, 2]:
        d = round(d + item) // 2
    return f"{c}"


SCREEN = 60


@pytest.mark.parametrize("stage", STAGES)
def test_a_function_of_a_stage_fits_on_a_screen(stage):
    module = importlib.import_module(f"handbook_calc.{stage}")
    found = ast.walk(ast.parse(inspect.getsource(module)))
    long = {
        node.name: (node.end_lineno or 0) - node.lineno + 1
        for node in found
        if isinstance(node, ast.FunctionDef) and (node.end_lineno or 0) - node.lineno >= SCREEN
    }
    assert long == {}, f"part into named helpers what is longer than {SCREEN} lines"


@pytest.mark.parametrize("path", sorted(PACKAGE.rglob("*.py")), ids=lambda path: path.stem)
@pytest.mark.long
def test_no_constant_is_set_twice(path):
    """A name that a module gives two values has the second everywhere, also where the first was meant."""
    seen = set()
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        for target in getattr(node, "targets", ()):
            for name in [n.id for n in ast.walk(target) if isinstance(n, ast.Name)]:
                assert not (name.isupper() and name in seen), f"{path.name}:{node.lineno}: {name}"
                seen.add(name)
