"""What a person types is read alike in Python and in the page, and refused in the same words."""

import csv
import json
import random
import re

import pytest
from support import ROOT, for_each

from handbook_calc.engine import browser, quantities, reading
from handbook_calc.engine.fields import Quantity, Rows

with (ROOT / "tests" / "typed.csv").open(encoding="utf-8", newline="") as file:
    TYPED = list(csv.DictReader(file))
GENERATED = 10_000
ASK = """
function readAll(text) {
  return JSON.stringify(JSON.parse(text).map(function (asked) { return HB.reading[asked[0]].apply(null, asked[1]); }));
}
"""


@pytest.fixture(scope="module")
def v8():
    """An embedded V8 with the reader's functions as the pages' script has them."""
    from py_mini_racer import MiniRacer

    engine = MiniRacer()
    collector = browser.Collector()
    level, functions = browser.SHARED["reading"]
    names = ",".join(f"{function.__name__}:{collector.function(function, level)}" for function in functions)
    engine.eval(f"{collector.text()}var HB={{reading:{{{names}}}}};")
    engine.eval(ASK)
    yield engine
    engine.close()


def in_v8(v8, asked: list) -> list:
    """Return what the translated functions answer."""
    answers: list = []
    for start in range(0, len(asked), 500):
        answers += json.loads(v8.call("readAll", json.dumps(asked[start : start + 500])), parse_int=float)
    return answers


def in_python(asked: list) -> list:
    return [getattr(reading, name)(*given) for name, given in asked]


def shown(row: dict) -> str:
    return f"{row['text']} as {row['unit']}"


@for_each("row", TYPED)
def test_the_table_of_typed_texts(row):
    text, unit = row["text"], row["unit"]
    if row["says"]:
        with pytest.raises(ValueError, match=re.escape(row["says"])):
            quantities.read_span(text, unit)
        with pytest.raises(
            ValueError, match="is a value with a span" if "(" in text else re.escape(row["says"])
        ):
            quantities.read(text, unit)
    elif row["low"]:
        wanted = [float(row[end]) for end in ("value", "low", "high")]
        assert list(quantities.read_span(text, unit)) == pytest.approx(wanted, rel=1e-9)
        with pytest.raises(ValueError, match="is a value with a span, where one value is wanted"):
            quantities.read(text, unit)
    else:
        assert quantities.read(text, unit) == pytest.approx(float(row["value"]), rel=1e-8)
        assert quantities.read_span(text, unit) == (quantities.read(text, unit),) * 3


def test_the_table_of_typed_texts_in_v8(v8):
    asked = [[name, [row["text"], row["unit"], chosen]]
             for row in TYPED for name in ("value", "span", "reading") for chosen in ("", row["unit"])]  # fmt: skip
    assert in_v8(v8, asked) == in_python(asked)


NUMBERS = ["5", "0.5", "0,5", "75,3", "1,234", "1.234,5", "1e-3", "2e999", "1/2", "1 1/2", "½", "1.2×10⁻³", "10⁻³", ".5",
           "5.", ",5", "-4", "−4", "–4", "+3", "007", "1 000", "1\u202f000", "５", "٥", "nan", "1e", "1.5/2"]  # fmt: skip
JOINTS = [" ", "", "\u00a0", "\u2009", "  ", "\t", "\n", "-", "–", " to ", ",", ", ", ";", "/", "(", ")", " (", "±", "^", "*",
          "×", " per ", "'", '"', "<", "below "]  # fmt: skip
JUNK = ["x", "mm3/s", "𝟓", "\ud83d", "é", "＋", "\u202e", "__proto__", "constructor", "toString", "e5", "::", "İ", "ß", "\x00",
        "deg", "°", "²", "⁻¹", "None", "of", "M", "oz"]  # fmt: skip


