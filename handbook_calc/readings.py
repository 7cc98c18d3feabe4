"""Readings: what may stand in the log of a piece, and the reader of its rows.

A log is a CSV file beside the piece's own, one raw reading a row. A row is never changed: whoever misread
writes a new row, which says in ``corrects`` the number of the one whose place it takes. A value that can be
read and cannot be true stays in the file; `log` points it out and leaves it out of every figure.

The functions are in the reader's subset, so that the page reads the same rows.
"""

from math import floor

from handbook_calc import plan  # noqa: F401  its steps are named here
from handbook_calc.chloride import LEAST_READING, NO_ZERO, Reading
from handbook_calc.engine.entries import COLUMNS, FORMS, NEEDED, described, kind
from handbook_calc.engine.fields import Choice, Quantity, Words
from handbook_calc.engine.reading import BLANKS, DIGITS, bound, reading, trimmed, value
from handbook_calc.engine.steps import STEPS
from handbook_calc.engine.tables import Column, Sheet, table

STAGE = "specimen"
MOST_ROWS = 5000
LONGEST = 200  # signs of a note
NOON = 12
DAY = 24
MONTHS = [0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334]
LENGTHS = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
STRUCK = "struck out"
FORMULA_SIGNS = ("=", "+", "-", "@", "\t")
UNSEEN_BELOW = " "  # signs before the blank are controls
NAMES = list(COLUMNS)
NEEDED_NAMES = list(NEEDED)

chloride = [
    Reading("chloride", "chloride in the sample", unit="mg/L", low=LEAST_READING, high=50_000, why=NO_ZERO,
            example="12 mg/L"),
    Quantity("detection", "least chloride that the test can see", unit="mg/L", low=0.01, high=1000,
             optional=True, example="1 mg/L"),
]  # fmt: skip
humidity = Quantity("humidity", "relative humidity", unit="%", low=0, high=100, example="9 %")
step_of_plan = Choice("step", "step of the plan", options=tuple(STEPS), kind="step", example="electrolysis")

kind("arrived", "the piece came to the bench", step="intake")
kind("step begun", "work on a step of the plan was begun", value=step_of_plan)
kind("step done", "a step of the plan is done, its holds ticked off", value=step_of_plan)
kind(
    "weighing",
    "the piece, dry and cold, on the balance",
    value=Quantity("mass", "mass", unit="g", low=0.01, high=100_000, example="186.41 g"),
    by=Quantity(
        "division", "step of the balance", unit="g", low=1e-6, high=100, optional=True, example="1 mg"
    ),
)
kind(
    "thickness",
    "thickness at the middle, in callipers",
    value=Quantity("thickness", "thickness", unit="mm", low=0.1, high=300, example="6.0 mm"),
)
kind(
    "bath",
    "a fresh bath was filled and the piece laid in",
    step="electrolysis",
    value=Quantity("volume", "liquid", unit="L", low=0.01, high=500, example="0.25 L"),
)
kind("blank", "chloride in the fresh bath, by the same test", step="electrolysis", value=chloride[0],
     by=chloride[1])  # fmt: skip
kind("chloride", "chloride in the bath with the piece", step="electrolysis", value=chloride[0],
     by=chloride[1])  # fmt: skip
