"""The log of a piece: its file and every fault of it, corrections, what it says by hand, the plan that goes on, V8."""

import csv
import io
import json
import math
import random
from datetime import date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import ROOT, Site, changed_piece, examples, for_each

from handbook_calc import log, readings
from handbook_calc.__main__ import main
from handbook_calc.engine import entries as register
from handbook_calc.engine import forms, log_script, log_sheet, logbook, planning
from handbook_calc.engine import house as house_module
from handbook_calc.engine.entries import ASKED, KINDS
from handbook_calc.engine.faults import BadDeclaration, HouseFaults

HEADING = "row,when,what,value,with,note,edition,corrects"
LOGGED = [ROOT / "docs" / "pieces" / f"LY-{number}.yml" for number in ("017", "022", "030")]
NOW = logbook.hours_at(datetime(2026, 12, 1, 12))


def row(number, when, what, value="", by="", corrects: int | str = "", edition="2026.1", note=""):
    """Return one row of a log as it stands in a file."""
    return readings.row_text(str(number), when, what, value, by, note, edition, str(corrects)).rstrip("\n")


def text_of(*rows):
    return "\n".join([HEADING, *rows]) + "\n"


def entries_of(text):
    """Return the entries of a log's text, which must be without fault."""
    cells = readings.cells_of(text)
    found = readings.read_log(cells["lines"], cells["rows"])
    assert not found["faults"]
    return found["entries"]


def standing(*rows):
    return readings.standing(entries_of(text_of(*rows)))


def written(folder, content, facts=None):
    """Write a piece with its log; return the piece's file."""
    path = changed_piece(folder, facts or {})
    data = content if isinstance(content, bytes) else content.encode()
    path.with_suffix(".csv").write_bytes(data)
    return path


def loaded(path, now=None) -> Any:
    return logbook.load(house_module.load(piece=path, root=path.parent, asking=True), path, now, "a.csv")


def answer_of(found, name) -> Any:
    """Return what a calculation answers to a log."""
    return found.said[name].answer


def demonstrated(path) -> Any:
    """Return the log of a piece of the demonstration."""
    return logbook.load(house_module.load(piece=path, root=ROOT, asking=True), path)


@pytest.fixture(scope="module")
def example():
    """The house with the example piece."""
    return house_module.load(piece=ROOT / "docs" / "pieces" / "LY-014.yml", root=ROOT, asking=True)


BATH = row(1, "2026-10-01 09:00", "bath", "0.25 L")
BLANK = row(2, "2026-10-01 09:10", "blank", "below 1 mg/L")


# --- what the reader refuses -------------------------------------------------------------------

FAULTS = [
    ("", 1, "heading: is missing; the first line is row,when"),
    ("\n\n", 1, "heading: is missing"),
    ("row,when,what,value\n", 1, "heading: has no column 'edition'"),
    ("row,when,what,value,edition,colour\n", 1, "heading: has the unknown column 'colour'"),
    ("row,when,what,value,edition,row\n", 1, "heading: has the column 'row' twice"),
    (text_of("x,2026-10-01,bath,0.25 L,,,2026.1,"), 2, "row: x is no number of a row; write 1, 2, 3"),
    (text_of("0,2026-10-01,bath,0.25 L,,,2026.1,"), 2, "row: 0 is no number"),
    (text_of(row(1, "1/12/2026", "bath", "1 L")), 2, "when: 1/12/2026 is no day; write year, month and day"),
    (text_of(row(1, "2026-02-29", "bath", "1 L")), 2, "when: 2026-02-29 is no day"),
    (text_of(row(1, "2026-10-01 24:00", "bath", "1 L")), 2, "when: 2026-10-01 24:00 is no day"),
    (text_of(row(1, "2026-10-01 9:00", "bath", "1 L")), 2, "is no day"),
    (text_of(row(1, "2026-10-01", "wash", "1 L")), 2, "what: wash is no kind of reading; allowed is one of arrived,"),
    (text_of(row(1, "2026-10-01", "bath", "0.25")), 2, "value: 0.25 has no unit; write for example '0.25 L'; allowed is"),
    (text_of(row(1, "2026-10-01", "bath", "0.25 kg")), 2, "value: 0.25 kg is in 'kg', which does not convert to 'L'"),
    (text_of(row(1, "2026-10-01", "bath", "much")), 2, "value: much is not a number with a unit; allowed is 0.01 to 500 L"),
    (text_of(row(1, "2026-10-01", "bath")), 2, "value: is empty; allowed is 0.01 to 500 L"),
    (text_of(row(1, "2026-10-01", "arrived", "yes")), 2, "value: yes must be empty for this kind of reading"),
    (text_of(row(1, "2026-10-01", "bath", "1 L", "2 g")), 2, "with: 2 g must be empty"),
    (text_of(row(1, "2026-10-01", "weighing", "1 oz")), 2, "value: 1 oz is ambiguous"),
    (text_of(row(1, "2026-10-01", "weighing", "1 g", "a balance")), 2, "with: a balance is not a number with a unit"),
    (text_of(row(1, "2026-10-01", "look", "fine")), 2, "value: fine is not known; allowed is one of sound"),
    (text_of(row(1, "2026-10-01", "step done", "bathe")), 2, "value: bathe is not known"),
    (text_of(row(1, "2026-10-01", "photograph", "../face.jpg")), 2, "value: ../face.jpg is no name of a file"),
    (text_of(row(1, "2026-10-01", "bath", "1 L", edition="")), 2, "edition: is no edition; write that of the house"),
    (text_of(BATH, BLANK, BATH), 4, "row: number 1 is used twice; a new row has a new number"),
    (text_of(row(1, "2026-10-01", "bath", "1 L", corrects=1)), 2, "corrects: 1 is no number of an earlier row"),
    (text_of(row(4, "2026-10-01", "bath", "1 L", corrects=3)), 2, "corrects: row 3 is not in this log"),
    (text_of(BATH, row(2, "2026-10-01", "bath", "1 L", corrects=1), row(3, "2026-10-01", "bath", "2 L", corrects=1)),
     4, "corrects: row 1 is corrected already, by row 2; correct that one instead"),
    (text_of(row(1, "2026-10-01", "struck out")), 2, "corrects: is empty; write the number of the row"),
    (text_of("1,2026-10-01,note,a,b,c,2026.1,,more"), 2, "row: has more cells than the heading"),
    (text_of('1,2026-10-01,note,"a'), 2, "look for a quotation mark without a second"),
    (text_of(row(1, "2026-10-01", "note", "a\u202eb")), 2, "holds the sign U+202E, which nobody sees"),
    (text_of(row(1, "2026-10-01", "note", "a\x07b")), 2, "holds the sign U+0007"),
    (text_of(row(1, "2026-10-01", "note", "a" * 300)), 2, "has more than 200 signs; shorten it"),
    (text_of("1,2026-10-01,note," + "a" * 200_000 + ",,,2026.1,"), 2, "is no row of a CSV file: field larger"),
    (text_of(BATH).encode("utf-16"), 1, "is not UTF-8 text; save it as UTF-8"),
    (text_of(BATH).encode() + b"\xff,", 3, "is not UTF-8 text"),
    (text_of(*[f"{n},2026-10-01,arrived,,,,2026.1," for n in range(1, 5003)]), 1, "stands above more than 5000 rows"),
    (b"row\n" + b"a" * 2_000_001, 1, "holds more than 2 MB"),
]  # fmt: skip


