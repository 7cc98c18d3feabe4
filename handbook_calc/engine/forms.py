"""The calculators in the pages: their HTML with the default's answer, and the data their script reads."""

import json
from html import escape

from handbook_calc.engine import quantities
from handbook_calc.engine.bench import Answer
from handbook_calc.engine.browser import LONG_TEXTS, script
from handbook_calc.engine.calculation import (
    CATALOGUE,
    NO_RESULT,
    Calculation,
    Figure,
    Listing,
    Reasons,
    Verdict,
    Whole,
)
from handbook_calc.engine.fields import Choice, Field, Quantity, Rows, Several
from handbook_calc.engine.formula import formula
from handbook_calc.engine.house import House
from handbook_calc.engine.working import noted, working

# The unit a reader of US units wants, for each unit that has one; the rest are the same everywhere.
US_UNITS = {
    "g": "oz_avdp", "kg": "lb", "mm": "in", "cm": "in", "m": "ft", "um": "mil", "cm^2": "in^2",
    "m^2": "ft^2", "mL": "floz", "L": "gal", "cm^3": "in^3", "m^3": "ft^3", "degC": "degF",
    "delta_degC": "delta_degF", "m^3/h": "ft^3/min", "L/h": "gal/h",
}  # fmt: skip


def calculator(answer: Answer, anchor: str, house: str, source: str) -> str:
    """Return a calculator as HTML, filled in: right and readable also where no script runs.

    Arguments:
        answer: inputs and results to start from.
        anchor: id of the calculator on its page.
        house: HTML that links the house values used.
        source: HTML that links the sources.
    """
    calculation = answer.calculation
    given = answer.given()
    fields = "".join(_field_html(d, answer, anchor) for d in calculation.inputs)
    results = "".join(_result_html(r, answer, given) for r in calculation.results)
    main = calculation.results[0]
    short = escape(main.show(answer.results[main.name], given))
    assumes = "".join(f"<li>{escape(line)}</li>" for line in calculation.assumes)
    assumed = f"<p>Taken for granted:</p><ul>{assumes}</ul>" if assumes else ""
    used = f"<p>House values filled in: {house}.</p>" if house else ""
    curve = f' data-curve="{calculation.curve}"' if calculation.curve else ""
    return (
        f'<details class="hb-calc" id="{anchor}"><summary><span class="hb-calc-title">'
        f'{escape(calculation.title)}</span> <output class="hb-calc-short">{short}</output></summary>'
        f'<form data-calculation="{calculation.name}"{curve} novalidate>'
        f'<div class="hb-fields">{fields}</div>'
        f'<div class="hb-answer" role="status" aria-live="polite"><dl>{results}</dl></div>'
        f'<details class="hb-working"><summary>Working, assumptions, source</summary>'
        f"{_working_html(answer)}{assumed}{used}<p>Source: {source}.</p></details>"
        f"</form></details>"
    )


def _field_html(declared: Field, answer: Answer, anchor: str) -> str:
    value = answer.inputs[declared.name]
    name = f"{anchor}-{declared.name}"
    help_text = declared.allowed()
    if declared.house:
        help_text += "; the house's value unless you change it"
    elif declared.optional:
        help_text += "; may be left empty"
    attributes = f'id="{name}" data-argument="{declared.name}" aria-describedby="{name}-help {name}-error"'
    control = _control(declared, value, attributes, answer)
    label = f'<label for="{name}">{escape(declared.about)}</label>'
    return (
        f'<div class="hb-field">{label}<span class="hb-entry">{control}</span>'
        f'<span class="hb-help" id="{name}-help">{escape(help_text)}</span>'
        f'<span class="hb-error" id="{name}-error" role="alert"></span></div>'
    )