@pytest.mark.long
def test_ten_thousand_generated_texts_are_read_alike(v8):
    dice = random.Random(20)
    units = list(reading.UNITS)
    names = [*units, *reading.SPELLINGS]

    def word():
        return dice.choice(dice.choices([NUMBERS, names, JOINTS, JUNK], weights=[4, 4, 4, 1])[0])

    def text(unit):
        fit = [n for n in names if reading.UNITS[reading.SPELLINGS.get(n, n)][0] == reading.UNITS[unit][0]]
        kind = dice.random()
        if kind < 0.3:
            return dice.choice(NUMBERS) + dice.choice(["", " ", "\u00a0"]) + dice.choice(fit)
        if kind < 0.45:
            a, b, c = (f"{dice.uniform(0, 50):.{dice.randint(0, 9)}g}" for _ in range(3))
            return f"{a} {dice.choice(fit)} ({b} to {c}{dice.choice(['', ' ' + dice.choice(fit)])})"
        if kind < 0.55:
            return f"{dice.randint(0, 9)} {dice.choice(fit)} {dice.uniform(0, 70):.3g} {dice.choice(fit)}"
        return "".join(word() for _ in range(dice.randint(1, 7)))

    asked = []
    for _ in range(GENERATED):
        unit = dice.choice(units)
        typed = text(unit)
        asked.append([dice.choice(["value", "span", "reading"]), [typed, unit, dice.choice(["", unit])]])
    asked += [
        [name, [given[0], 2]]
        for name, given in list(zip(["rows"] * 2000, (a[1] for a in asked), strict=False))
    ]
    asked += [["number_apart", given[:2]] for _, given in asked[:2000]]
    ours, theirs = in_python(asked), in_v8(v8, asked)
    for question, our, their in zip(asked, ours, theirs, strict=True):
        assert our == their, question
    read = [answer for answer in ours[:GENERATED] if answer[0] != "fault"]
    assert GENERATED / 10 < len(read) < GENERATED * 0.9
    assert all(abs(number) <= reading.LARGEST for answer in read for number in answer[1:])


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ("0 h 120.5 g; 24 h 120.4 g", [["0 h", "120.5 g"], ["24 h", "120.4 g"]]),
        ("0 h 75,3 g\n1 d 75,2 g", [["0 h", "75,3 g"], ["1 d", "75,2 g"]]),
        ("0 h, 75,3 g", [["0 h", "75,3 g"]]),
        ("0 h,120.5 g", [["0 h", "120.5 g"]]),
        ("0\t75,3\r\n24\t75,2", [["0", "75,3"], ["24", "75,2"]]),
        ("0;75,3\n24;75,2", [["0", "75,3"], ["24", "75,2"]]),
        ("1 h 30 min, 120 g", [["1 h 30 min", "120 g"]]),
        ("3 d < 5 mg/L", [["3 d", "< 5 mg/L"]]),
        ("below 5 mg/L 3 d", [["below 5 mg/L", "3 d"]]),
        ("0.5 1/d 3 g", [["0.5 1/d", "3 g"]]),
        ("none 3 g", [["none", "3 g"]]),
    ],
)
def test_a_line_is_split_into_entries(v8, text, rows):
    assert quantities.read_rows(text, 2) == rows
    asked = [["rows", [text, 2]], ["cells", [text]]]
    assert in_v8(v8, asked) == [["rows", *rows], rows]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("0 h 1,234 g", "'1,234' could be 1234 or 1.234"),
        ("0,75", "has 1 entries in row 1 (a comma between digits is a decimal comma"),
        ("1 h 30 min 120 g", "has 3 entries in row 1 (part entries by ', ' or a tab"),
    ],
)
def test_a_row_that_may_mean_two_things_is_refused_with_the_reason(text, says):
    field = Rows(
        "weighings",
        "",
        columns=(Quantity("time", "", unit="h", high=9), Quantity("mass", "", unit="g", high=9)),
    )
    with pytest.raises(ValueError, match=re.escape(says) + ".*allowed is"):
        field.read_optional(text)


def test_every_spelling_is_of_the_table_and_hides_no_unit():
    for written, unit in reading.SPELLINGS.items():
        assert unit in reading.UNITS, written
        assert reading.UNITS.get(written, reading.UNITS[unit]) == reading.UNITS[unit], written
        assert reading.unit_named(reading.plain(written)[1]) == unit, written


def test_every_unit_is_read_as_it_is_and_as_it_is_printed():
    for unit in reading.UNITS:
        if unit != "1":
            assert quantities.read(f"3 {unit}", unit) == 3.0
        if unit != "1" and "(" not in quantities.label(unit):
            assert quantities.read(f"3 {quantities.label(unit)}", unit) == 3.0