@for_each("content, line, told", FAULTS)
@pytest.mark.long
def test_each_fault_has_its_file_its_line_and_what_to_do(tmp_path_factory, content, line, told):
    path = written(tmp_path_factory.mktemp("log"), content)
    with pytest.raises(HouseFaults) as raised:
        loaded(path)
    lines = str(raised.value).splitlines()
    assert any(one.startswith(f"a.csv:{line}: ") and told in one for one in lines), lines


def test_every_fault_is_told_at_once_and_the_file_stays(tmp_path):
    path = written(tmp_path, text_of(row(1, "soon", "bath", "1 L"), row(2, "2026-10-01", "wash", "1 L")))
    before = path.with_suffix(".csv").read_bytes()
    with pytest.raises(HouseFaults) as raised:
        loaded(path)
    assert len(str(raised.value).splitlines()) == 2
    assert path.with_suffix(".csv").read_bytes() == before


def test_a_mark_before_the_text_other_line_ends_and_blank_lines_do_no_harm(tmp_path):
    plain = entries_of(text_of(BATH, BLANK))
    content = ("\ufeff" + text_of(BATH, "", BLANK, "").replace("\n", "\r\n")).encode()
    found = loaded(written(tmp_path, content)).entries
    assert [{**e, "line": 0} for e in found] == [{**e, "line": 0} for e in plain]


def test_a_pasted_sheet_has_tabs_or_semicolons(example):
    for mark in ("\t", ";"):
        text = text_of(BATH, BLANK).replace(",", mark).replace("0.25 L", "0,25 L")
        assert entries_of(text)[0]["value"] == 0.25


def test_columns_may_stand_in_any_order_and_those_that_may_be_empty_may_be_missing():
    text = "edition,value,what,when,row\n2026.1,0.25 L,bath,2026-10-01 09:00,1\n"
    assert entries_of(text) == entries_of(text_of(BATH))


# --- text to rows and back ---------------------------------------------------------------------

CELL = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cf", "Cs", "Zl", "Zp"]), max_size=12)


@examples(200)
@given(cells=st.lists(CELL, min_size=8, max_size=8))
@pytest.mark.long
def test_a_row_reads_back_as_it_was_and_no_spreadsheet_reckons_it_out(cells):
    line = readings.row_text(*cells)
    read = readings.cells_of(HEADING + "\n" + line)["rows"][1]
    assert [readings.unguarded(cell) for cell in read] == [readings.trimmed(cell) for cell in cells]
    assert read == next(csv.reader(io.StringIO(line)))
    assert not any(cell.startswith(("=", "+", "-", "@", "\t")) for cell in read)


@examples(200)
@given(text=st.text(st.sampled_from('ab,"\n\r '), max_size=40))
def test_rows_are_parted_as_the_standard_library_parts_them(text):
    text = "x,y\n" + text  # a heading with commas
    ours = readings.cells_of(text)
    try:
        theirs = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    except csv.Error:
        assert ours["fault"]
        return
    if ours["fault"]:
        assert '"' in text
        return
    assert [r for r in ours["rows"] if any(r)] == [r for r in theirs if any(r)]