def _control(declared: Field, value, attributes: str, answer: Answer) -> str:
    if declared.form in ("quantity", "count", "reading"):
        text = "" if value is None else typed(value)
        unit = quantities.label(declared.unit)
        chooser = ""
        if unit:
            chooser = (
                f'<select data-unit aria-label="unit: {escape(declared.about)}">'
                f'<option value="{escape(declared.unit)}">{escape(unit)}</option></select>'
            )
        entry = f'<input {attributes} type="text" inputmode="decimal" autocomplete="off" value="{text}">'
        return f"{entry}{chooser}"
    options = _options(declared, answer)
    if options:
        chosen = ("yes" if value else "no") if declared.form == "yesno" else value
        none = ["<option></option>"] if declared.optional else []
        listed = [
            f"<option{' selected' if option == chosen else ''}>{escape(option)}</option>"
            for option in options
        ]
        return f"<select {attributes}>{''.join(none + listed)}</select>"
    if declared.form == "rows":
        text = (
            "" if value is None else escape(declared.show(value).replace("; ", "\n").replace("\u00a0", " "))
        )
        return f'<textarea {attributes} rows="5" autocomplete="off">{text}</textarea>'
    text = "" if value is None else escape(declared.show(value))
    return f'<input {attributes} type="text" autocomplete="off" value="{text}">'


def typed(number: float) -> str:
    """Return a number as a person types it into a field: ``1e-9`` and not ``1×10⁻⁹``."""
    return quantities.as_given(number).replace("×10", "e").translate(quantities.RAISED)


def _options(declared: Field, answer: Answer) -> tuple[str, ...]:
    if declared.form == "yesno":
        return ("yes", "no")
    if declared.form == "choice":
        return declared.names()
    family = _family(declared, answer.calculation)
    return answer.house.names(family) if family and answer.house else ()


def _family(declared: Field, calculation: Calculation) -> str:
    """Return the house's family that an input picks an entry from, or an empty text."""
    mark = f".{{{declared.name}}}"
    for other in calculation.inputs:
        if mark in other.house:
            return other.house.partition(mark)[0]
    return ""


def _result_html(declared, answer: Answer, given: dict) -> str:
    value = answer.results[declared.name]
    text = escape(declared.show(value, given))
    if isinstance(declared, Verdict) and value is not None:
        text = f"<strong>{text}</strong>: {escape(declared.sentence(value, given))}"
    elif isinstance(declared, Reasons):
        text = "".join(f"<p>{escape(line)}</p>" for line in declared.plain(value, given)) or "none"
    elif isinstance(declared, Listing):
        text = _listing_html(declared, value)
    return f'<div data-result="{declared.name}"><dt>{escape(declared.about)}</dt><dd>{text}</dd></div>'


def _listing_html(declared: Listing, rows) -> str:
    heads = "".join(
        f'<th scope="col">{escape(column.about)} {escape(_shown_unit(column.unit))}</th>'
        for column in declared.columns
    )
    body = "".join(
        "<tr>"
        + "".join(
            f"<td>{escape(_bare(column, cell))}</td>"
            for column, cell in zip(declared.columns, row, strict=True)
        )
        + "</tr>"
        for row in rows
    )
    return f'<table class="hb-listing"><thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>'


def _shown_unit(unit: str) -> str:
    return "" if unit in ("text", "rows") else quantities.label(unit)


def _bare(column, cell) -> str:
    if isinstance(cell, float | int) and isinstance(column, Figure) and not isinstance(column, Whole):
        return quantities.significant(cell, column.digits)
    return column.show(cell)


def _working_html(answer: Answer) -> str:
    steps = {step.number: step for step in working(answer.calculation, answer.inputs)}
    items = []
    for number, math in enumerate(formula(answer.calculation.kernel)):
        step = steps.get(number)
        name = noted(answer.calculation.kernel)[1][number][0]
        value = quantities.significant(step.value, 5) if step else ""
        hidden = "" if step else " hidden"
        shown = f'<span class="hb-step">= {value}</span>'
        items.append(f'<li data-step="{number}" data-name="{name}"{hidden}>{math} {shown}</li>')
    if not items:
        return ""
    # Long formulas scroll sideways on a phone, and a region that scrolls must be reached by keyboard.
    listed = f"<ol>{''.join(items)}</ol>"
    return f'<div class="hb-steps" tabindex="0" role="group" aria-label="Working">{listed}</div>'