kind(
    "standard",
    "the known sample, by the same test on the same day",
    step="electrolysis",
    value=chloride[0],
    by=Quantity(
        "true",
        "chloride that the sample truly holds",
        unit="mg/L",
        low=0.01,
        high=50_000,
        optional=True,
        example="10 mg/L",
    ),
)
kind(
    "current",
    "current through the bath",
    step="electrolysis",
    value=Quantity("current", "current", unit="A", low=0, high=100, example="4.9 mA"),
)
kind("bath emptied", "the piece was taken out and the bath poured away", step="electrolysis")
kind(
    "oven",
    "the piece was put into the oven to dry",
    step="oven-dry",
    value=Quantity(
        "temperature", "temperature of the oven", unit="degC", low=20, high=200, example="80 degC"
    ),
)
kind(
    "sanding pass",
    "a stretch of sanding with one paper",
    step="sand",
    value=Quantity("time", "time sanded", unit="min", low=0.05, high=600, example="5 min"),
    by=Words("paper", "the paper", example="P240"),
)
kind(
    "etching pass",
    "a stretch in the etchant",
    value=Quantity("time", "time in the etchant", unit="s", low=1, high=7200, example="30 s"),
    by=Quantity("temperature", "temperature of the etchant", unit="degC", low=0, high=60, example="20 degC"),
)
kind("coat", "a coat was put on", step="coat", value=Words("coating", "the coating", example="acrylic-brush"))
kind(
    "box closed",
    "the box was closed over the piece, or empty to test it",
    step="store",
    value=humidity,
    by=Quantity("gel", "dry gel in it; 0 g to test the box", unit="g", low=0, high=100_000, example="40 g"),
)
kind("box humidity", "humidity in the closed box", step="monitor", value=humidity)
kind("room humidity", "humidity of the room", value=humidity)
kind(
    "look",
    "a look at the piece in its box",
    step="monitor",
    value=Choice(
        "found", "what was found", options=("sound", "new spots", "beads", "flakes"), kind="finding"
    ),
)
kind("photograph", "a photograph, by the name of its file",
     value=Words("file", "name of the file", like="LY-014-face-1.jpg"))  # fmt: skip
kind("note", "words alone", value=Words("words", "one line"))
kind(STRUCK, "the row that it corrects was no reading of this piece")


# --- days --------------------------------------------------------------------------------------


def digits_of(text):
    """Return a text of digits alone as a number, or -1."""
    if text == "" or len(text) > 6:
        return -1
    for i in range(len(text)):
        if text[i] not in DIGITS:
            return -1
    return floor(float(text))


def leap(year):
    """Tell whether a year has a 29th of February."""
    hundreds = year - 100 * floor(year / 100) == 0
    if hundreds:
        return year - 400 * floor(year / 400) == 0
    return year - 4 * floor(year / 4) == 0


def day_number(year, month, day):
    """Return the days from 1 January 2000 to a day of the calendar, or -1 where there is none."""
    if year < 2000 or year > 2199 or month < 1 or month > 12 or day < 1:
        return -1
    longest = LENGTHS[month - 1] + (1 if month == 2 and leap(year) else 0)
    if day > longest:
        return -1
    past = year - 1
    leaps = floor(past / 4) - floor(past / 100) + floor(past / 400) - 484  # 484 of them before 2000
    late = 1 if month > 2 and leap(year) else 0
    return (year - 2000) * 365 + leaps + MONTHS[month - 1] + late + day - 1


HOW_WHEN = "is no day; write year, month and day, and the time if it counts: 2026-12-01 or 2026-12-01 14:30"


def hours_of(written):
    """Return hours from 1 January 2000 to a day, whose noon counts, or to a day and time."""
    text = trimmed(written)
    day = text[0:10]
    if len(day) < 10 or day[4:5] != "-" or day[7:8] != "-":
        return ["fault", HOW_WHEN]
    number = day_number(digits_of(day[0:4]), digits_of(day[5:7]), digits_of(day[8:10]))
    if number < 0:
        return ["fault", HOW_WHEN]
    if len(text) == 10:
        return ["hours", number * DAY + NOON]
    clock = text[11:]
    if text[10:11] not in (" ", "T") or len(clock) != 5 or clock[2:3] != ":":
        return ["fault", HOW_WHEN]
    hour = digits_of(clock[0:2])
    minute = digits_of(clock[3:5])
    if hour < 0 or hour > 23 or minute < 0 or minute > 59:
        return ["fault", HOW_WHEN]
    return ["hours", number * DAY + hour + minute / 60]


# --- one cell ----------------------------------------------------------------------------------


def guarded(text):
    """Return a cell so that a spreadsheet shows it and reckons nothing: ``'=1+1`` for ``=1+1``."""
    if text[0:1] in FORMULA_SIGNS or (text[0:1] == "'" and text[1:2] in FORMULA_SIGNS):
        return "'" + text
    return text


