"""The reader's own piece: read, derived and answered for in V8 as in Python."""

import json
import random
import re
from pathlib import Path

import pytest
from support import ROOT, changed_piece, for_each

from handbook_calc import own, piece
from handbook_calc.engine import directives, forms, plan_script, planning, quantities, render
from handbook_calc.engine import house as house_module
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.declarations import house_key
from handbook_calc.engine.faults import HouseFaults
from handbook_calc.engine.fields import MEASURED
from handbook_calc.engine.places import below_the_head, pages
from handbook_calc.engine.tables import Refused, shown

DOCS = ROOT / "docs"
PIECES = sorted((DOCS / "pieces").glob("*.yml"))
BENCH = DOCS / "assets" / "bench"

RUN = """
function read(text) {
  var found = HB.readPiece(text);
  return {faults: found.faults, number: found.number,
    facts: Object.fromEntries(Array.from(found.facts, function (one) {return one;}))};
}
function readAll(text) {return JSON.stringify(JSON.parse(text).map(read));}
function plansOf(text) {return JSON.stringify(HB.planInputs(HB.readPiece(text).facts));}
function answered(program, facts) {
  try {
    var found = HB.ownRun(program, facts);
    var spread = found.spread && found.spread.intervals[found.declared.name];
    return {value: found.value, low: spread ? spread.low : null, high: spread ? spread.high : null};
  } catch (problem) {
    if (!problem.sentence && !problem.bad) throw problem;
    return {refused: problem.sentence || problem.bad};
  }
}
function figuresOf(text) {
  var facts = HB.readPiece(text).facts, found = {};
  Object.keys(HB.own.figures).forEach(function (name) {found[name] = answered(HB.own.figures[name], facts);});
  return JSON.stringify(found);
}
function cellsOf(text) {
  var facts = HB.readPiece(text).facts, found = {};
  Object.keys(HB.own.tables).forEach(function (name) {
    var cells = HB.own.tables[name].cells || {};
    found[name] = {};
    Object.keys(cells).forEach(function (at) {found[name][at] = answered(cells[at], facts);});
  });
  return JSON.stringify(found);
}
"""


def renderer_of(standard):
    """Return a renderer that has read every page of the handbook."""
    made = render.Renderer(standard)
    for name, path in pages(DOCS).items():
        text = below_the_head(path.read_text(encoding="utf-8"))
        made.name_page(name, text)
    for name, text in made.texts.items():
        made.read_page(name, tuple(directives.find(text)))
    return made


@pytest.fixture(scope="module")
def v8(house):
    """An embedded V8 with the formulas, the steps, and what pages need for a piece."""
    from py_mini_racer import MiniRacer

    engine = MiniRacer()
    engine.eval("var window = this;")
    made = forms.scripts(house) | plan_script.scripts(house)
    made[own.SCRIPT] = own.script(renderer_of(house))
    for name in (*forms.WHOLE, "plan-data.js", "plan.js", own.SCRIPT):
        engine.eval(made[name])
    written = [BENCH / name for name in ("read.js", "answer.js", "interval.js", "planning.js")]
    for path in (*written, DOCS / "assets" / "patch.js", BENCH / "facts.js"):
        engine.eval(path.read_text(encoding="utf-8"))
    engine.eval(RUN)
    yield engine
    engine.close()


def in_python(path: Path):
    """Return a piece's file laid over the standard, or the faults in it."""
    try:
        standard = house_module.load(piece=path, root=path.parent, asking=True)
        piece.check_facts(standard)
    except HouseFaults as found:
        return None, found.faults
    return standard, []


def in_v8(v8, text: str) -> dict:
    """Return the same of its text in V8."""
    (found,) = json.loads(v8.call("readAll", json.dumps([text])))
    return found


def same_facts(standard, found: dict) -> None:
    """Say whether a piece reads alike in both: values, ends, and what it costs that a fact is open."""
    assert found["faults"] == []
    for key, entry in standard.entries.items():
        if not house_module.is_of_piece(key):
            continue
        theirs = found["facts"][key]
        value = entry.value
        if isinstance(value, float):
            assert theirs["value"] == pytest.approx(value, rel=1e-9), key
        else:
            assert theirs["value"] == value, key
        ends = theirs.get("ends") or []
        assert ends == pytest.approx(list(entry.span or ()), rel=1e-7), key
        assert theirs.get("costs") == (entry.instead.costs if entry.instead else None), key


