"""The calculators in the pages: their HTML with the default's answer, and the data their script reads."""

import json
from collections.abc import Iterable
from html import escape
from math import isfinite
from typing import Any

from handbook_calc.engine import phrases, quantities
from handbook_calc.engine.bench import Answer
from handbook_calc.engine.browser import Formulas, Part, formulas
from handbook_calc.engine.calculation import (
    CATALOGUE,
    NO_RESULT,
    Calculation,
    Listing,
    Number,
    Reasons,
    Verdict,
    Whole,
)
from handbook_calc.engine.declarations import house_key
from handbook_calc.engine.fields import Choice, Field, Quantity, Rows, Several
from handbook_calc.engine.house import House, is_of_piece
from handbook_calc.engine.quantities import US_UNITS
from handbook_calc.engine.working import Line, Step, lines_of, working


def calculator(answer: Answer, anchor: str, house: str, source: str, limit: str = "", piece: str = "") -> str:
    """Return a calculator as HTML, filled in: right and readable also where no script runs.

    Arguments:
        answer: inputs and results to start from.
        anchor: id of the calculator on its page.
        house: HTML that links the house values used.
        source: HTML that links the sources.
        limit: what the curve's result is held to: a number in its unit, or the name of an input.
        piece: HTML that links the facts of the piece used.
    """
    calculation = answer.calculation
    given = answer.given()
    fields = "".join(_field_html(d, answer, anchor) for d in calculation.inputs)
    main = calculation.results[0]
    if answer.refused:
        results = "".join(_refused_html(r) for r in calculation.results)
        short, kind = "refused", " hb-refused"
        said = f'<p class="hb-said">{escape(answer.refused)}</p>'
    else:
        results = "".join(_result_html(r, answer, given) for r in calculation.results)
        short, kind, said = escape(answer.show(main.name, given)), "", ""
    assumes = "".join(f"<li>{escape(line)}</li>" for line in calculation.assumes)
    assumed = f"<p>Taken for granted:</p><ul>{assumes}</ul>" if assumes else ""
    used = f"<p>House values filled in: {house}.</p>" if house else ""
    used += f'<p class="hb-of-chosen">Filled in of the piece: {piece}.</p>' if piece else ""
    curve = f' data-curve="{calculation.curve}"' if calculation.curve else ""
    curve += f' data-limit="{limit}"' if limit else ""
    return (
        f'<details class="hb-calc" id="{anchor}"><summary><span class="hb-calc-title" id="{anchor}-title">'
        f'{escape(calculation.title)}</span> <span class="hb-changed" hidden>changed</span> '
        f'<span class="hb-calc-given" aria-hidden="true">{_given_html(answer)}</span> '
        f'<output class="hb-calc-short">{short}</output></summary>'
        # No form: nothing is sent, and a browser takes twice as long over a page of forms. The fields are
        # disabled until the script runs: one that can be changed beside an answer that cannot misleads.
        f'<div class="hb-bench" role="group" aria-labelledby="{anchor}-title"'
        f' data-calculation="{calculation.name}"{curve}>'
        "<noscript><p>Scripts are off: the fields are fixed, and the answer is for what stands in them.</p>"
        f'</noscript><div class="hb-fields">{fields}</div>'
        f'<div class="hb-answer{kind}" role="status" aria-live="polite">{said}<dl>{results}</dl>'
        f"{_share_html(answer)}</div>"
        f'<details class="hb-working"><summary>Working, assumptions, source</summary>'
        f"{_working_html(answer)}{assumed}{used}<p>Source: {source}.</p></details>"
        f"</div></details>"
    )


def _given_html(answer: Answer) -> str:
    """Return the inputs as a line: on paper a calculator is its question, what was given, and the answer."""
    said = []
    for declared in answer.calculation.inputs:
        value = answer.inputs[declared.name]
        if value is None:
            continue
        ends = answer.spans.get(declared.name)
        if isinstance(declared, Quantity) and ends:
            shown = declared.show_span(value, *ends)
        else:
            shown = declared.show(value)
        told = escape(f"{declared.name.replace('_', ' ')} {shown}")
        said.append(f"<span data-d>{told}</span>" if declared.unit == "delta_degC" else told)
    return ", ".join(said)