def unguarded(text):
    """Return what `guarded` was given."""
    if text[0:1] == "'" and (text[1:2] in FORMULA_SIGNS or text[1:2] == "'"):
        return text[1:]
    return text


def line_of_words(text):
    """Return words of one line, or why they are none."""
    if len(text) > LONGEST:
        return ["fault", "has more than " + str(LONGEST) + " signs; shorten it"]
    for i in range(len(text)):
        if text[i] < UNSEEN_BELOW:
            return ["fault", "holds a sign that nobody sees; type it anew on one line"]
    return ["words", text]


def read_cell(text, form, at):
    """Return what a cell says by a kind's declaration: ``["value", number or text, whether it can be true]``.

    Arguments:
        text: the cell, without the guard of a formula.
        form: the row of the register.
        at: where in it the declaration of this cell begins.
    """
    sort = form[at]
    if text == "":
        if form[at + 5]:
            return ["value", None, True]
        return ["fault", "is empty; allowed is " + form[at + 6]]
    if sort == "none":
        return ["fault", "must be empty for this kind of reading; put words into the note"]
    if sort == "words":
        found = line_of_words(text)
        return found if found[0] == "fault" else ["value", text, True]
    if sort == "choice":
        for i in range(len(form[at + 4])):
            if form[at + 4][i] == text:
                return ["value", text, True]
        return ["fault", "is not known; allowed is one of " + form[at + 6]]
    below = sort == "reading" and bound(text)[0] == "below"
    found = reading(text, form[at + 1], "") if below else value(text, form[at + 1], "")
    if found[0] == "fault":
        return ["fault", found[1] + "; allowed is " + form[at + 6]]
    size = 0 - found[1] if below else found[1]  # pyright: ignore[reportOperatorIssue]  a number here
    slack = 1e-12 * (abs(form[at + 2]) + abs(form[at + 3]))
    possible = form[at + 2] - slack <= size and size <= form[at + 3] + slack
    return ["value", found[1], possible]


# --- one row -----------------------------------------------------------------------------------


def places_of(heading):
    """Return the place of each column, -1 for one that is not there, or what is wrong with the heading."""
    found = ["places"]
    for i in range(len(NAMES)):
        place = -1
        for j in range(len(heading)):
            if trimmed(heading[j]) == NAMES[i]:
                if place >= 0:
                    return ["fault", "has the column '" + NAMES[i] + "' twice; keep one"]
                place = j
        found.append(place)  # pyright: ignore[reportArgumentType]  a list of both
        if place < 0 and NAMES[i] in NEEDED_NAMES:
            return ["fault", "has no column '" + NAMES[i] + "'; the first line is " + heading_line()]
    for j in range(len(heading)):
        if trimmed(heading[j]) not in NAMES:
            return ["fault", "has the unknown column '" + trimmed(heading[j]) + "'; the first line is "
                    + heading_line()]  # fmt: skip
    return found


def heading_line():
    """Return the heading of a log."""
    line = NAMES[0]
    for i in range(1, len(NAMES)):
        line = line + "," + NAMES[i]
    return line


def cell_at(cells, place):
    """Return a cell without blanks and guard; nothing where the row ends before it."""
    if place < 0 or place >= len(cells):
        return ""
    return unguarded(trimmed(cells[place]))


