"""What a calculation starts from where nobody has written anything: the house, then its examples."""

from functools import cache

from handbook_calc.engine import house, places
from handbook_calc.engine.bench import Answer, Bench
from handbook_calc.engine.calculation import Calculation
from handbook_calc.engine.declarations import house_key
from handbook_calc.engine.faults import CalculationFault, HouseFaults
from handbook_calc.engine.fields import Field, Quantity


def starting_values(calculation: Calculation, bench: Bench, given: dict) -> dict:
    """Return inputs for a calculator to start from: what is given, and the examples of its declaration.

    What has a house value as its default is left to the bench.

    Arguments:
        calculation: a calculation of the catalogue.
        bench: notes the house values that are used.
        given: inputs by name, in declared units.
    """
    values = dict(given)
    for declared in calculation.inputs:
        if declared.name not in values and declared.example and not declared.house:
            values[declared.name] = _example(declared, bench)
    return values


def _example(declared: Field, bench: Bench):
    key = house_key(declared.example)
    if not key:
        return declared.read_optional(declared.example)
    return bench.value_in(key, declared)


def example(calculation: Calculation, bench: Bench) -> Answer:
    """Return the answer that a calculator of this calculation opens with."""
    return bench.answer(calculation.name, **starting_values(calculation, bench, {}))


def lines(calculation: Calculation) -> list[str]:
    """Return the example of a calculation's docstring: a command, and what it prints first.

    A package without its house standard, or with a faulty one, shows none.
    """
    standard = _standard()
    if standard is None:
        return []
    try:
        answer = example(calculation, Bench(standard))
    except CalculationFault:
        return []
    written = {
        declared.name: _written(declared, answer.inputs[declared.name], answer.spans.get(declared.name))
        for declared in calculation.inputs
        if answer.inputs[declared.name] is not None
    }
    given = [f'{name}="{text}"' for name, text in written.items()]
    results = [f"{result.name}: {answer.show(result.name)}" for result in calculation.results]
    return [
        "",
        "Example:",
        f"    calc {' '.join([calculation.name, *given])}",
        *(f"    {r}" for r in results),
    ]


def _written(declared: Field, value, span=None) -> str:
    """Return a value as a person writes it, so that it reads back as the same value."""
    if isinstance(declared, Quantity):
        unit = "" if declared.unit == "1" else f" {declared.unit}"
        ends = f" ({span[0]!r}{unit} to {span[1]!r}{unit})" if span else ""
        return f"{value!r}{unit}{ends}"
    return declared.show(value).replace("\u00a0", " ")


@cache
def _standard() -> house.House | None:
    try:
        return house.load(places.handbook() / house.STANDARD)
    except HouseFaults:
        return None