def _field_html(declared: Field, answer: Answer, anchor: str) -> str:
    value = answer.inputs[declared.name]
    name = f"{anchor}-{declared.name}"
    help_text = declared.allowed()
    if isinstance(declared, Rows):
        help_text = (
            f"{declared.least} to {declared.most} rows, each number in the unit of its column or with a unit "
            "of its own; rows copied from a spreadsheet can be pasted"
        )
    if declared.name in answer.spans:
        help_text += "; in brackets what it may really be, from the 5th to the 95th per cent"
    if declared.house:
        help_text += "; the house's value unless you change it"
    elif declared.optional:
        help_text += "; may be left empty"
    described = f'aria-describedby="{name}-help {name}-error"'
    foot = (
        f'<span class="hb-help" id="{name}-help">{escape(help_text)}</span>'
        f'<span class="hb-error" id="{name}-error" role="alert"></span>'
    )
    if isinstance(declared, Rows):
        return (
            f'<fieldset class="hb-field hb-rows" {described}><legend>{escape(declared.about)}</legend>'
            f'<div id="{name}" data-argument="{declared.name}">{_grid_html(declared, value)}</div>'
            f"{foot}</fieldset>"
        )
    control = _control(
        declared, value, f'id="{name}" data-argument="{declared.name}" {described} disabled', answer
    )
    label = f'<label for="{name}">{escape(declared.about)}</label>'
    return f'<div class="hb-field">{label}<span class="hb-entry">{control}</span>{foot}</div>'


# The units a field offers beside its declared one: those that a bench would measure that quantity in.
# Any other unit of the same dimension can be typed behind the number.
UNIT_MENUS = {
    "g": ("mg", "kg", "oz_avdp", "lb"), "mg": ("g",), "kg": ("g", "lb"),
    "um": ("mm", "mil"), "mm": ("um", "cm", "in"), "cm": ("mm", "m", "in", "ft"), "m": ("cm", "in", "ft"),
    "cm^2": ("mm^2", "m^2", "in^2", "ft^2"), "m^2": ("cm^2", "ft^2"),
    "mL": ("L", "floz"), "L": ("mL", "gal"), "cm^3": ("mL", "in^3"), "m^3": ("L", "ft^3"),
    "mL/m^2": ("mL/cm^2",), "mg/L": ("g/L",), "g/L": ("mg/L",),
    "g/cm^3": ("kg/m^3",), "kg/m^3": ("g/cm^3",), "g/m^3": ("mg/m^3",), "mg/m^3": ("g/m^3",),
    "s": ("min", "h"), "min": ("s", "h"), "h": ("min", "d"), "d": ("h", "week"), "week": ("d",),
    "degC": ("degF",), "delta_degC": ("delta_degF",), "delta_degC/h": ("delta_degF/h",),
    "m/s": ("ft/min",), "um/min": ("mil/min",),
    "kPa": ("hPa", "bar", "mmHg"), "Pa": ("hPa", "kPa"), "hPa": ("kPa", "mmHg"),
    "A": ("mA",), "mA": ("A",), "mS/cm": ("S/m",),
    "m^2/s": ("cm^2/s", "um^2/s"), "cm^2/s": ("m^2/s", "um^2/s"), "um^2/s": ("cm^2/s", "m^2/s"),
    "J/kg/K": ("J/g/K",), "mol/L": ("mol/m^3",), "1/d": ("1/h",), "1/h": ("1/d",),
    "m^3/h": ("L/h", "ft^3/min"), "L/h": ("m^3/h", "gal/h"), "deg": ("rad",),
    "ppm": ("%",), "mg/kg": ("%",), "g/kg": ("%",),
}  # fmt: skip


# A unit is offered where the value that the field starts from is a number that a person would write in it.
# The reader's own units may be smaller: a crack of a tenth of a millimetre has to be some part of an inch.
LEAST_SHOWN, MOST_SHOWN, LEAST_IN_US = 0.01, 20_000.0, 0.002


def units_beside(declared: Quantity, value: float | None) -> tuple[str, ...]:
    """Return the units that a field's menu offers beside its own.

    Arguments:
        declared: the field.
        value: what it starts from, in its declared unit; None or nil tells no size.
    """
    found = UNIT_MENUS.get(declared.unit, ())
    if not value or quantities.known_units()[declared.unit][2] != 0:
        return found
    least = {US_UNITS.get(declared.unit): LEAST_IN_US}
    sizes = {unit: abs(quantities.convert(value, declared.unit, unit)) for unit in found}
    return tuple(u for u in found if least.get(u, LEAST_SHOWN) <= sizes[u] <= MOST_SHOWN)