def scripts(house: House) -> dict[str, str]:
    """Return the scripts that the calculators need, by file name: the formulas, and their declarations.

    Raises:
        CannotTranslate: a formula uses what the translator does not have.
    """
    formulas = script()
    lists: list[tuple] = []
    declared = {name: _declared(calculation, lists) for name, calculation in CATALOGUE.items()}
    keys = {key for key in house.entries if any(_uses(c, key) for c in CATALOGUE.values())}
    data = {
        "declared": declared,
        "lists": lists,
        "house": {key: house.entries[key].value for key in sorted(keys)},
        "families": _families(house),
        "units": {
            unit: [dimension, factor, offset, quantities.label(unit)]
            for unit, (dimension, factor, offset) in quantities.known_units().items()
        },
        "us": US_UNITS,
        "texts": LONG_TEXTS,
        "none": NO_RESULT,
        "edition": house.edition,
    }
    lines = "".join(
        f"HB.{name}={json.dumps(value, ensure_ascii=False, separators=(',', ':'), allow_nan=False)};\n"
        for name, value in data.items()
    )
    return {
        "calculations-data.js": f"var HB=window.HB=window.HB||{{}};\n{lines}",
        "calculations.js": formulas,
    }


def _families(house: House) -> dict[str, tuple[str, ...]]:
    found = {}
    for calculation in CATALOGUE.values():
        for declared in calculation.inputs:
            family = _family(declared, calculation)
            if family:
                found[family] = house.names(family)
    return found


def _uses(calculation: Calculation, key: str) -> bool:
    return any(
        declared.house == key
        or (".{" in declared.house and key.startswith(declared.house.partition(".{")[0] + "."))
        for declared in calculation.inputs
    )


def _declared(calculation: Calculation, lists: list) -> dict:
    return {
        "title": calculation.title,
        "inputs": [_declared_input(d, lists, calculation) for d in calculation.inputs],
        "results": [_declared_result(r) for r in calculation.results],
        "refusals": dict(calculation.refusals),
    }


def _declared_input(declared: Field, lists: list, calculation: Calculation | None = None) -> dict:
    entry: dict = {"name": declared.name, "form": declared.form, "about": declared.about}
    entry["allowed"] = declared.allowed()
    if isinstance(declared, Quantity):
        entry |= {"unit": declared.unit, "low": declared.low, "high": declared.high}
        if declared.why:
            entry["why"] = declared.why
    if isinstance(declared, Choice):
        if declared.names() not in lists:  # the list of grits is long, and many calculations take one
            lists.append(declared.names())
        entry |= {"options": lists.index(declared.names()), "kind": declared.kind}
    if isinstance(declared, Several):
        entry["least"] = declared.least
    if isinstance(declared, Rows):
        entry["columns"] = [_declared_input(column, lists) for column in declared.columns]
        entry |= {"least": declared.least, "most": declared.most}
    if declared.house:
        entry["house"] = declared.house
    if declared.optional:
        entry["optional"] = True
    if calculation and _family(declared, calculation):
        entry["family"] = _family(declared, calculation)
    return entry


def _declared_result(declared) -> dict:
    entry: dict = {"name": declared.name, "about": declared.about, "unit": declared.unit}
    entry["kind"] = type(declared).__name__.lower()
    if isinstance(declared, Figure):
        entry["digits"] = declared.digits
        entry["without"] = declared.without
    if isinstance(declared, Verdict):
        entry["words"] = dict(declared.words)
    if isinstance(declared, Reasons):
        entry["sentences"] = dict(declared.sentences)
    if isinstance(declared, Listing):
        entry["columns"] = [_declared_result(column) for column in declared.columns]
    return entry