@for_each("path", PIECES)
@pytest.mark.long
def test_the_pieces_of_the_bench_read_alike(v8, path):
    standard, faults = in_python(path)
    assert not faults
    same_facts(standard, in_v8(v8, path.read_text(encoding="utf-8")))


def random_changes(draw) -> dict[str, str]:
    """Return some facts of a random piece as a person writes them, or leaves them open."""
    pick, between = draw.choice, draw.uniform
    texts = {
        "piece.kind": pick(("iron", "pallasite", "mesosiderite")),
        "piece.shape": pick(("slice", "end piece", "whole", "fragment", "unknown")),
        "piece.mass": pick((f"{between(5, 900):.4g} g", f"{between(1, 9):.3g} oz av", "unknown")),
        "piece.length": pick((f"{between(30, 200):.3g} mm", f"{between(3, 9):.2g} cm", "unknown")),
        "piece.width": pick((f"{between(20, 150):.3g} mm", "unknown")),
        "piece.thickness": pick((f"{between(2, 60):.3g} mm", "1/4 in", "unknown")),
        "piece.area": pick(("unknown", f"{between(20, 400):.3g} cm^2", "90 cm^2 (70 to 120 cm^2)")),
        "piece.crack_depth": pick(("unknown", "none", f"{between(0.2, 40):.2g} mm", "5 mm (1 mm to 20 mm)")),
        "piece.crack_through": pick(("yes", "no", "unknown")),
        "piece.crack_filled": pick(("yes", "no", "unknown")),
        "piece.crack_volume": pick(("unknown", "0 mL", f"{between(0, 3):.2g} mL")),
        "piece.rusted_share": pick(("unknown", "0 %", f"{between(0, 50):.2g} %")),
        "piece.crack_length": pick(("unknown", f"{between(0, 60):.2g} mm")),
        "piece.return_days": pick(("unknown", "none", "30 d", "3 weeks")),
        "piece.treatments": pick(("unknown", "0", "2")),
        "piece.coated": pick(("unknown", "none", "old lacquer")),
        "wanted.coating": pick(("none", "acrylic-brush", "urethane-brush", "no such coat")),
        "wanted.start": pick(("unknown", "none", "2026-12-01", "2026-02-30")),
        "wanted.hours": pick(("3 h", "30 min", "1 h 30 min", "40 h")),
    }
    return {key: text for key, text in texts.items() if draw.random() < 0.7}


@pytest.mark.long
def test_random_pieces_read_alike_or_are_refused_at_the_same_lines(v8, tmp_path):
    draw = random.Random(12)
    written, ours = [], []
    for _ in range(120):
        path = changed_piece(tmp_path, random_changes(draw))
        written.append(path.read_text(encoding="utf-8"))
        ours.append(in_python(path))
    theirs = json.loads(v8.call("readAll", json.dumps(written)))
    refused = 0
    for text, (standard, faults), found in zip(written, ours, theirs, strict=True):
        if standard is None:
            refused += 1
            lines = sorted({fault.line for fault in faults})
            assert sorted({fault["line"] for fault in found["faults"]}) == lines, (text, faults, found)
        else:
            same_facts(standard, found)
    assert 20 < refused < 110


def spans_of(leaves) -> list[dict]:
    """Return spans as the page has them."""
    return [
        {"key": leaf.name, "value": leaf.value, "low": leaf.low, "high": leaf.high, "unit": leaf.unit,
         "least": leaf.least, "most": leaf.most}
        for leaf in leaves
    ]  # fmt: skip


@for_each("path", PIECES)
def test_a_plan_reads_the_same_values_and_spans(v8, path):
    standard, _ = in_python(path)
    assert standard is not None
    values, leaves = planning.facts(standard)
    found = json.loads(v8.call("plansOf", path.read_text(encoding="utf-8")))
    assert found["values"].keys() == values.keys()
    for key, value in values.items():
        same = pytest.approx(value, rel=1e-9) if isinstance(value, float) else value
        assert found["values"][key] == same, key
    ours = spans_of(leaves)
    assert [span["key"] for span in found["spans"]] == [span["key"] for span in ours]
    for one, other in zip(ours, found["spans"], strict=True):
        assert {k: v for k, v in other.items() if k in ("unit", "key")} == {
            k: v for k, v in one.items() if k in ("unit", "key")
        }
        for end in ("value", "low", "high", "least", "most"):
            assert other[end] == pytest.approx(one[end], rel=1e-7), (one, other)


