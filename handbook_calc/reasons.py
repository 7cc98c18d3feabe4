"""Why a number is what it is: formula, inputs, interval, house values, sources, and what else depends on it.

One script holds it for every figure of the site; a page loads it when a reader first asks.
"""

import json
from collections.abc import Iterator

from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.cards import DECKS, asked_by
from handbook_calc.engine.declarations import house_key
from handbook_calc.engine.directives import Directive
from handbook_calc.engine.house import House, is_of_piece
from handbook_calc.engine.registers import HOUSE_PAGE, REGISTERS, SOURCES_PAGE
from handbook_calc.engine.render import Renderer, page_url
from handbook_calc.engine.sources import sources

CALCULATIONS_PAGE = "keeper/calculations.html"
SCRIPT = "why-data.js"


def script(renderer: Renderer, plan: str = "") -> str:
    """Return the data of all figures as a script.

    Arguments:
        renderer: one that has noted every page.
        plan: the page of the piece that the worked figures are about; empty where the site has none.
    """
    figures, cited = _figures(renderer)
    tables = {}
    for name in renderer.usage.table_pages:
        if name in REGISTERS:
            continue
        computed = renderer.computed(name)
        cited |= dict.fromkeys(computed.sources)
        tables[name] = {
            "title": computed.title,
            "calculations": list(computed.calculations),
            "values": list(computed.values),
            "sources": list(computed.sources),
        }
    started = _started_from(renderer.house)
    called = {name for table in tables.values() for name in table["calculations"]}
    called |= {figure["calculation"] for figure in figures.values()}
    called |= {name for names in started.values() for name in names}
    data = {
        "figures": figures,
        "tables": tables,
        "values": {
            key: _of_value(renderer, key, plan) | {"calculations": started.get(key, [])}
            for key in renderer.house.entries
        },
        "calculations": {name: CATALOGUE[name].title for name in sorted(called)},
        "sources": {key: sources()[key].title for key in cited},
        "pages": {"sources": SOURCES_PAGE, "calculations": CALCULATIONS_PAGE},
    }
    return as_script("why", data)


def as_script(name: str, data: dict) -> str:
    """Return data as a classic script that sets a part of ``HB``; a browser loads no other from a folder."""
    written = json.dumps(data, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    # A line separator ends a line of a script, and a tag might end it, where it is put into a page.
    for sign in ("<", "\u2028", "\u2029"):
        written = written.replace(sign, f"\\u{ord(sign):04x}")
    return f"window.HB = window.HB || {{}};\nHB.{name} = {written};\n"


def _figures(renderer: Renderer) -> tuple[dict[str, dict], dict[str, None]]:
    """Return every computed figure in a sentence by what asks for it, and the sources of them all."""
    found: dict[str, dict] = {}
    cited: dict[str, None] = {}
    for asked in asked_on_pages(renderer):
        answer, used = renderer.answer(asked)
        calculation = answer.calculation
        result = calculation.result(asked.name.partition(".")[2])
        given, sure = answer.given(), not answer.refused
        notes = [*answer.notes(result.name), *filter(None, [answer.refused_share()])] if sure else []
        cited |= dict.fromkeys(calculation.sources)
        found[asked.written] = {
            "calculation": calculation.name,
            "about": result.about,
            "refused": answer.refused,
            "inputs": [
                [declared.about, given[declared.name].show(), _plain_key(declared.house)]
                for declared in calculation.inputs
                if answer.inputs[declared.name] is not None
            ],
            "working": answer.working() if sure else [],
            "notes": notes,
            "assumes": list(calculation.assumes),
            "values": list(used),
            "sources": list(calculation.sources),
        }
    return found, cited


def asked_on_pages(renderer: Renderer) -> Iterator[Directive]:
    """Yield once what asks for each computed figure in a sentence, or in the text of a card."""
    seen: set[str] = set()
    for directives in renderer.asked.values():
        for asked in _with_cards(renderer, directives):
            known = asked.written in seen or asked.name in renderer.house.entries
            if asked.verb != "value" or asked.complaint or known:
                continue
            if asked.name.partition(".")[0] not in CATALOGUE:
                continue  # a fact of the register of substances
            seen.add(asked.written)
            yield asked


def _with_cards(renderer: Renderer, directives: tuple[Directive, ...]) -> Iterator[Directive]:
    """Yield the directives of a page, and those in the texts of its cards."""
    for asked in directives:
        yield asked
        if asked.verb == "cards" and asked.name in DECKS:
            yield from asked_by(DECKS[asked.name].make(renderer.house))


def _plain_key(key: str) -> str:
    """Return the key of a house value; nothing for one that another input completes."""
    return "" if "{" in key else key


def _started_from(house: House) -> dict[str, list[str]]:
    """Return by house value the calculations whose calculators start from it."""
    found: dict[str, list[str]] = {}
    for name, calculation in CATALOGUE.items():
        asked = [declared.house or house_key(declared.example or "") for declared in calculation.inputs]
        for key in filter(None, dict.fromkeys(asked)):
            family, completed, rest = key.partition(".{")
            keys = [key]
            if completed:
                keys = [f"{family}.{entry}{rest.partition('}')[2]}" for entry in house.names(family)]
            for one in keys:
                found.setdefault(one, []).append(name)
    return found


def _of_value(renderer: Renderer, key: str, plan: str) -> dict:
    entry = renderer.house.entries[key]
    fact = is_of_piece(key)
    return {
        "fact": fact,
        "address": f"{plan}#fact-{key}" if fact and plan else f"{HOUSE_PAGE}#house-{key}",
        "about": entry.field.about,
        "text": entry.show(),
        "allowed": entry.field.allowed(),
        "grade": entry.grade.lower(),
        "why": entry.why,
        "place": f"{entry.file}:{entry.line}",
        "tables": [
            [name, page_url(next(iter(renderer.usage.table_pages[name])))]
            for name in renderer.usage.value_tables.get(key, ())
            if name in renderer.usage.table_pages and name not in REGISTERS
        ],
        "pages": [
            [renderer.usage.titles.get(page, page), page_url(page)]
            for page in renderer.usage.value_pages.get(key, ())
        ],
    }