def read_row(cells, places):
    """Return one row as an entry, or what is wrong: ``["fault", column, cell, why]``."""
    number = digits_of(cell_at(cells, places[1]))
    if number < 1:
        return ["fault", "row", cell_at(cells, places[1]), "is no number of a row; write 1, 2, 3 and so on"]
    when = hours_of(cell_at(cells, places[2]))
    if when[0] == "fault":
        return ["fault", "when", cell_at(cells, places[2]), when[1]]
    what = cell_at(cells, places[3])
    if what not in FORMS:
        return ["fault", "what", what, "is no kind of reading; allowed is one of " + kinds_line()]
    form = FORMS[what]
    text = cell_at(cells, places[4])
    found = read_cell(text, form, 1)
    if found[0] == "fault":
        return ["fault", "value", text, found[1]]
    if what == "photograph" and not file_name(text):
        return ["fault", "value", text, "is no name of a file; write the name alone, without a folder"]
    by = cell_at(cells, places[5])
    found_by = read_cell(by, form, 8)
    if found_by[0] == "fault":
        return ["fault", "with", by, found_by[1]]
    note = line_of_words(cell_at(cells, places[6]))
    if note[0] == "fault":
        return ["fault", "note", cell_at(cells, places[6]), note[1]]
    edition = cell_at(cells, places[7])
    if edition == "" or line_of_words(edition)[0] == "fault":
        return ["fault", "edition", edition, "is no edition; write that of the house standard, as in 2026.1"]
    corrects = cell_at(cells, places[8])
    old = 0 if corrects == "" else digits_of(corrects)
    if old < 0 or old >= number or (corrects != "" and old < 1):
        return [
            "fault",
            "corrects",
            corrects,
            "is no number of an earlier row; leave it empty for a new reading",
        ]
    if what == STRUCK and old == 0:
        return ["fault", "corrects", corrects, "is empty; write the number of the row that is struck out"]
    possible = True if found[2] and found_by[2] else False  # noqa: SIM210  the subset has no bool()
    odd = "" if possible else by if found[2] else text
    allowed = "" if possible else form[14] if found[2] else form[7]
    return ["row", {
        "row": number, "at": when[1], "what": what, "step": form[0], "value": found[1], "by": found_by[1],
        "possible": possible, "text": text, "with": by, "note": note[1], "edition": edition,
        "corrects": old, "odd": odd, "allowed": allowed,
    }]  # fmt: skip


def file_name(text):
    """Tell whether a text is the name of a file, without a folder."""
    if text[0:1] == ".":
        return False
    for i in range(len(text)):  # noqa: SIM110  a loop, as the subset has it
        if text[i] in ("/", "\\", ":", "<", ">", '"', "|", "?", "*"):
            return False
    return True


KIND_NAMES = list(FORMS)


def kinds_line():
    """Return the names of all kinds, for a message."""
    line = KIND_NAMES[0]
    for i in range(1, len(KIND_NAMES)):
        line = line + ", " + KIND_NAMES[i]
    return line


# --- all rows ----------------------------------------------------------------------------------


def blank_row(cells):
    """Tell whether a row holds nothing."""
    for i in range(len(cells)):  # noqa: SIM110  a loop, as the subset has it
        if trimmed(cells[i]) != "":
            return False
    return True


def comes_first(one, other, key):
    """Tell whether an entry comes before another: by its row, or by its time and then its row."""
    if key == "at" and one["at"] != other["at"]:
        return one["at"] < other["at"]
    return one["row"] < other["row"]


def in_order(entries, key):
    """Return entries in order."""
    if len(entries) < 2:
        return entries
    half = floor(len(entries) / 2)
    one = in_order(entries[0:half], key)
    other = in_order(entries[half : len(entries)], key)
    found = []
    i = 0
    j = 0
    while i < len(one) or j < len(other):
        if j >= len(other) or (i < len(one) and not comes_first(other[j], one[i], key)):
            found.append(one[i])
            i = i + 1
        else:
            found.append(other[j])
            j = j + 1
    return found


def told_of(found, entries):
    """Enter what is wrong with the numbers of rows, and with what they correct."""
    for i in range(1, len(entries)):
        if entries[i]["row"] == entries[i - 1]["row"]:
            told = "number " + str(floor(entries[i]["row"])) + " is used twice; a new row has a new number"
            found.append([entries[i]["line"], "row", told])
    for i in range(len(entries)):
        if entries[i]["corrects"] > 0:
            number = str(floor(entries[i]["corrects"]))
            there = False
            for j in range(len(entries)):
                if entries[j]["row"] == entries[i]["corrects"]:
                    there = True
                if j < i and entries[j]["corrects"] == entries[i]["corrects"]:
                    told = ("row " + number + " is corrected already, by row " + str(floor(entries[j]["row"]))
                            + "; correct that one instead")  # fmt: skip
                    found.append([entries[i]["line"], "corrects", told])
            if not there:
                found.append([entries[i]["line"], "corrects", "row " + number + " is not in this log"])
    return found


