"""The log of the reader's own piece: read, added to and answered for in V8 as by the command line."""

import json
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from support import for_each
from test_own import BENCH, PIECES, v8  # noqa: F401  a fixture

from handbook_calc import readings
from handbook_calc.engine import house as house_module
from handbook_calc.engine import log_script, logbook
from handbook_calc.engine.planning import plan_of

LOGGED = [path for path in PIECES if path.with_suffix(".csv").is_file()]
HEADING = readings.heading_line()
BATH = "1,2026-10-01 09:00,bath,0.25 L,,,2026.1,"
READ = "2,2026-10-08 09:00,chloride,130 mg/L,1 mg/L,,2026.1,"
LOG = f"{HEADING}\n{BATH}\n{READ}\n"
EDITION = "2026.2"

RUN = """
function factsOf(text) {return HB.readPiece(text).facts;}
function saysOf(piece, csv, now) {
  var facts = factsOf(piece), log = HB.readLog(csv), says = HB.logSays(log, facts, now);
  var inputs = HB.planInputs(facts), start = (facts.get("wanted.start") || {value: null}).value;
  var plan = HB.planOf(inputs.values, inputs.spans);
  var ahead = HB.continuedPlan(plan, log, says, start, now);
  return JSON.stringify({faults: log.faults, finds: HB.logFinds(log, facts, now), says: says, start: ahead.start,
    states: ahead.states, steps: ahead.steps.map(function (s) {return [s.id, s.begin, s.end, s.hands.length];})});
}
function pasted(text, rows, edition) {return JSON.stringify(HB.withRows(text, rows, edition));}
function added(text, cells) {return JSON.stringify(HB.addedRow(text, JSON.parse(cells)));}
function lost(text, other) {return JSON.stringify(HB.lostRows(text, HB.readLog(other).entries));}
function read(text) {return JSON.stringify(HB.readLog(text));}
function startsOf(piece, csv, now, name) {
  var inputs = HB.loggedInputs(HB.readLog(csv), factsOf(piece), now, name), found = {};
  HB.declared[name].inputs.forEach(function (one) {
    if (one.form === "rows" && inputs[one.name]) {
      var source = HB.loggedSource(one, inputs[one.name], "");
      found[one.name] = [inputs[one.name], HB.readRows(one, source.cells)];
    }
  });
  return JSON.stringify(found);
}
"""


@pytest.fixture(scope="module")
def page(v8, house):  # noqa: F811
    """The embedded V8 of a reader's piece, with its log."""
    for text in log_script.scripts(house).values():
        v8.eval(text)
    v8.eval((BENCH / "logged.js").read_text(encoding="utf-8"))
    v8.eval(RUN)
    return v8


def call(page, name: str, *given) -> Any:
    return json.loads(page.call(name, *given))


def log_of(path: Path, now: datetime) -> logbook.Log:
    standard = house_module.load(piece=path, root=path.parent, asking=True)
    found = logbook.load(standard, path, now)
    assert found is not None
    return found


def alike(theirs, ours) -> bool:
    """Say whether two results agree: texts to the letter, numbers to what an interval's trials leave."""
    if isinstance(ours, list | tuple):
        return len(theirs) == len(ours) and all(map(alike, theirs, ours))
    if isinstance(ours, int | float) and not isinstance(ours, bool):
        return theirs == pytest.approx(float(ours), rel=1e-9, abs=1e-12)
    return theirs == ours


@for_each("path", LOGGED)
@pytest.mark.long
def test_a_log_says_in_the_page_what_the_command_says(page, path):
    for now in (datetime(2026, 4, 10, 8), datetime(2026, 11, 26, 12)):
        log = log_of(path, now)
        theirs = call(
            page, "saysOf", path.read_text(encoding="utf-8"),
            path.with_suffix(".csv").read_text(encoding="utf-8"), log.now,
        )  # fmt: skip
        assert theirs["faults"] == []
        assert theirs["finds"] == log.findings
        for one in theirs["says"]:
            said = log.said[one["name"]]
            assert one.get("lacks", "") == said.lacks, one["name"]
            assert one.get("refused", "") == said.refused, one["name"]
            if said.answer is None:
                continue
            for name, value in said.answer.results.items():
                if not isinstance(value, tuple | list):
                    assert alike(one["answer"]["results"][name], value), (one["name"], name)
        plan = logbook.continued(plan_of(log.house), log)
        assert theirs["start"] == str(plan.start)
        assert {id: one["word"] for id, one in theirs["states"].items()} == {
            id: state.word for id, state in plan.states.items()
        }
        for ours, step in zip(plan.steps, theirs["steps"], strict=True):
            assert alike(step, [ours.step.id, ours.begin, ours.end, len(ours.hands)])


@for_each("path", LOGGED)
@pytest.mark.long
def test_calculators_start_from_the_rows_of_the_log(page, path):
    texts = [file.read_text(encoding="utf-8") for file in (path, path.with_suffix(".csv"))]
    seen = 0
    for name in ("chloride-ledger", "chloride-stop", "stop-forecast", "constant-mass"):
        for given, read in call(page, "startsOf", *texts, 250_000, name).values():
            assert read["message"] == ""
            assert alike([[round(x, 4) for x in row] for row in read["values"]],
                         [[round(float(f"{x:.6g}"), 4) for x in row] for row in given])  # fmt: skip
            seen += 1
    assert seen or "bath" not in texts[1]


# --- new rows ----------------------------------------------------------------------------------


