"""The reader's own piece in the pages: what a page needs to answer for it instead of the example.

The page reads a piece's file with the same readers, derives what it leaves open by the same declarations
(`piece.DERIVATIONS`), and computes figures, tables and calculators anew with the same formulas. Here stands
which figure and which cell of a table follows which fact.
"""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from handbook_calc.engine import examples, forms, quantities
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE, Calculation
from handbook_calc.engine.declarations import house_key
from handbook_calc.engine.faults import CalculationFault
from handbook_calc.engine.fields import MEASURED, Choice, Day, Field, Quantity, Words, YesNo
from handbook_calc.engine.house import MOST_BYTES, SETTINGS, House, is_of_piece
from handbook_calc.engine.known import Derived, DerivedCount, Known, Scaled
from handbook_calc.engine.planning import KINDS
from handbook_calc.engine.registers import REGISTERS
from handbook_calc.engine.render import Renderer
from handbook_calc.engine.steps import ALIAS
from handbook_calc.engine.tables import TABLES, Table
from handbook_calc.piece import DERIVATIONS, SIDE_FACTS
from handbook_calc.reasons import as_script, asked_on_pages

SCRIPT = "own-data.js"
# Inputs that ask for a fact of the piece whatever their own example is, by name; of the fact's own form.
BY_NAME = {
    "through": "piece.crack_through",
    "filled": "piece.crack_filled",
    "kind": "piece.kind",
    "shape": "piece.shape",
    "crack_volume": "piece.crack_volume",
    "crack_length": "piece.crack_length",
    "thickness": "piece.thickness",
    "rusted_share": "piece.rusted_share",
    "beads": "piece.beads",
    "flaking": "piece.flaking",
    "return_days": "piece.return_days",
    "warp": "piece.warp",
    "bandwidth": "piece.bandwidth",
    "sulphide": "piece.sulphide",
    "box_volume": "wanted.box",
}
FACTORS = (1.0, 10.0, 0.1)  # a cell that one size of piece refuses, another may answer


def script(renderer: Renderer) -> str:
    """Return what pages need to answer for a reader's own piece, as a script.

    Arguments:
        renderer: one that has noted every page.
    """
    lists: list[tuple] = []
    called: list[dict] = []
    standard = renderer.house
    data = {
        "example": standard["piece.number"],
        "facts": {key: _fact(key, declared, lists, called) for key, declared in _facts_of_piece()},
        "lists": lists,
        "called": called,
        "most": MOST_BYTES,
        "template": template(standard),
        "derived": [
            {
                "fact": each.fact,
                "calculation": each.calculation,
                "inputs": each.inputs,
                "slots": each.slots,
                "alike": each.alike,
                "needs": each.needs,
            }
            for each in DERIVATIONS
        ],
        "sides": SIDE_FACTS,
        "starts": {name: start for name, each in CATALOGUE.items() if (start := _starts(each, standard))},
        "coatings": standard.names(KINDS),
        "coats": {name: _coat(standard, name) for name in standard.names(KINDS)},
        "figures": dict(_figures(renderer)),
        "tables": {name: _table(TABLES[name], standard) for name in _tables_of_pieces(renderer)},
        "handier": quantities.HANDIER,
        "pages": dict(_calculator_pages(renderer)),
    }
    return as_script("own", data)


def _facts_of_piece() -> Iterator[tuple[str, Field]]:
    for key, declared in SETTINGS.items():
        if is_of_piece(key):
            yield key, declared


def _fact(key: str, declared: Field, lists: list, called: list) -> dict[str, Any]:
    """Return what a page must know of a fact: how it is read, and what is taken where it is open."""
    found = forms.declared_input(declared, lists, called)
    found["instead"] = [
        {"words": instead.words, "taken": instead.taken, "costs": instead.costs}
        for instead in declared.instead
    ]
    if isinstance(declared, Words | Day):
        found["pattern"] = declared.pattern
    return found


def template(standard: House) -> str:
    """Return the file of a piece of which nothing is known yet, for a reader to fill in."""
    lines = [
        f"# A piece on the bench of {standard['house.name']}. Write each fact with its unit, and behind a",
        "# guess its span in brackets, 4 mm (2 mm to 8 mm); where nobody knows, write unknown.",
    ]
    section = ""
    for key, declared in _facts_of_piece():
        above, _, name = key.partition(".")
        if above != section:
            lines += ["", f"{above}:"]
            section = above
        text = _open_text(key, declared, standard)
        if text:
            lines.append(f"  {name}: {text}")
    return "\n".join([*lines, ""])


def _open_text(key: str, declared: Field, standard: House) -> str:
    """Return what stands for a fact before anybody has told it; nothing where it must be told."""
    for instead in declared.instead:
        if "unknown" in instead.words:
            return "unknown"
    if not key.startswith("wanted."):
        return ""
    if isinstance(declared, YesNo):
        return "no"
    return standard.entry(key).written if isinstance(declared, Quantity) else "none"


def _coat(standard: House, name: str) -> dict[str, Any]:
    """Return the values of a coating as the steps of a plan read them, with their spans."""
    start = f"{KINDS}.{name}."
    found = {}
    for key, entry in standard.entries.items():
        if key.startswith(start):
            value = list(entry.value) if isinstance(entry.value, tuple) else entry.value
            ends = list(entry.span) if entry.span else []
            found[f"{ALIAS}{key.removeprefix(start)}"] = [value, *ends]
    return found


def _starts(calculation: Calculation, standard: House) -> dict[str, Any]:
    """Return by input what a calculator starts from when a piece is chosen.

    That is a fact, the run of another calculation, or an empty text where the example's figure stands and
    has to be called the example's.
    """
    found: dict[str, Any] = {}
    for declared in calculation.inputs:
        if declared.of_piece == MEASURED:
            found[declared.name] = ""
        elif declared.of_piece and not is_of_piece(declared.of_piece):
            found[declared.name] = _run_for(declared.of_piece, standard)
        elif key := fact_for(declared):
            found[declared.name] = key
    return found