def read_log(lines, rows):
    """Return every entry of a log in order of its rows, and every fault: ``[line, column, words]``.

    Arguments:
        lines: the line of the file on which each row begins.
        rows: the cells of each, the heading first.
    """
    faults = []
    entries = []
    start = 0
    while start < len(rows) and blank_row(rows[start]):
        start = start + 1
    if start == len(rows):
        faults.append([1, "heading", "is missing; the first line is " + heading_line()])
        return {"faults": faults, "entries": entries}
    places = places_of(rows[start])
    if places[0] == "fault":
        faults.append([lines[start], "heading", places[1]])
        return {"faults": faults, "entries": entries}
    if len(rows) - start - 1 > MOST_ROWS:
        faults.append([lines[start], "heading", "stands above more than " + str(MOST_ROWS) + " rows"])
        return {"faults": faults, "entries": entries}
    for i in range(start + 1, len(rows)):
        if not blank_row(rows[i]):
            if len(rows[i]) > len(rows[start]):
                faults.append([lines[i], "row", "has more cells than the heading; put words that hold a "
                               "comma between quotation marks"])  # fmt: skip
            else:
                found = read_row(rows[i], places)
                if found[0] == "fault":
                    shown = found[2] if len(found[2]) <= 80 else found[2][0:80] + "..."
                    faults.append([lines[i], found[1], (shown + " " if shown != "" else "") + found[3]])
                else:
                    entries.append(lined(found[1], lines[i]))
    ordered = in_order(entries, "row")
    return {"faults": told_of(faults, ordered), "entries": ordered}


def lined(entry, line):
    """Return an entry with the line that it stands on."""
    return {
        "row": entry["row"], "at": entry["at"], "what": entry["what"], "step": entry["step"],
        "value": entry["value"], "by": entry["by"], "possible": entry["possible"], "text": entry["text"],
        "with": entry["with"], "note": entry["note"], "edition": entry["edition"],
        "corrects": entry["corrects"], "odd": entry["odd"], "allowed": entry["allowed"], "line": line,
    }  # fmt: skip


def replaced(entries):
    """Return the numbers of the rows that another one takes the place of."""
    found = []
    for i in range(len(entries)):
        if entries[i]["corrects"] > 0:
            found.append(entries[i]["corrects"])
    return found


def stands(entry, gone):
    """Tell whether an entry is a reading that no other row takes the place of."""
    for i in range(len(gone)):
        if gone[i] == entry["row"]:
            return False
    return entry["what"] != STRUCK


def standing(entries):
    """Return the entries that stand, in order of time: none corrected, struck out, or that cannot be true."""
    gone = replaced(entries)
    found = []
    for i in range(len(entries)):
        if entries[i]["possible"] and stands(entries[i], gone):
            found.append(entries[i])
    return in_order(found, "at")


def impossible(entries):
    """Return the entries that stand uncorrected and cannot be true: row, what is written, what is allowed."""
    gone = replaced(entries)
    found = []
    for i in range(len(entries)):
        if not entries[i]["possible"] and stands(entries[i], gone):
            found.append([entries[i]["row"], entries[i]["odd"], entries[i]["allowed"]])
    return found


# --- rows as text: the page's own reader and both writers ---------------------------------------