@examples(300)
@given(moment=st.datetimes(datetime(2000, 1, 1), datetime(2199, 12, 31)))
def test_hours_are_those_of_the_calendar(moment):
    moment = moment.replace(second=0, microsecond=0)
    found: Any = readings.hours_of(f"{moment:%Y-%m-%d %H:%M}")[1]
    assert found == pytest.approx((moment - datetime(2000, 1, 1)) / timedelta(hours=1), abs=1e-9)
    assert logbook.moment_of(found) == moment
    assert readings.hours_of(f"{moment:%Y-%m-%d}")[1] == (moment.date() - date(2000, 1, 1)).days * 24 + 12


@examples(150)
@given(content=st.one_of(
    st.binary(max_size=200),
    st.text(st.sampled_from('12,\n"\';=bath.L-:0 \tweighng'), max_size=120).map(
        lambda text: (HEADING + "\n" + text).encode()),
))  # fmt: skip
def test_whatever_a_file_holds_it_is_read_or_refused_with_a_line(tmp_path_factory, content):
    path = tmp_path_factory.mktemp("any") / "a.csv"
    path.write_bytes(content)
    told: list[str] = []
    try:
        logbook.read(path, "a.csv")
    except HouseFaults as faults:
        told = str(faults).splitlines()
    assert all(line.startswith("a.csv:") for line in told)


# --- corrections and editions ------------------------------------------------------------------


def test_a_correction_is_a_new_row_and_the_raw_one_stays():
    rows = [
        BATH, BLANK, row(3, "2026-10-08 09:00", "chloride", "130 mg/L", edition="2025.4"),
        row(4, "2026-10-08 09:00", "chloride", "13 mg/L", corrects=3),
        row(5, "2026-10-08 09:00", "chloride", "12 mg/L", corrects=4), row(6, "2026-10-09", "struck out", corrects=1),
    ]  # fmt: skip
    found = entries_of(text_of(*rows))
    assert len(found) == 6
    assert [entry["edition"] for entry in found] == [
        "2026.1",
        "2026.1",
        "2025.4",
        "2026.1",
        "2026.1",
        "2026.1",
    ]
    assert found[2]["value"] == 130
    assert [entry["row"] for entry in readings.standing(found)] == [2, 5]


def random_rows(draw):
    """Return the rows of a log that can be read: most kinds, some values that cannot be true, some corrections."""
    rows = []
    for number in range(1, draw.randint(4, 40)):
        kind = draw.choice(list(KINDS))
        declared = KINDS[kind]
        value, by = _some(draw, declared.value), _some(draw, declared.by)
        when = datetime(2026, 9, 1) + timedelta(hours=draw.randint(0, 2000), minutes=draw.choice((0, 30)))
        shown = f"{when:%Y-%m-%d %H:%M}" if draw.random() < 0.8 else f"{when:%Y-%m-%d}"
        free = [n for n in range(1, number) if not any(r[1] == n for r in rows)]
        corrects = draw.choice(free) if free and (draw.random() < 0.15 or kind == "struck out") else ""
        if kind == "struck out" and not corrects:
            kind, value, by = "arrived", "", ""
        rows.append((row(number, shown, kind, value, by, corrects), corrects))
    return [text for text, _ in rows]


def _some(draw, field):
    if field is None or (field.optional and draw.random() < 0.4):
        return ""
    if field.form == "choice":
        return draw.choice(field.names())
    if field.form == "words":
        return draw.choice(("P240", "P400", "LY-1.jpg", "words"))
    number = math.exp(draw.uniform(math.log(max(field.low, 0.01)), math.log(min(field.high, 1000))))
    if draw.random() < 0.03:
        number = draw.choice((-5.0, field.high * 10))
    below = "below " if field.form == "reading" and draw.random() < 0.3 and number > 0 else ""
    return f"{below}{number:.4g} {field.unit}"


def said(rows, house, now=NOW):
    """Return all that a log says, without the lines that it stands on."""
    found = logbook.Log(house, "a.csv", entries_of(text_of(*rows)), now)
    plain = found.plain()
    return plain


@examples(25)
@given(draw=st.randoms(use_true_random=False))
def test_the_order_of_the_rows_does_not_matter(example, draw):
    rows = random_rows(draw)
    mixed = rows[:]
    draw.shuffle(mixed)
    assert said(mixed, example) == said(rows, example)


@examples(25)
@given(draw=st.randoms(use_true_random=False))
def test_a_correction_gives_what_the_row_would_have_given_had_it_been_right(example, draw):
    rows = random_rows(draw)
    right = [entry["row"] for entry in readings.standing(entries_of(text_of(*rows)))]
    if not right:
        return
    number = draw.choice(right)
    old = rows[number - 1].split(",")
    other = row(number, old[1], "weighing", f"{draw.uniform(180, 190):.3f} g", "1 mg", old[7])
    had_been_right = said([*rows[: number - 1], other, *rows[number:]], example)
    new = len(rows) + 1
    corrected = said([*rows, row(new, old[1], "weighing", other.split(",")[3], "1 mg", number)], example)
    swapped = [new if n == number else n for n in had_been_right["standing"]]
    assert sorted(corrected["standing"]) == sorted(swapped)
    assert corrected["answers"]["mass-change"].keys() == had_been_right["answers"]["mass-change"].keys()
    assert corrected["answers"] == had_been_right["answers"] or _same_moment(rows, old[1])
    assert len(corrected["findings"]) == len(had_been_right["findings"])