def fact_for(declared: Field) -> str:
    """Return the fact that an input asks for, or an empty text."""
    key = declared.of_piece or house_key(declared.example or "") or BY_NAME.get(declared.name, "")
    return key if is_of_piece(key) and _alike(declared, SETTINGS[key]) else ""


def _run_for(asked: str, standard: House) -> dict[str, Any]:
    """Return the run of a calculation for a piece: facts where it asks for them, else what the house has."""
    name, *written = asked.split("; ")
    calculation = CATALOGUE[name]
    given = {
        argument: calculation.read(argument, text)
        for argument, _, text in (each.partition("=") for each in written)
    }
    bench = Bench(standard)
    answer = bench.answer(name, **examples.starting_values(calculation, bench, given))
    inputs: dict[str, Any] = {}
    for declared in calculation.inputs:
        value = answer.inputs[declared.name]
        if declared.name not in given and (key := fact_for(declared)):
            inputs[declared.name] = key
        elif value is not None:
            inputs[declared.name] = [value, *answer.spans.get(declared.name, ())]
    return {"run": name, "result": calculation.results[0].name, "inputs": inputs}


def _alike(declared: Field, fact: Field) -> bool:
    """Tell whether an input takes what a fact may be: numbers of one kind of quantity, or the same words."""
    if isinstance(declared, Quantity) and isinstance(fact, Quantity):
        units = quantities.known_units()
        return units[declared.unit][0] == units[fact.unit][0]
    if isinstance(declared, Choice) and isinstance(fact, Choice):
        return set(declared.names()) == set(fact.names())
    return type(declared) is type(fact)


# --- figures -----------------------------------------------------------------------------------


def follows_piece(keys) -> bool:
    """Tell whether anything that used these house values follows the piece."""
    return any(map(is_of_piece, keys))


def _figures(renderer: Renderer) -> Iterator[tuple[str, dict]]:
    """Yield each figure in a sentence that follows a fact, by what asks for it, as a run for the page."""
    for asked in asked_on_pages(renderer):
        answer, used = renderer.answer(asked)
        if not follows_piece(used):
            continue
        inputs = {}
        for declared in answer.calculation.inputs:
            key = asked.keys.get(declared.name, "")
            value = answer.inputs[declared.name]
            if is_of_piece(key):
                inputs[declared.name] = key
            elif value is not None:
                inputs[declared.name] = [value, *answer.spans.get(declared.name, ())]
        result = answer.calculation.result(asked.name.partition(".")[2])
        yield asked.written, {"run": answer.calculation.name, "result": result.name, "inputs": inputs}


def _calculator_pages(renderer: Renderer) -> Iterator[tuple[str, str]]:
    """Yield each calculation with the name of the page below ``calculators`` on which it can be worked."""
    for page, asked in renderer.asked.items():
        folder, _, file = page.partition("/")
        if folder == "calculators":
            yield from ((each.name, file.removesuffix(".md")) for each in asked if each.verb == "calc")


# --- tables ------------------------------------------------------------------------------------


def _tables_of_pieces(renderer: Renderer) -> list[str]:
    """Return the tables of the pages that follow a fact of the piece."""
    return [
        name
        for name in renderer.usage.table_pages
        if name in TABLES and name not in REGISTERS and follows_piece(renderer.computed(name).values)
    ]


def _table(declared: Table, standard: House) -> dict[str, Any]:
    """Return how the page fills a table anew: a run for each cell, or the calculators to go to instead."""
    if not declared.follows:
        return {"instead": list(declared.instead_of_rows)}
    cells: dict[str, dict] = {}
    for factor in FACTORS:
        try:
            sheet = declared.make(Bench(_sized(standard, factor)))
        except CalculationFault:
            continue
        for i, row in enumerate(sheet.rows):
            for j, cell in enumerate(row):
                if isinstance(cell, Derived | DerivedCount) and _of_piece(cell):
                    cells.setdefault(f"{i} {j}", run_of(cell))
    sheet = declared.make(Bench(standard))
    return {"columns": [[column.unit, column.digits] for column in sheet.columns], "cells": cells}


def _sized(standard: House, factor: float) -> House:
    """Return the standard with a piece of which every measure is a span, so that a result remembers it."""
    entries = dict(standard.entries)
    for key, entry in standard.entries.items():
        if is_of_piece(key) and isinstance(entry.field, Quantity) and entry.value:
            low, high = entry.field.low, entry.field.high
            value = min(max(entry.value * factor, low), high)
            entries[key] = replace(entry, value=value, span=(0.99 * value, 1.01 * value))
    return House(entries, standard.files, piece=standard.piece)


def _of_piece(cell) -> bool:
    return any(map(is_of_piece, cell.call.leaves))


def run_of(cell) -> dict[str, Any]:
    """Return a result as the run that it came from, down to the facts and the house's values behind it."""
    call = cell.call
    if isinstance(call, Scaled):
        return {"fact": call.known.leaf.name, "times": call.times}
    inputs: dict[str, Any] = {}
    for name in call.names:
        source, value = call.sources.get(name), call.values[name]
        if isinstance(source, Known):
            of_piece = is_of_piece(source.leaf.name)
            inputs[name] = source.leaf.name if of_piece else [value, *source.ends, source.leaf.name]
        elif source is not None:
            inputs[name] = run_of(source)
        elif value is not None:
            inputs[name] = [value]
    found = {"run": call.calculation.name, "result": cell.result, "inputs": inputs}
    return found if cell.factor == 1 else found | {"times": cell.factor}