def _control(declared: Field, value, attributes: str, answer: Answer) -> str:
    if isinstance(declared, Quantity):
        text, exact = "", ""
        keyboard = _keyboard(declared)
        ends = answer.spans.get(declared.name, ())
        if value is not None:
            text = typed(value)
            exact = "" if float(text) == value else f' data-exact="{value!r}"'
        if ends:
            keyboard = "text"  # for the brackets
            low, high = map(typed, ends)
            if exact or (float(low), float(high)) != tuple(ends):
                exact = f' data-exact="{value!r} {ends[0]!r} {ends[1]!r}"'
            text = f"{text} ({low} to {high})"
        entry = (
            f'<input {attributes} type="text" inputmode="{keyboard}" autocomplete="off"'
            f' value="{text}"{exact}>'
        )
        return f"{entry}{_unit_html(declared, value)}"
    options = _options(declared, answer)
    if options:
        chosen = ("yes" if value else "no") if declared.form == "yesno" else value
        none = ["<option></option>"] if declared.optional else []
        listed = [
            f"<option{' selected' if option == chosen else ''}>{escape(option)}</option>"
            for option in options
        ]
        return f'<select {attributes} autocomplete="off">{"".join(none + listed)}</select>'
    text = "" if value is None else escape(declared.show(value))
    return f'<input {attributes} type="text" autocomplete="off" value="{text}">'


def _unit_html(declared: Quantity, value: float | None) -> str:
    """Return the unit beside a field: a menu, which its script fills, or a word where only one fits."""
    unit = quantities.label(declared.unit)
    if not unit:
        return ""
    units = units_beside(declared, value)
    if not units:
        return f'<span class="hb-unit" data-unit="{escape(declared.unit)}">{escape(unit)}</span>'
    few = f' data-units="{" ".join(units)}"' if units != UNIT_MENUS[declared.unit] else ""
    return (
        f'<select data-unit{few} aria-label="unit: {escape(declared.about)}" disabled>'
        f'<option value="{escape(declared.unit)}">{escape(unit)}</option></select>'
    )


def _keyboard(declared: Field) -> str:
    """Return which keys a phone shows: a keypad of digits has neither a minus nor letters."""
    words = declared.form == "reading" or declared.optional
    if words or not isinstance(declared, Quantity) or declared.low < 0:
        return "text"
    return "numeric" if declared.form == "count" else "decimal"


def _grid_html(declared: Rows, rows) -> str:
    """Return rows as a table of fields; each column's unit stands in its head."""
    heads = "".join(f'<th scope="col">{escape(_column(column))}</th>' for column in declared.columns)
    body = "".join(
        f'<tr><th scope="row">{count}</th>{_grid_cells(declared, count, row)}</tr>'
        for count, row in enumerate(rows or [[None] * len(declared.columns)], 1)
    )
    head = f'<thead><tr><th scope="col">row</th>{heads}</tr></thead>'
    wide = " hb-wide" if len(declared.columns) > 2 else ""
    return f'<table class="hb-grid{wide}">{head}<tbody>{body}</tbody></table>'


def _grid_cells(declared: Rows, count: int, row) -> str:
    return "".join(
        f'<td data-head="{escape(_column_name(column))}">'
        f'<input type="text" inputmode="{_keyboard(column)}" autocomplete="off"'
        f' aria-label="row {count}: {escape(_column(column))}"'
        f' value="{escape(_cell_text(column, cell))}" disabled></td>'
        for column, cell in zip(declared.columns, row, strict=True)
    )


def _column(column: Field) -> str:
    unit = quantities.label(column.unit) if isinstance(column, Quantity) else ""
    return f"{column.about}, {unit}" if unit else column.about


def _column_name(column: Field) -> str:
    unit = quantities.label(column.unit) if isinstance(column, Quantity) else ""
    name = column.name.replace("_", " ")
    return f"{name} ({unit})" if unit else name


def _cell_text(column: Field, value) -> str:
    """Return a cell without its unit, in full: a weighing loses no digit."""
    if value is None:
        return ""
    if not isinstance(column, Quantity):
        return column.show(value)
    text = typed(abs(value) if column.form == "reading" else value)
    if float(text) != abs(value):
        text = repr(float(value))
    return f"below {text}" if column.form == "reading" and value < 0 else text