def _same_moment(rows, when):
    """Say whether several rows are of one moment: their order is that of their numbers, which a correction changes."""
    return sum(one.split(",")[1] == when for one in rows) > 1


# --- what it says, by hand ---------------------------------------------------------------------


def raw(path) -> list[dict[str, Any]]:
    """Return the rows of a demonstration log by the standard library alone, the corrected ones left out."""
    with path.with_suffix(".csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    gone = {r["corrects"] for r in rows if r["corrects"]}
    return [r | {"at": datetime.fromisoformat(r["when"])} for r in rows if r["row"] not in gone]


@for_each("path", LOGGED[::2])
def test_the_ledger_is_reading_less_blank_times_litres(path):
    total, most = 0.0, 0.0
    bath: Any = None
    for r in raw(path):
        if r["what"] in ("bath", "bath emptied"):
            if bath and bath["last"]:
                level = float(bath["last"].removeprefix("below ").split()[0])
                seen = not bath["last"].startswith("below")
                total += max(0.0, level - 1) * bath["litres"] if seen else 0.0  # the blank is below 1 mg/L
                most += level * bath["litres"]
            bath = {"litres": float(r["value"].split()[0]), "last": ""} if r["what"] == "bath" else None
        if r["what"] == "chloride":
            bath["last"] = r["value"]
    answer = answer_of(demonstrated(path), "chloride-ledger")
    assert float(answer.results["released"]) == pytest.approx(total)
    assert float(answer.results["released_most"]) == pytest.approx(most)


def test_a_bath_read_before_it_is_filled_anew_has_stood_whole_days():
    rows = log.ledger_rows(standing(
        BATH, BLANK, row(3, "2026-10-08 08:10", "chloride", "9 mg/L"), row(4, "2026-10-08 09:00", "bath", "0.2 L"),
        row(5, "2026-10-10 21:00", "chloride", "below 2 mg/L")))  # fmt: skip
    assert rows == [[9.0, -1.0, 0.25, 7], [-2.0, -1.0, 0.2, 2.5]]


def test_a_stop_forecast_and_constant_mass_are_those_of_the_calculations(example):
    rows = [BATH, BLANK]
    for week, level in enumerate(("40 mg/L", "20 mg/L", "12 mg/L"), 1):
        day = datetime(2026, 10, 1, 9) + timedelta(days=7 * week)
        rows.append(row(2 * week + 1, f"{day:%Y-%m-%d %H:%M}", "chloride", level, "2 mg/L"))
        rows.append(row(2 * week + 2, f"{day:%Y-%m-%d %H:%M}", "bath", "0.25 L"))
    found = logbook.Log(example, "a.csv", entries_of(text_of(*rows)), NOW)
    by_hand = [[float(level), -1.0, 0.25, 7.0] for level in (40, 20, 12)]
    from handbook_calc.engine.bench import Bench

    bench = Bench(example)
    stop = bench.answer("chloride-stop", readings=by_hand, piece_mass=186.0, detection_limit=2.0)
    assert answer_of(found, "chloride-stop").plain() == stop.plain()
    end = bench.answer("stop-forecast", readings=by_hand, piece_mass=186.0, depth=4.0)
    assert answer_of(found, "stop-forecast").results == end.results
    dried = [row(20 + i, f"2026-11-{1 + i:02d} 09:00", "weighing", f"{g} g", "2 mg") for i, g in
             enumerate((186.412, 186.397, 186.396))]  # fmt: skip
    found = logbook.Log(
        example, "a.csv",
        entries_of(text_of(*rows, row(19, "2026-11-01 08:00", "oven", "80 degC"), *dried)), NOW)  # fmt: skip
    dry = bench.answer(
        "constant-mass", weighings=[[0.0, 186.412], [24.0, 186.397], [48.0, 186.396]], resolution=0.002,
        crack_water_guess=0.2)  # fmt: skip
    assert answer_of(found, "constant-mass").results == dry.results


def test_the_forecast_is_silent_when_the_rule_lets_it_stop(example):
    rows = [BATH, BLANK]
    for week in (1, 2):
        day = datetime(2026, 10, 1, 9) + timedelta(days=7 * week)
        rows.append(row(2 * week + 1, f"{day:%Y-%m-%d %H:%M}", "chloride", "below 1 mg/L"))
        rows.append(row(2 * week + 2, f"{day:%Y-%m-%d %H:%M}", "bath", "0.25 L"))
    found = logbook.Log(example, "a.csv", entries_of(text_of(*rows)), NOW)
    assert answer_of(found, "chloride-stop").results["verdict"] == "stop"
    assert "nothing left to foretell" in found.said["stop-forecast"].lacks
    assert found.stops()


def test_the_next_look_counts_from_the_closing_and_a_damp_box_is_opened_now(example):
    rows = [row(1, "2026-10-01 09:00", "box closed", "8 %", "50 g"), row(2, "2026-10-05 09:00", "look", "sound"),
            row(3, "2026-10-08 09:00", "box humidity", "9 %"), row(4, "2026-10-10 09:00", "box humidity", "30 %")]  # fmt: skip
    at = logbook.hours_at(datetime(2026, 10, 12, 9))
    answer = answer_of(logbook.Log(example, "a.csv", entries_of(text_of(*rows)), at), "next-inspection")
    assert answer.inputs["closed_for"] == 11
    assert answer.inputs["hours_out"] == 48
    assert answer.results["look"] == "now"
    rows.append(row(5, "2026-10-11 09:00", "look", "sound"))
    answer = answer_of(logbook.Log(example, "a.csv", entries_of(text_of(*rows)), at), "next-inspection")
    assert answer.inputs["hours_out"] == 0


@for_each("rows, told", [
    ([row(1, "2026-10-01", "weighing", "-186 g")], "Row 1: -186 g cannot be true; allowed is 0.01 to 100000 g"),
    ([row(1, "2026-10-01", "box humidity", "104 %")], "Row 1: 104 % cannot be true; allowed is 0 to 100 %"),
    ([row(1, "2026-10-01", "weighing", "186 g", "0 g")], "Row 1: 0 g cannot be true"),
    ([row(1, "2027-01-01", "note", "early")], "Row 1 is dated after today."),
    ([row(1, "2026-10-02 10:00", "arrived"), row(2, "2026-10-01", "note", "x")], "Row 2 is dated before the piece"),
    ([row(1, "2026-10-01", "chloride", "9 mg/L")], "Row 1: chloride was read with no bath filled"),
    ([BATH, row(3, "2026-10-08", "chloride", "9 mg/L")], "Row 1: no blank was read in this bath or before it"),
    ([BATH, BLANK, row(3, "2026-10-01 09:30", "chloride", "9 mg/L")], "Row 3: read within the hour"),
    ([BATH, BLANK, row(3, "2026-10-08", "bath emptied")], "Row 1: nothing was read in this bath"),
    ([BATH, BLANK, row(3, "2026-10-08", "chloride", "800 mg/L")], "Row 3: 800 mg/L is more chloride, ion for ion"),
    ([row(1, "2026-10-01", "bath", "400 L"), BLANK, row(3, "2026-10-08", "chloride", "900 mg/L")],
     "Row 3: this bath alone would hold 360 g of chloride"),
    ([BATH, BLANK, row(3, "2026-10-08", "chloride", "9 mg/L")], "Row 3: no known sample was read within a day"),
    ([row(1, "2026-10-01", "standard", "14 mg/L", "10 mg/L")], "Row 1: the known sample reads 14.0 mg/L for 10.0"),
    ([row(1, "2026-10-01", "weighing", "186 g"), row(2, "2026-10-02", "weighing", "196 g")],
     "Row 2: the mass rose by 10 g since"),
])  # fmt: skip
def test_what_cannot_be_true_is_pointed_out_and_left_out(example, rows, told):
    found = logbook.Log(example, "a.csv", entries_of(text_of(*rows)), NOW)
    texts = [text.replace("\u00a0", " ") for text in found.findings]
    assert any(told.replace("14.0", "14").replace("10.0", "10") in text.replace("14.0", "14").replace("10.0", "10")
               for text in texts), texts  # fmt: skip


def test_a_reading_that_cannot_be_true_stays_in_the_file_and_out_of_the_figures(example):
    rows = [row(1, "2026-10-01", "weighing", "186 g"), row(2, "2026-10-02", "weighing", "-186 g"),
            row(3, "2026-10-03", "weighing", "185 g")]  # fmt: skip
    found = logbook.Log(example, "a.csv", entries_of(text_of(*rows)), NOW)
    assert len(found.entries) == 3
    assert float(answer_of(found, "mass-change").results["change"]) == pytest.approx(-100 / 186)
    mended = [*rows, row(4, "2026-10-02", "weighing", "185.5 g", corrects=2)]
    assert not logbook.Log(example, "a.csv", entries_of(text_of(*mended)), NOW).findings


# --- the plan goes on --------------------------------------------------------------------------


def going_on(house, rows, now) -> Any:
    found = logbook.Log(house, "a.csv", entries_of(text_of(*rows)), logbook.hours_at(now))
    return logbook.continued(planning.plan_of(house, date(2026, 12, 1), spans=False), found)


def test_done_due_late_and_the_days_that_follow(example):
    plan: Any = planning.plan_of(example, date(2026, 12, 1), spans=False)
    days = {p.step.id: plan.day(p.begin) for p in plan.steps if p.applies}
    on_time = going_on(
        example, [row(1, "2026-12-01 10:00", "step done", "intake")], datetime(2026, 12, 1, 12)
    )
    assert on_time.states["intake"].word == "done"
    assert on_time.states["instruments"].word == "due"
    assert on_time.day(next(p.begin for p in on_time.steps if p.step.id == "survey")) == days["survey"]
    late = going_on(example, [row(1, "2026-12-01 10:00", "step done", "intake")], datetime(2026, 12, 11, 12))
    assert late.states["instruments"].word == "late"
    assert late.day(late.states["instruments"].due) == days["instruments"]
    for before, after in zip(plan.steps, late.steps, strict=True):
        if before.applies and before.step.id != "intake":
            moved = date.fromisoformat(late.day(after.begin)) - date.fromisoformat(plan.day(before.begin))
            assert moved.days == 10, before.step.id
            assert [(b - a) for a, b in after.hands] == pytest.approx([(b - a) for a, b in before.hands])
            assert all((a - c) % 24 == pytest.approx(0, abs=1e-6) or (a - c) % 24 == pytest.approx(24, abs=1e-6)
                       for (a, _), (c, _) in zip(after.hands, before.hands, strict=True))  # fmt: skip


def test_a_step_under_way_is_known_by_its_readings_and_the_one_before_is_not_marked(example):
    found = going_on(example, [BATH.replace("2026-10-01", "2026-12-03"), BLANK.replace("2026-10-01", "2026-12-03")],
                     datetime(2026, 12, 4, 12))  # fmt: skip
    assert found.states["electrolysis"].word == "under way"
    assert found.states["intake"].word == "not marked"
    assert found.states["rinse"].word == "ahead"
    assert not next(p for p in found.steps if p.step.id == "intake").hands
    assert found.plain()["steps"][0]["state"] == "not marked"


def test_the_end_of_the_baths_is_that_of_the_readings():
    path = LOGGED[2]
    found = demonstrated(path)
    plan = logbook.continued(planning.plan_of(found.house, spans=False), found)
    to_go = float(answer_of(found, "stop-forecast").results["days_to_go"])
    last = max(r["at"] for r in raw(path) if r["what"] == "chloride")
    end = next(p.end for p in plan.steps if p.step.id == "electrolysis")
    assert plan.day(end) == f"{last + timedelta(days=to_go):%Y-%m-%d}"


@examples(40)
@given(
    spans=st.lists(st.tuples(st.floats(0, 60), st.floats(0.1, 300)), min_size=2, max_size=8),
    done=st.integers(0, 8), later=st.floats(-300, 900), now=st.floats(0, 3000))  # fmt: skip
def test_laws_of_a_plan_that_goes_on(spans, done, later, now):
    planned, at = [], 9.0
    for wait, length in spans:
        planned.append([at, at + length, 2 * length])
        at += length + wait
    count = min(done, len(planned))
    marked: list[list[Any]] = [[None, None] for _ in planned]
    for i in range(count):
        marked[i][1] = planned[i][1] + later
    states = log.states(planned, marked, [None] * len(planned), now)
    assert [state[0] for state in states[:count]] == ["done"] * count
    for before, after in zip(states[count:], states[count + 1 :], strict=False):
        assert after[1] >= before[1]  # what follows never begins before
    for state, plan in zip(states[count:], planned[count:], strict=True):
        assert state[1] // 24 >= now // 24 or state[0] == "ahead"  # nothing is planned for a day that is over
        assert math.isclose((state[1] - plan[0]) / 24, round((state[1] - plan[0]) / 24), abs_tol=1e-6)
        assert state[2] - state[1] == pytest.approx(plan[1] - plan[0], abs=1e-6)
    if count and count < len(planned) and now <= planned[0][0]:
        shift = states[count][1] - planned[count][0]  # as many whole days as the last step done was off
        off = 24 * (marked[count - 1][1] // 24 - planned[count - 1][1] // 24)
        assert shift == off or (states[count][0] == "late" and shift > off)


# --- the command line and the page -------------------------------------------------------------


@pytest.mark.long
def test_log_prints_what_it_says_and_its_status_is_that_of_a_stop(capsys):
    assert main(["log", str(LOGGED[2]), "--date", "2026-07-20"]) == 0
    printed = capsys.readouterr().out
    assert "Log of LY-030" in printed
    assert "by edition 2025.4" in printed
    assert "change the bath:" in printed
    assert "under way: Take chloride out" in printed
    assert main(["log", str(LOGGED[0]), "--date", "2026-07-20", "--json"]) == 3
    told = json.loads(capsys.readouterr().out)
    assert told["answers"]["chloride-stop"]["results"]["verdict"]["value"] == "stop"
    assert next(s for s in told["steps"] if s["id"] == "oven-dry")["state"] == "done"
    assert told["editions"] == {"2025.4": 69, "2026.1": 23}


def test_a_piece_without_a_log_is_told_how_to_begin(capsys):
    assert main(["log", str(ROOT / "docs" / "pieces" / "LY-003.yml")]) == 2
    assert "is not there: begin the log with its heading, " + HEADING in capsys.readouterr().err


@pytest.mark.long
def test_rows_are_added_and_refused_ones_leave_the_file_as_it_was(tmp_path, capsys):
    path = changed_piece(tmp_path, {})
    given = ["what=bath", "value=0,25 L", "when=2026-10-01 09:00"]
    add = lambda *cells: main(["log", str(path), *(part for cell in cells for part in ("--add", cell))])  # noqa: E731
    assert add(*given) == 0
    assert add("what=note", "value==SUM(A1)", "when=2026-10-02") == 0
    csv_file = path.with_suffix(".csv")
    assert csv_file.read_text().splitlines() == [
        HEADING, '1,2026-10-01 09:00,bath,"0,25 L",,,2026.1,', "2,2026-10-02,note,'=SUM(A1),,,2026.1,"
    ]  # fmt: skip
    assert logbook.read(csv_file)[1]["text"] == "=SUM(A1)"
    before = csv_file.read_bytes()
    for cells, told in (
        (["what=bath"], "value: is empty"),
        (["what=bath", "value=1 L", "colour=red"], "is not written COLUMN=CELL"),
        (["what=bath", "value=1 L", "value=2 L"], "value is given twice"),
        (["what=bath", "value=1 L", "corrects=9"], "corrects: 9 is no number of an earlier row"),
    ):
        assert add(*cells) == 2
        assert told in capsys.readouterr().err
        assert csv_file.read_bytes() == before
    for cells, told in (
        (["what=arrived", "row=1"], "number 1 is used twice"),
        (["what=note", "value=a\u202eb"], "holds the sign U+202E"),
        (["what=note", "value=x", "note=\udcff"], "holds the sign U+DCFF"),
    ):
        assert add(*cells) == 2
        assert told in capsys.readouterr().err
        assert csv_file.read_bytes() == before
    assert add("what=bath", "value=0.3 L", "corrects=1", "when=2026-10-01 09:00") == 0
    assert readings.standing(logbook.read(csv_file))[0]["value"] == 0.3
    before = csv_file.read_bytes()
    for cells, told in (
        (["what=bath", "value=0.4 L", "corrects=1"], "corrects: row 1 is corrected already, by row 3"),
        (["what=look", "value=sound", "row=2"], "row: number 2 is used twice"),
    ):
        assert add(*cells) == 2
        assert told in capsys.readouterr().err
        assert csv_file.read_bytes() == before
    for other in (HEADING.replace(",", "\t"), HEADING.replace(",", ";"), "what,when,row,value,edition"):
        csv_file.write_text(f"{other}\n", encoding="utf-8")
        assert add(*given) == 2
        assert "only below the heading" in capsys.readouterr().err
        assert csv_file.read_text(encoding="utf-8") == f"{other}\n"


def test_no_row_is_added_that_would_make_the_log_unreadable(tmp_path):
    path = changed_piece(tmp_path, {})
    csv_file = path.with_suffix(".csv")
    rows = [f"{i},2026-01-01,arrived,,,,2026.1," for i in range(1, readings.MOST_ROWS + 1)]
    csv_file.write_text("\n".join([HEADING, *rows]), encoding="utf-8")
    before = csv_file.read_bytes()
    standard = house_module.load(piece=path, root=tmp_path)
    with pytest.raises(HouseFaults, match="more than 5000 rows"):
        logbook.added(standard, path, {"what": "arrived"}, datetime(2026, 10, 1))
    assert csv_file.read_bytes() == before


@pytest.mark.long
def test_today_and_plan_go_on_from_the_log(capsys):
    assert main(["today", "--date", "2026-07-20"]) == 0
    printed = capsys.readouterr().out
    assert "by its log     LY-017: late: Degrease (degrease), due since 2026-05-20" in printed
    assert main(["plan", str(LOGGED[0]), "--json"]) == 0
    steps = {step["id"]: step for step in json.loads(capsys.readouterr().out)["steps"]}
    assert (steps["electrolysis"]["state"], steps["electrolysis"]["likely_end"]) == ("done", "2026-04-02")


def test_the_page_of_a_piece_shows_its_log_and_a_note_stays_text(tmp_path):
    rows = [
        BATH, BLANK, row(3, "2026-10-08 09:00", "chloride", "31 mg/L"), row(4, "2026-10-08 09:30", "bath", "0.2 L"),
        row(5, "2026-10-15 09:30", "chloride", "14 mg/L"), row(6, "2026-10-15", "note", "<script>x</script>{{ a }}"),
        row(7, "2026-10-16", "weighing", "<-2 g").replace("<-2", "-2"),
    ]  # fmt: skip
    path = written(tmp_path, text_of(*rows), {"piece.number": "LY-<b>"})
    found = loaded(path)
    plan = logbook.continued(planning.plan_of(found.house, spans=False), found)
    html = log_sheet.html(found, plan)
    assert "<script>" not in html
    assert "<b>" not in html
    assert "&lt;script&gt;x" in html
    assert html.count("<svg") == 2  # chloride, and the running sum
    assert "stop limit" in html
    assert "<s>-2 g</s>" in html


def test_a_fault_in_a_log_stops_the_build_with_its_line(tmp_path):
    site = Site(tmp_path)
    changed_piece(tmp_path / "docs" / "pieces", {})
    (tmp_path / "docs" / "pieces" / "LY-014.csv").write_text(text_of(row(1, "soon", "bath", "1 L")))
    built = site.build()
    assert built.returncode != 0
    assert "docs/pieces/LY-014.csv:2: when: soon is no day" in built.stderr


def test_the_logs_of_the_demonstration_say_that_they_are_invented():
    for path in LOGGED:
        assert "invented" in path.with_suffix(".csv").read_text(encoding="utf-8").splitlines()[1]


# --- declarations ------------------------------------------------------------------------------


def test_a_slip_in_a_declaration_is_told_with_its_place():
    with pytest.raises(BadDeclaration, match=r"test_log.py:.*reading 'bath': is declared twice"):
        register.kind("bath", "again")
    with pytest.raises(
        BadDeclaration, match="asks 'mass-chance', which is no calculation; did you mean 'mass-change'"
    ):
        register.asked("mass-chance", {})(lambda entries, v, now: [None, {}])
    register.kind("trial", "a trial", step="sandd")
    try:
        with pytest.raises(BadDeclaration, match="is part of 'sandd', which is no step"):
            register.check(readings.STEPS)
    finally:
        register.KINDS.pop("trial")
        register.FORMS.pop("trial")


def test_every_kind_can_be_written_as_its_example_says():
    for name, kind in KINDS.items():
        cells = ["", ""]
        fields: Any = (kind.value, kind.by)
        for place, field in enumerate(fields):
            if field is not None:
                cells[place] = field.example or getattr(field, "like", "") or "words"
                cells[place] = field.names()[0] if field.form == "choice" else cells[place]
        corrects = 1 if name == "struck out" else ""
        text = text_of(BATH, row(2, "2026-10-01", name, cells[0], cells[1], corrects))
        assert entries_of(text)[1]["possible"], name


# --- the same in V8 ----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def v8(example):
    """An embedded V8 with the formulas and the log."""
    from py_mini_racer import MiniRacer

    engine = MiniRacer()
    engine.eval("var window = this;")
    made = forms.scripts(example) | log_script.scripts(example)
    for name in (*forms.WHOLE, "log-data.js", "log.js"):
        engine.eval(made[name])
    for name in ("read.js", "answer.js"):
        engine.eval((ROOT / "docs" / "assets" / "bench" / name).read_text(encoding="utf-8"))
    engine.eval("""
        function logged(given) {
          var a = JSON.parse(given), L = HB.log, cells = L.cells_of(a.text);
          if (cells.fault) return JSON.stringify({fault: cells.fault});
          var log = L.read_log(cells.lines, cells.rows);
          if (log.faults.length) return JSON.stringify({faults: log.faults});
          var standing = L.standing(log.entries), asks = {};
          HB.logAsks.forEach(function (one) {
            try { asks[one.name] = L.asks[one.name](standing, HB.logValues, a.now); }
            catch (problem) { asks[one.name] = {refused: problem.refused, numbers: problem.numbers}; }
          });
          return JSON.stringify({
            entries: log.entries, standing: standing.map(function (e) { return e.row; }), asks: asks,
            findings: L.findings(standing, L.impossible(log.entries), HB.logValues, a.now),
            marks: L.marks(standing, a.ids), next: L.next_row(log.entries),
            states: L.states(a.planned, L.marks(standing, a.ids), a.planned.map(function () { return null; }), a.now),
          });
        }""")
    yield engine
    engine.close()


def ours(text, ids, planned, house, now):
    """Return the same from Python."""
    cells = readings.cells_of(text)
    if cells["fault"]:
        return {"fault": cells["fault"]}
    found = readings.read_log(cells["lines"], cells["rows"])
    if found["faults"]:
        return {"faults": found["faults"]}
    stand = readings.standing(found["entries"])
    v = logbook.facts(house)
    marks = log.marks(stand, ids)
    return {
        "entries": found["entries"], "standing": [e["row"] for e in stand],
        "asks": {name: asked.kernel(stand, v, now) for name, asked in ASKED.items()},
        "findings": log.findings(stand, readings.impossible(found["entries"]), v, now),
        "marks": marks, "next": readings.next_row(found["entries"]),
        "states": log.states(planned, marks, [None] * len(planned), now),
    }  # fmt: skip


def close(one, other):
    """Say whether two results agree: texts to the letter, numbers to the last digits."""
    if isinstance(one, int | float) and not isinstance(one, bool) and isinstance(other, int | float):
        return math.isclose(one, other, rel_tol=1e-12, abs_tol=1e-12)
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(close(one[key], other[key]) for key in one)
    if isinstance(one, list | tuple):
        return len(one) == len(other) and all(map(close, one, other))
    return one == other


@pytest.mark.long
def test_random_logs_say_the_same_in_v8(v8, example):
    draw = random.Random(12)
    ids = ["intake", "survey", "electrolysis", "oven-dry", "store"]
    planned = [[9.0 + 40 * i, 30.0 + 40 * i, 60.0] for i in range(len(ids))]
    faulty = 0
    for _ in range(300):
        text = text_of(*random_rows(draw))
        if draw.random() < 0.3:  # a slip of one sign
            place = draw.randrange(len(text))
            text = text[:place] + draw.choice(['"', ",", "x", "\n", "-", "é"]) + text[place + 1 :]
        now = NOW + draw.uniform(-500, 500)
        given = json.dumps({"text": text, "ids": ids, "planned": planned, "now": now})
        theirs, mine = (
            json.loads(v8.call("logged", given)),
            json.loads(json.dumps(ours(text, ids, planned, example, now))),
        )
        faulty += "faults" in mine or "fault" in mine
        assert close(mine, theirs), text
    assert 20 < faulty < 200


def test_the_page_gets_every_kind_with_what_it_allows(example):
    data = log_script.data(example)
    told = json.loads(
        next(line for line in data.splitlines() if line.startswith("HB.logKinds=")).partition("=")[2][:-1]
    )
    assert [kind["name"] for kind in told] == list(KINDS)
    weighing = next(kind for kind in told if kind["name"] == "weighing")
    assert weighing["value"]["allowed"] == "0.01 to 100000 g"
    assert weighing["with"]["optional"]