@for_each("path", PIECES)
@pytest.mark.long
def test_figures_in_sentences_follow_the_piece_as_a_build_for_it_would(v8, path):
    standard, _ = in_python(path)
    built = renderer_of(standard)
    figures = json.loads(v8.call("figuresOf", path.read_text(encoding="utf-8")))
    seen = 0
    for asked in own.asked_on_pages(built):
        answer, used = built.answer(asked)
        if not own.follows_piece(used):
            assert asked.written not in figures
            continue
        theirs = figures[asked.written]
        seen += 1
        if answer.refused:
            told = answer.refused.replace("\u00a0", " ")
            assert told.endswith(theirs["refused"].replace("\u00a0", " "))
            continue
        name = answer.calculation.result(asked.name.partition(".")[2]).name
        value = answer.results[name]
        close = pytest.approx(value, rel=1e-9) if isinstance(value, float) else value
        assert theirs["value"] == close, asked.written
        interval = answer.spread.intervals.get(name)
        if interval:
            assert theirs["low"] == pytest.approx(interval.low, rel=1e-6, abs=1e-12), asked.written
            assert theirs["high"] == pytest.approx(interval.high, rel=1e-6, abs=1e-12), asked.written
    assert seen == len(figures) > 10


@for_each("path", PIECES)
def test_tables_follow_the_piece_as_a_build_for_it_would(v8, path):
    standard, _ = in_python(path)
    theirs = json.loads(v8.call("cellsOf", path.read_text(encoding="utf-8")))
    for name, cells in theirs.items():
        if not own.TABLES[name].follows:
            continue
        computed = own.TABLES[name].compute(standard)
        example = own.TABLES[name].compute(house_module.load())
        for i, (row, before) in enumerate(zip(computed.rows, example.rows, strict=True)):
            for j, (cell, was) in enumerate(zip(row, before, strict=True)):
                found = cells.get(f"{i} {j}")
                if found is None:
                    # What is not filled anew is the same for every piece.
                    assert shown(cell, computed.columns[j]) == shown(was, example.columns[j]), (name, i, j)
                elif cell is None or isinstance(cell, Refused):
                    assert found["refused"], (name, i, j)
                else:
                    value = getattr(cell, "value", cell)
                    assert found["value"] == pytest.approx(value, rel=1e-9), (name, i, j)
                    if hasattr(cell, "low"):
                        assert found["low"] == pytest.approx(cell.low, rel=1e-6), (name, i, j)
                        assert found["high"] == pytest.approx(cell.high, rel=1e-6), (name, i, j)


# What may go wrong in a file that was written by hand, by a program, or by somebody who means ill.
SIGNS = ("\t", "\r", "\ufeff", "\x00", "\x0b", "\x0c", "\x85", "\u2028", "\xa0", "\u202e", "\ue000", "#", ":",
         '"', "'", "|", ">", "[", "{", "&", "*", "!", "@", "`", "\n", " ", "---\n", "%YAML 1.1\n", "\n- a\n",
         "\n__proto__:\n", "\n  __proto__: 1\n", "\n  constructor: 1\n", "\n   mass: 5 g\n", "\n  <<: x\n")  # fmt: skip
TEXTS = ("1e400", "NaN", "-0", "1,5", "0x10", "inf", "1e-400 g", "5 constructor", "5 __proto__", "constructor",
         "__proto__", "5 mm (20 mm to 1 mm)", "5 mm (", "1/0 in", "2026-02-29", "9999-12-31", "Yes", "NO", "true",
         "null", "~", "[1, 2]", "{a: 1}", "|", "'it''s'", '"a\\nb"', '"\\x41"', '"\\ud800"', "!!str 5", "&a 5", "*a",
         "<img src=x onerror=alert(1)>", "a\u202eb", "a\u200bb", "a/b", "a\\b", "x" * 120, "x" * 121, "a: b", "a #b",
         "a#b", "5\xa0mm", "\u0665 mm", "\uff15 mm", "\u00bd in", "=1+1", ".5 mm", "unknown", " ", "")  # fmt: skip


# The page reads fewer ways to write a file than YAML has; by these words it says so.
FORM = ("is not read here", "nobody sees; type the line anew", "begins ", "unknown key", "no section")
FUZZED = 120