def typed(number: float) -> str:
    """Return a number as a person types it: in full where that is short, else to four digits.

    ``1e-9`` and not ``1×10⁻⁹``; a house value of 70 degF stands as ``21.11`` degC, and the answer is
    computed from the exact number until somebody types another.
    """
    full = quantities.as_given(number).replace("×10", "e").translate(quantities.RAISED)
    if abs(float(full) - number) <= 1e-9 * abs(number):
        return full
    mantissa, times, power = quantities.significant(number, 4).partition("×10")
    mantissa = mantissa.rstrip("0").rstrip(".") if "." in mantissa else mantissa
    return f"{mantissa}{'e' if times else ''}{power.translate(quantities.RAISED)}"


def _options(declared: Field, answer: Answer) -> tuple[str, ...]:
    if declared.form == "yesno":
        return ("yes", "no")
    if isinstance(declared, Choice) and declared.form == "choice":
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


def _stays(declared: Any) -> str:
    """Return the mark of a result that is told in its own unit to readers of US units too."""
    return " data-stays" if getattr(declared, "metric", False) else ""


def _refused_html(declared) -> str:
    about = escape(declared.about)
    return f'<div data-result="{declared.name}"><dt>{about}</dt><dd{_stays(declared)}>–</dd></div>'


def _result_html(declared, answer: Answer, given: dict) -> str:
    value = answer.results[declared.name]
    text = escape(answer.show(declared.name, given))
    if isinstance(declared, Verdict) and value is not None:
        text = f"<strong>{text}</strong>: {escape(declared.sentence(value, given))}"
    elif isinstance(declared, Reasons):
        text = "".join(f"<p>{escape(line)}</p>" for line in declared.plain(value, given)) or "none"
    elif isinstance(declared, Listing):
        text = _listing_html(declared, value, answer.cell_intervals(declared.name))
    text += "".join(f'<span class="hb-spread">{escape(note)}</span>' for note in answer.notes(declared.name))
    about = escape(declared.about)
    return f'<div data-result="{declared.name}"><dt>{about}</dt><dd{_stays(declared)}>{text}</dd></div>'


def _share_html(answer: Answer) -> str:
    """Return what is said where a part of what the inputs may be has no answer."""
    share = answer.refused_share()
    return f'<p class="hb-spread">{escape(share)}</p>' if share else ""


def _listing_html(declared: Listing, rows, intervals) -> str:
    heads = "".join(
        f'<th scope="col">{escape(column.about)} {escape(_shown_unit(column.unit))}</th>'
        for column in declared.columns
    )
    body = "".join(
        f"<tr>{''.join(f'<td>{escape(cell)}</td>' for cell in row)}</tr>"
        for row in declared.cells(rows, _bare, intervals)
    )
    return f'<table class="hb-listing"><thead><tr>{heads}</tr></thead><tbody>{body}</tbody></table>'


def _shown_unit(unit: str) -> str:
    return "" if unit in ("text", "rows") else quantities.label(unit)


def _bare(column, cell, given=None, interval=None) -> str:
    """Return a cell without its unit, which stands in the heading."""
    if isinstance(cell, float | int) and isinstance(column, Number) and not isinstance(column, Whole):
        if interval is None:
            return quantities.show(cell, "1", column.digits)
        return quantities.show_interval(cell, interval.low, interval.high, "1", column.digits)
    return column.show(cell) if interval is None else column.show(cell, given, interval)


def _working_html(answer: Answer) -> str:
    computed = [] if answer.refused else working(answer.calculation, answer.inputs)
    steps = {step.number: step for step in computed}
    lines = filter(None, lines_of(answer.calculation))
    results = {result.name: result for result in answer.calculation.results}
    items = [_line_html(line, steps.get(line.number), results.get(line.result)) for line in lines]
    if not items:
        return ""
    # Long formulas scroll sideways on a phone, and a region that scrolls must be reached by keyboard.
    listed = f"<ol>{''.join(items)}</ol>"
    return f'<div class="hb-steps" tabindex="0" role="group" aria-label="Working">{listed}</div>'