def test_a_row_is_added_behind_all_that_stand_and_these_stay_to_the_letter(page):
    cells = {"what": "weighing", "when": "2026-10-09 10:00", "value": "186,41 g", "edition": EDITION}
    for text in (LOG, LOG.replace("\n", "\r\n"), "\ufeff" + LOG, LOG.rstrip("\n"), ""):
        found = call(page, "added", text, json.dumps(cells))
        assert found["faults"] == []
        number = 3 if text else 1
        assert found["row"] == number
        line = f'{number},2026-10-09 10:00,weighing,"186,41 g",,,{EDITION},\n'
        assert found["text"].startswith(text or HEADING)
        assert found["text"].endswith(line)
        assert call(page, "read", found["text"])["faults"] == []


def test_a_row_that_cannot_be_read_is_told_by_its_column_and_changes_nothing(page):
    whole = {"what": "weighing", "when": "2026-10-09", "value": "186 g", "edition": EDITION}
    for column, cell in (
        ("value", "186"), ("value", ""), ("when", "yesterday"), ("what", "wieghing"), ("with", "3 kg/s"),
        ("corrects", "9"), ("corrects", "0"), ("note", "x" * 300), ("edition", ""),
    ):  # fmt: skip
        found = call(page, "added", LOG, json.dumps(whole | {column: cell}))
        assert [fault[1] for fault in found["faults"]] == [column], (column, cell)
        assert found["text"] == LOG


PASTED = {
    "tabs, no heading": "2026-10-09\tweighing\t186.41 g\t0.01 g\n2026-10-10\tlook\tsound\n",
    "commas, no heading": "2026-10-09,weighing,186.41 g,0.01 g\n2026-10-10,look,sound\n",
    "semicolons": "when;what;value;with\n2026-10-09;weighing;186.41 g;0.01 g\n2026-10-10;look;sound;\n",
    "columns in another order": "value\twhat\twhen\twith\n186.41 g\tweighing\t2026-10-09\t0.01 g\n"
    "sound\tlook\t2026-10-10\t\n",
    "all columns, no heading": "3,2026-10-09,weighing,186.41 g,0.01 g,,2026.2,\n"
    "4,2026-10-10,look,sound,,,2026.2,\n",
    "line ends of another system": "2026-10-09\tweighing\t186.41 g\t0.01 g\r\n\r\n2026-10-10\tlook\tsound",
}


@for_each("rows", PASTED.values())
def test_rows_of_a_spreadsheet_are_entered_with_or_without_a_heading(page, rows):
    found = call(page, "pasted", LOG, rows, EDITION)
    assert found["faults"] == []
    assert found["added"] == 2
    assert found["text"] == (
        LOG + "3,2026-10-09,weighing,186.41 g,0.01 g,,2026.2,\n4,2026-10-10,look,sound,,,2026.2,\n"
    )


WRONG = {
    "no unit": ("2026-10-09\tweighing\t186.41\n", 1, "value", "unit"),
    "second row": ("2026-10-09\tlook\tsound\n2026-10-09\tlook\tsuond\n", 2, "value", "not known"),
    "a number used": ("row,when,what,value\n2,2026-10-09,look,sound\n", 2, "row", "used twice"),
    "a strange column": ("when,what,value,colour\n2026-10-09,look,sound,red\n", 1, "heading", "colour"),
    "too many cells": ("when,what,value\n2026-10-09,look,sound,red\n", 2, "row", "more cells"),
    "no day": ("09.10.2026\tlook\tsound\n", 1, "row", "number of a row"),
    "an open quotation mark": ('2026-10-09,look,"sound\n', 1, "", "quotation mark"),
    "a sign nobody sees": ("2026-10-09,look,sou\u200bnd\n", 1, "", "U+200B"),
    "nothing": ("\n \n", 1, "", "no row"),
    "a heading alone": ("when,what,value\n", 1, "", "no row below"),
    "a correction of a corrected row": (
        "when,what,value,corrects\n2026-10-09,note,a,2\n2026-10-09,note,b,2\n", 3, "corrects", "already"),
}  # fmt: skip


@for_each("slip", WRONG.values())
def test_pasted_rows_are_refused_whole_with_line_column_and_reason(page, slip):
    rows, line, column, told = slip
    found = call(page, "pasted", LOG, rows, EDITION)
    assert found["text"] == LOG
    assert found["faults"][0][:2] == [line, column]
    assert told in found["faults"][0][2]


def test_a_file_of_another_order_gets_the_usual_heading_when_a_row_is_added(page):
    text = "what;when;row;edition;value;note\nbath;2026-10-01 09:00;1;2026.1;0,25 L;'=a, b\n"
    found = call(page, "pasted", text, "2026-10-09\tlook\tsound", EDITION)
    assert found["faults"] == []
    assert found["text"] == (
        f'{HEADING}\n1,2026-10-01 09:00,bath,"0,25 L",,"\'=a, b",2026.1,\n2,2026-10-09,look,sound,,,2026.2,\n'
    )


def test_an_opened_file_that_lacks_a_kept_row_is_known(page):
    longer = LOG + "3,2026-10-09,look,sound,,,2026.1,\n"
    assert call(page, "lost", LOG, longer) == []
    assert call(page, "lost", longer, LOG) == [3]
    assert call(page, "lost", LOG, LOG.replace("130", "13")) == [2]
    assert call(page, "lost", LOG, LOG.replace("\n", "\r\n")) == []


def test_a_long_log_is_read_and_one_beyond_the_limit_is_refused(page):
    rows = "".join(f"{i},2026-10-01 09:00,room humidity,4{i % 10} %,,,2026.1,\n" for i in range(1, 5001))
    assert len(call(page, "read", f"{HEADING}\n{rows}")["entries"]) == 5000
    more = f"{HEADING}\n{rows}5001,2026-10-01,look,sound,,,2026.1,\n"
    assert "more than 5000 rows" in call(page, "read", more)["faults"][0][2]
    assert "two million" in call(page, "read", "x" * 2_000_001)["faults"][0][2]
