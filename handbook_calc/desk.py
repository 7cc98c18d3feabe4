"""The keeper's desk: what the page of the house standard needs so that values can be written in it.

The page reads with the same functions as Python, holds a value to its range and to the rules about pairs, and
computes what a value would do with the same formulas. Rules that reckon are carried by name only, so that the
page can say what it cannot check.
"""

import inspect
from typing import Any

from handbook_calc.engine import forms
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE, Calculation, Verdict
from handbook_calc.engine.declarations import house_key
from handbook_calc.engine.examples import starting_values
from handbook_calc.engine.faults import CalculationFault
from handbook_calc.engine.fields import Choice, Quantity, Words
from handbook_calc.engine.house import GRADES, Entry, House
from handbook_calc.engine.rules import RULES
from handbook_calc.reasons import as_script

SCRIPT = "desk-data.js"


def script(house: House) -> str:
    """Return what the page of the house standard needs, as a script."""
    lists: list[tuple] = []
    called: list[dict] = []
    own = [str(entry.file) for entry in house.entries.values()]
    data = {
        "values": {key: _value(entry, lists, called) for key, entry in house.entries.items()},
        "lists": lists,
        "called": called,
        "grades": GRADES,
        "pairs": [list(pair) for rule in RULES.values() for pair in rule.pairs],
        "reckoned": [
            {"says": _says(rule.check), "keys": list(rule.keys)} for rule in RULES.values() if not rule.pairs
        ],
        "starts": {
            name: start for name, calculation in CATALOGUE.items() if (start := _start(calculation, house))
        },
        "file": own[-1] if len(house.files) > 1 else "",
        "name": house["house.name"],
    }
    return as_script("desk", data)


def _value(entry: Entry, lists: list, called: list) -> dict[str, Any]:
    declared = forms.declared_input(entry.field, lists, called)
    value: dict[str, Any] = {
        "input": declared,
        "written": entry.written,
        "value": entry.value,
        "reason": entry.reason,
        "file": entry.file,
        "line": entry.line,
    }
    if entry.span:
        value["ends"] = entry.span
    if isinstance(entry.field, Quantity) and entry.field.limit:
        value["limit"] = entry.field.limit
    if isinstance(entry.field, Words):
        value["pattern"] = entry.field.pattern
    if isinstance(entry.field, Choice) and entry.field.normal:
        value["spelled"] = True  # Python knows other spellings too
    return value


def _says(check) -> str:
    """Return the first sentence of what a rule says of itself, or its name."""
    text = inspect.getdoc(check) or check.__name__.replace("_", " ")
    return " ".join(text.split("\n\n")[0].split()).rstrip(".")


def _start(calculation: Calculation, house: House) -> dict[str, Any] | None:
    """Return what a calculation starts from, as its calculator does; None where that gives no answer now."""
    bench = Bench(house)
    try:
        values = starting_values(calculation, bench, {})
        bench.answer(calculation.name, **dict(values))
    except CalculationFault:
        return None
    follows = {
        declared.name: key
        for declared in calculation.inputs
        if not declared.house and (key := house_key(declared.example or ""))
    }
    plain = {
        name: float(v) if isinstance(v, float) else v for name, v in values.items() if name not in follows
    }
    stops = {r.name: list(r.stops) for r in calculation.results if isinstance(r, Verdict) and r.stops}
    ends = {d.name: d.end for d in calculation.inputs if d.end}
    found = {"values": plain, "follows": follows, "stops": stops, "ends": ends}
    return {name: part for name, part in found.items() if part or name == "values"}