def cells_of(text):
    """Return the rows of a CSV text, or a fault with its line: ``[line, words]``.

    A cell in quotation marks may hold commas and line ends. A sheet that is pasted has tabs between its
    cells, and one with decimal commas semicolons.
    """
    lines = []
    rows = []
    cells = []
    cell = ""
    quoted = False
    closed = False
    line = 1
    begun = 1
    mark = separator(text)
    for i in range(len(text) + 1):
        sign = text[i : i + 1]
        ends = sign == "" or sign == "\n" or sign == "\r"
        if quoted and sign != "":
            if sign == '"':
                quoted = False
                closed = True
            else:
                cell = cell + sign
        elif quoted:
            return {"fault": [begun, "has a quotation mark without a second"], "lines": [], "rows": []}
        elif sign == '"' and cell == "" and not closed:
            quoted = True
        elif sign == '"' and closed:
            cell = cell + sign
            quoted = True
            closed = False
        elif sign == mark or ends:
            if not (sign == "\n" and text[i - 1 : i] == "\r" and i > 0) and not (
                sign == "" and len(cells) == 0 and cell == "" and not closed
            ):
                cells.append(cell)
                cell = ""
                closed = False
                if ends:
                    lines.append(begun)
                    rows.append(cells)
                    cells = []
        elif closed:
            return {"fault": [begun, "has signs behind a closing quotation mark"], "lines": [], "rows": []}
        else:
            cell = cell + sign
        if sign == "\n" or (sign == "\r" and text[i + 1 : i + 2] != "\n"):
            line = line + 1
        if ends and not quoted:
            begun = line
    return {"fault": None, "lines": lines, "rows": rows}


def separator(text):
    """Return what parts the cells of a text: the first of tab, comma and semicolon in its heading."""
    for i in range(len(text)):
        if text[i] in ("\t", ",", ";"):
            return text[i]
        if text[i] == "\n" or text[i] == "\r":
            return ","
    return ","


def cell_text(text):
    """Return a cell as it is written: guarded, and between quotation marks where it must be."""
    kept = guarded(text)
    if len(kept) > 0 and (kept[0] in BLANKS or kept[len(kept) - 1] in BLANKS):
        kept = trimmed(kept)
    needs = False
    doubled = ""
    for i in range(len(kept)):
        if kept[i] in (",", '"', "\n", "\r", "\t"):
            needs = True
        doubled = doubled + ('""' if kept[i] == '"' else kept[i])
    return '"' + doubled + '"' if needs else kept


def row_text(row, when, what, written, by, note, edition, corrects):
    """Return one row of the file, its line end with it; all are texts as typed."""
    cells = [row, when, what, written, by, note, edition, corrects]
    line = ""
    for i in range(len(cells)):
        line = line + ("," if i > 0 else "") + cell_text(cells[i])
    return line + "\n"


def next_row(entries):
    """Return the number of the next row: one more than any yet."""
    highest = 0
    for i in range(len(entries)):
        highest = max(highest, entries[i]["row"])
    return highest + 1


# --- the register as tables --------------------------------------------------------------------


@table(
    "log-columns",
    title="Columns of the log of a piece",
    question="What does a row of the log hold?",
    notes=("The columns may stand in any order; those that may be empty may be missing.",),
)
def log_columns_table(bench):
    """Every column in the order in which it is written, and whether it may be empty."""
    rows = [[name, about, "no" if name in NEEDED else "yes"] for name, about in COLUMNS.items()]
    return Sheet([Column("Column"), Column("What stands there"), Column("May be empty")], rows)


@table(
    "log-readings",
    title="Kinds of reading",
    question="What can be entered in the log of a piece, and in what form?",
    notes=(
        "A reading outside what is allowed is kept in the file, pointed out, and left out of every figure.",
        "Under 'with' stands what it was read or done with; where it is empty the house's own holds.",
    ),
)
def log_readings_table(bench):
    """Every kind in order, with what it asks for."""
    rows = [
        [kind["name"], kind["about"], _asked_for(kind["value"]), _asked_for(kind["with"]), kind["step"]]
        for kind in described()
    ]
    heads = ("What", "Meaning", "Value", "With", "Step of the plan")
    return Sheet([Column(head) for head in heads], rows)


def _asked_for(told) -> str:
    return f"{told['about']}: {told['allowed']}" if told else ""