def _line_html(line: Line, step: Step | None, result: Any) -> str:
    """Return a line of the working; working.js puts the numbers into it, or behind it, as somebody types.

    Arguments:
        line: of the formula.
        step: what it came to, where it was used.
        result: what it gives back, where it does.
    """
    said = ""
    if not line.is_plain:
        kind = "hb-told" if phrases.is_told(line.said) else "hb-expr"  # what is told has its numbers in it
        known = (step.known if step else {}) if phrases.is_told(line.said) else None
        said = f'{"= " if line.words else ""}<span class="{kind}">{phrases.markup(line.said, known)}</span> '
    name = f' data-name="{line.name}"' if line.name else ""
    unit = f' data-u="{escape(line.unit)}"' if line.unit else ""
    apart = " ".join(phrases.apart(line.said))
    name += f' data-apart="{apart}"' if apart else ""
    unit += " data-d" if result and result.unit.startswith("delta_") else ""
    unit += _stays(result)
    shown = f'<span class="hb-step"{unit}>= {escape(step.shown if step else "")}</span>'
    hidden = "" if step else " hidden"
    words = f"{escape(line.words)} " if line.words else ""
    return f'<li data-step="{line.number}"{name}{hidden}>{words}{said}{shown}</li>'


# The scripts of docs/assets/bench that work every calculator, in the order in which they build on each other;
# the site gets them as one file, because a page waits for each file that it asks for.
HAND_WRITTEN = (
    "read.js",
    "answer.js",
    "interval.js",
    "working.js",
    "field.js",
    "form.js",
    "share.js",
    "start.js",
)
JOINED = "calculators.js"
# What only some calculators need: rows to fill in, a curve.
SOMETIMES = ("rows.js", "curve.js")
# Files of their own: for pages of pieces, and for a reader's own piece, which are loaded when one is chosen.
ALONE = (
    "planning.js", "today.js", "facts.js", "own.js", "panel.js", "own-plan.js",
    "logged.js", "log-chart.js", "own-log.js",
)  # fmt: skip
# What a page with calculators loads at once: it brings the rest when a calculator is wanted.
BEGIN = "bench/begin.js"
# What every calculation runs by; with it and its own part, `part_name`, one calculation runs.
READER = "reader.js"
# All calculations, in this order: for the book, the desk, and a reader's own piece.
WHOLE = (READER, "calculations-data.js", "calculations.js")
WITH_WHOLE = (*WHOLE, JOINED, *(f"bench/{name}" for name in SOMETIMES))


def part_name(calculation: str) -> str:
    """Return the name of the script that holds one calculation and what it calls."""
    return f"calculations/{calculation}.js"


def scripts(house: House, made: Formulas | None = None) -> dict[str, str]:
    """Return the scripts that the calculators need, by file name: the formulas, and their declarations.

    Arguments:
        house: whose values the calculators start from.
        made: the formulas, where they were made before from the same code.

    Raises:
        CannotTranslate: a formula uses what has no counterpart in JavaScript.
    """
    made = made or formulas()
    lists: list[tuple] = []
    called: list[dict] = []
    declared = {name: _declared(calculation, lists, called) for name, calculation in CATALOGUE.items()}
    shared = {
        "labels": {unit: quantities.label(unit) for unit in _units() if quantities.label(unit) != unit},
        "menus": UNIT_MENUS,
        "us": US_UNITS,
        "none": NO_RESULT,
        "edition": house.edition,
        **{group: [] if group in LISTED else {} for group in ("kernels", *GROUPS)},
    }
    whole = _groups(CATALOGUE, house, declared) | {"lists": lists, "called": called, "texts": made.texts}
    found = {
        READER: f"{made.reader}{_assigned(shared)}{ADD}",
        "calculations-data.js": f"var HB=window.HB=window.HB||{{}};\n{_assigned(whole)}",
        "calculations.js": made.whole,
    }
    for name, part in made.parts.items():
        groups = _groups(part.calculations, house, declared)
        groups |= _picked(groups["declared"], part, lists, called, made)
        told = _json({group: some for group, some in groups.items() if some})
        found[part_name(name)] = f"HB.add({told});\n{part.script}"
    return found


# What is declared of calculations; lists are named by their place, in a part as in the whole.
LISTED = ("lists", "called", "texts")
GROUPS = ("declared", "house", "spans", "families", *LISTED)
ADD = "HB.add=function(some){for(var group in some)Object.assign(HB[group],some[group]);};\n"