def spoilt(draw, text: str) -> str:
    """Return the text of a piece's file with one to three things wrong."""
    for _ in range(draw.choice((1, 1, 2, 3))):
        lines = text.splitlines(keepends=True)
        at = draw.randrange(len(lines))
        match draw.choice(
            ("value", "value", "value", "sign", "sign", "twice", "gone", "shift", "ends", "cut")
        ):
            case "value" if ":" in lines[at]:
                lines[at] = f"{lines[at].partition(':')[0]}: {draw.choice(TEXTS)}\n"
            case "sign":
                place = draw.randrange(len(lines[at]))
                lines[at] = lines[at][:place] + draw.choice(SIGNS) + lines[at][place:]
            case "twice":
                lines.insert(at, draw.choice(lines))
            case "gone":
                del lines[at]
            case "shift":
                lines[at] = draw.choice(("", " ", "    ", "\t", "\xa0")) + lines[at].lstrip()
            case "ends":
                lines = [line.replace("\n", "\r\n") for line in lines]
            case "cut" if draw.random() < 0.2:
                lines = lines[: at + 1]
        text = "".join(lines) or "\n"
    return text


@pytest.mark.long
def test_a_spoilt_file_that_the_page_takes_is_taken_by_the_command_too(v8, tmp_path):
    draw = random.Random(29)
    bases = [path.read_text(encoding="utf-8") for path in PIECES]
    path = tmp_path / "X-1.yml"
    taken = values = 0
    for _ in range(FUZZED):
        text = spoilt(draw, draw.choice(bases))
        path.write_bytes(text.encode())
        standard, faults = in_python(path)
        found = in_v8(v8, text)
        if not found["faults"]:
            assert standard is not None, (text, faults)
            same_facts(standard, found)
            taken += 1
        elif not any(told in fault["told"] for fault in found["faults"] for told in FORM):
            # Its lines are as they must be, so both judge what stands in them, and name the same lines.
            assert standard is None, (text, found)
            assert {fault["line"] for fault in found["faults"]} == {fault.line for fault in faults}, text
            values += 1
    assert taken > FUZZED / 20
    assert values > FUZZED / 20


# What a reader chooses, or reads of a bath, a paper or the weather, though it speaks of a piece.
CHOSEN = {
    ("sanded-slice", "depth"), ("sanded-slice", "faces"), ("cut-yield", "slices"), ("flatten-loss", "faces"),
    ("bath-volume", "depth"), ("bath-carbonation", "surface"), ("wire-drop", "material"),
    ("waste-sort", "metals"), ("coats-needed", "dry_film"), ("cure-time", "temperature"),
    ("cure-window", "temperature"), ("crack-exchange", "inside"),
}  # fmt: skip
SPEAKS_OF_A_PIECE = re.compile(r"\b(piece|slices?|faces?|surface|cracks?|metals?|bands?|cuts?|mass|parts)\b")


def test_no_figure_of_the_example_stands_for_another_piece_without_saying_so(house):
    """Each input that asks something of a piece follows the piece, or is declared as the example's own."""
    met = set()
    for name, each in CATALOGUE.items():
        starts = own._starts(each, house)
        for declared in each.inputs:
            own_figure = declared.example and not declared.house and not house_key(declared.example)
            asks = SPEAKS_OF_A_PIECE.search(declared.about) and "by mass" not in declared.about
            if not own_figure or declared.name in starts or not asks or declared.form == "rows":
                continue
            met.add((name, declared.name))
    assert met == CHOSEN


def test_what_an_input_takes_of_a_piece_is_a_fact_or_a_calculation_of_its_own_kind(house):
    followed = 0
    for name, each in CATALOGUE.items():
        starts = own._starts(each, house)
        for declared in each.inputs:
            if not declared.of_piece:
                continue
            start = starts[declared.name]
            assert (start == "") == (declared.of_piece == MEASURED), (name, declared.name)
            if isinstance(start, dict):
                followed += 1
                units = quantities.known_units()
                result = CATALOGUE[start["run"]].result(start["result"])
                assert units[result.unit][0] == units[declared.unit][0], (name, declared.name)
                assert any(str(key).startswith("piece.") for key in start["inputs"].values())
    assert followed > 5


@pytest.mark.parametrize("path", PIECES, ids=lambda path: path.stem)
def test_the_liquid_that_a_piece_carries_is_answered_by_the_calculation_for_it(v8, path):
    """A rinse that starts from another piece's drag-out errs to the unsafe side."""
    program = json.loads(v8.eval("JSON.stringify(HB.own.starts['rinse-baths'].drag_out)"))
    text = json.dumps(path.read_text(encoding="utf-8"))
    call = f"JSON.stringify(answered({json.dumps(program)}, HB.readPiece({text}).facts))"
    found = json.loads(v8.eval(call))
    bench = Bench(house_module.load(piece=path, asking=True))
    volume = bench("drag-out", area=bench.value("piece.area"), crack_volume=bench.value("piece.crack_volume"))
    assert found["value"] == pytest.approx(float(volume))