def _groups(names: Iterable[str], house: House, declared: dict[str, dict]) -> dict[str, Any]:
    """Return what pages must know of some calculations, but for the lists that it names."""
    calculations = [CATALOGUE[name] for name in names]
    keys = sorted(_used_keys(calculations, house))
    return {
        "declared": {each.name: declared[each.name] for each in calculations},
        "house": {key: house.entries[key].value for key in keys},
        "spans": {key: house.entries[key].span for key in keys if house.entries[key].span},
        "families": _families(calculations, house),
    }


def _picked(declared: dict, part: Part, lists: list, called: list, made: Formulas) -> dict[str, dict]:
    """Return the lists that a part names, by their places."""
    inputs = [entry for each in declared.values() for entry in each["inputs"]]
    inputs += [column for entry in inputs for column in entry.get("columns", ())]
    options = sorted({entry["options"] for entry in inputs if "options" in entry})
    others = sorted({entry["called"] for entry in inputs if "called" in entry})
    return {
        "lists": {place: lists[place] for place in options},
        "called": {place: called[place] for place in others},
        "texts": {place: made.texts[place] for place in part.texts},
    }


def _assigned(data: dict[str, Any]) -> str:
    return "".join(f"HB.{name}={_json(value)};\n" for name, value in data.items())


def _json(value) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def _units() -> list[str]:
    """Return the known units, and the declared ones that no other unit converts to."""
    inputs = [d for c in CATALOGUE.values() for d in c.inputs]
    columns = [column for d in inputs if isinstance(d, Rows) for column in d.columns]
    declared = [d.unit for d in [*inputs, *columns] if isinstance(d, Quantity)]
    return list(dict.fromkeys([*declared, *quantities.known_units()]))


def _families(calculations: list[Calculation], house: House) -> dict[str, tuple[str, ...]]:
    found = {}
    for calculation in calculations:
        for declared in calculation.inputs:
            family = _family(declared, calculation)
            if family:
                found[family] = house.names(family)
    return found


def _used_keys(calculations: list[Calculation], house: House) -> set[str]:
    """Return the house values that some calculations may start from."""
    asked = {declared.house for calculation in calculations for declared in calculation.inputs}
    families = tuple(f"{key.partition('.{')[0]}." for key in asked if ".{" in key)
    return {key for key in house.entries if key in asked or key.startswith(families)}


def _declared(calculation: Calculation, lists: list, called: list) -> dict:
    return {
        "title": calculation.title,
        "inputs": [declared_input(d, lists, called, calculation) for d in calculation.inputs],
        "results": [_declared_result(r) for r in calculation.results],
        "refusals": dict(calculation.refusals),
    }


def declared_input(
    declared: Field, lists: list, called: list, calculation: Calculation | None = None
) -> dict:
    """Return what a page must know of an input.

    Arguments:
        declared: the input.
        lists: gathers the lists that inputs pick from.
        called: gathers the other names of what stands in them.
        calculation: whose input it is; None for a house value.
    """
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
        others = {name: "|".join(told) for name, told in declared.others().items()}
        if others:
            if others not in called:  # what the register calls its entries is read by several
                called.append(others)
            entry["called"] = called.index(others)
    if isinstance(declared, Several):
        entry["least"] = declared.least
    if isinstance(declared, Rows):
        entry["columns"] = [declared_input(column, lists, called) for column in declared.columns]
        entry |= {"least": declared.least, "most": declared.most}
    if declared.house:
        entry["house"] = declared.house
    if declared.end:
        entry["end"] = declared.end
    if is_of_piece(key := house_key(declared.example or "")):
        entry["follows"] = key
    if declared.optional:
        entry["optional"] = True
    if calculation and _family(declared, calculation):
        entry["family"] = _family(declared, calculation)
    return entry


def _declared_result(declared) -> dict:
    entry: dict = {"name": declared.name, "about": declared.about, "unit": declared.unit}
    entry["kind"] = type(declared).__name__.lower()
    if isinstance(declared, Number):
        entry["digits"] = declared.digits
        if declared.metric:
            entry["metric"] = True
        if declared.side:
            entry["side"] = declared.side
        entry["without"] = declared.without
        if isfinite(declared.most):
            entry |= {"most": declared.most, "beyond": declared.beyond}
    if isinstance(declared, Verdict):
        entry["words"] = dict(declared.words)
    if isinstance(declared, Reasons):
        entry["sentences"] = dict(declared.sentences)
    if isinstance(declared, Listing):
        entry["columns"] = [_declared_result(column) for column in declared.columns]
    return entry
