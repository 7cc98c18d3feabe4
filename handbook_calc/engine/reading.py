"""Read what a person types: numbers, units, spans and rows, in the reader's part of the subset.

The command line, the house standard, a piece's file and the page read with these very functions (the
page has them translated), so that the same texts are accepted and the same words refused. They raise
nothing: each returns a list that begins with ``fault`` and the words, or with the name of what was read.
`quantities` raises the fault for Python.

What is decided here:

- A comma between digits is a decimal comma where it cannot part thousands: ``0,5``, ``75,3``, ``0,125``.
  ``1,234`` is refused, because it may be 1234 or 1.234. No sign parts thousands.
- ``1/2 in``, ``1 1/2 in`` and ``1½ in`` are fractions; ``1 h 30 min`` and ``5 ft 3 in`` are one quantity
  of one dimension, in falling units, where each but the last is a whole number.
- A span is the value, then low and high: ``4 mm (2 mm to 8 mm)``, ``4 mm (2 to 8)``, ``4 (2 to 8) mm``.
- The units are those of ``data/units.csv``, in the spellings of ``data/spellings.csv``. A name of three
  or more letters may have capitals; shorter ones may not, as ``mS`` and ``ms`` differ.
- ``gal``, ``quart``, ``pint`` and ``floz`` are the US measures; ``oz`` alone is refused, being three units.
- A share takes ``%`` or ``ppm`` or no unit, a count takes none, and everything else needs its unit.
- In rows a comma directly between digits is a decimal comma, so entries are parted by a tab, by a comma
  with a blank, or by the next number.
"""

import csv
from pathlib import Path

from handbook_calc.engine.numerals import rescale

DATA = Path(__file__).parent.parent / "data"


def _rows(name: str) -> list[dict]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


_TABLE = _rows("units.csv")
# The dimensions by number, which the page's script holds in fewer signs than by their names.
DIMENSIONS = list(dict.fromkeys(row["dimension"] for row in _TABLE))
LENGTH = DIMENSIONS.index("[length]")
DIMENSIONLESS = DIMENSIONS.index("dimensionless")
# Unit -> dimension, factor, offset: base value = written value * factor + offset.
UNITS = {
    row["unit"]: [DIMENSIONS.index(row["dimension"]), float(row["factor"]), float(row["offset"])]
    for row in _TABLE
}
# Names of three or more letters are kept in small letters; see `simple`.
SPELLINGS = {
    row["written"] if len(row["written"]) < 3 else row["written"].lower(): row["unit"]
    for row in _rows("spellings.csv")
}
# Everything that may be suggested: a list, because the subset cannot walk a dict.
NAMES = [*UNITS, *SPELLINGS]
SHARES = ("%", "ppm")

DIGITS = tuple("0123456789")
LETTERS = tuple("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ")
LOWER = {capital: capital.lower() for capital in "ABCDEFGHIJKLMNOPQRSTUVWXYZ"}
BLANKS = tuple(" \t\r\n\v\f\u0085\u00a0\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008"
               "\u2009\u200a\u2028\u2029\u202f\u205f\u3000")  # fmt: skip
OTHER_DIGITS = tuple("０１２３４５６７８９٠١٢٣٤٥٦٧٨٩۰۱۲۳۴۵۶۷۸۹०१२३४५६७८९")
RAISED = {"⁰": "0", "¹": "1", "²": "2", "³": "3", "⁴": "4", "⁵": "5", "⁶": "6", "⁷": "7", "⁸": "8", "⁹": "9",
          "⁻": "-", "⁺": "+"}  # fmt: skip
# Signs that mean the same as plain ones. The middle dot of a unit and the cross of a power are both '*'.
SIGNS = {
    "−": "-", "‐": "-", "‑": "-", "—": "–", "‒": "–", "\u00b5": "u", "\u03bc": "u", "°": "deg", "º": "deg",
    "℃": "degC", "℉": "degF", "·": "*", "⋅": "*", "×": "*", "\u03a9": "ohm", "\u2126": "ohm",
    "⁄": "/", "∕": "/", "÷": "/", "″": '"',
    "“": '"', "”": '"', "′": "'", "’": "'", "‘": "'", "％": "%",
    "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅓": " 1/3", "⅔": " 2/3",
    "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
}  # fmt: skip
OUNCES = (
    "is ambiguous, 'oz' can be three units: write 'oz_avdp' (28.3495 g), 'ozt' (troy, 31.1035 g) "
    "or 'floz' (US fluid ounce, 29.5735 mL)"
)
AMBIGUOUS = {
    "oz": OUNCES,
    "ounce": OUNCES,
    "ounces": OUNCES,
    "ozs": OUNCES,
    "oz.": OUNCES,
    "gr": "is ambiguous, 'gr' can be grams or grains: write 'g' or 'grain' (0.0648 g)",
    "grs": "is ambiguous, 'grs' can be grams or grains: write 'g' or 'grain' (0.0648 g)",
    "ton": "is ambiguous, 'ton' can be three units: write kilograms",
    "tons": "is ambiguous, 'tons' can be three units: write kilograms",
    "cup": "is ambiguous, cups differ from country to country: write 'mL' or 'floz'",
    "cups": "is ambiguous, cups differ from country to country: write 'mL' or 'floz'",
    "tsp": "is ambiguous, spoons differ from country to country: write 'mL'",
    "tbsp": "is ambiguous, spoons differ from country to country: write 'mL'",
    "teaspoon": "is ambiguous, spoons differ from country to country: write 'mL'",
    "tablespoon": "is ambiguous, spoons differ from country to country: write 'mL'",
    "month": "is ambiguous, months have 28 to 31 days: write days or weeks",
    "months": "is ambiguous, months have 28 to 31 days: write days or weeks",
    "'": "is ambiguous, ' can be a foot or a minute: write 'ft' or 'min'",
    '"': "is ambiguous, \" can be an inch or a second: write 'in' or 's'",
}
LENGTH_MARKS = {"'": "ft", '"': "in"}
LONGEST_TEXT = 10_000
LONGEST_UNIT = 40
MOST_FITTING = 8
LARGEST = 1.7976931348623157e308
NOT_A_NUMBER = "is not a number with a unit"
NOT_ONE = "is not one number; write a decimal point and no thousands separator"


# --- signs ---


def plain(written):
    """Return a text in the signs that the rest of this module reads, blanks alike and one at a time."""
    if len(written) > LONGEST_TEXT:
        return ["fault", NOT_A_NUMBER]
    text = ""
    raised = False
    for i in range(len(written)):
        sign = written[i]
        if sign in OTHER_DIGITS:
            return ["fault", NOT_A_NUMBER + "; write the plain digits 0 to 9"]
        if sign >= "\ud800":
            return ["fault", NOT_A_NUMBER + "; it holds a sign that no number or unit has"]
        if sign in RAISED:
            text = text + (RAISED[sign] if raised else "^" + RAISED[sign])
            raised = True
        else:
            raised = False
            if sign in BLANKS:
                if text != "" and text[len(text) - 1 :] != " ":
                    text = text + " "
            elif sign in SIGNS:
                text = text + SIGNS[sign]
            else:
                text = text + sign
    return ["text", trimmed(text)]


def trimmed(text):
    """Return a text without blanks at its ends."""
    start = 0
    end = len(text)
    while start < end and text[start] in BLANKS:
        start = start + 1
    while end > start and text[end - 1] in BLANKS:
        end = end - 1
    return text[start:end]


def lowered(text):
    """Return a text with small letters for capitals."""
    small = ""
    for i in range(len(text)):
        small = small + (LOWER[text[i]] if text[i] in LOWER else text[i])
    return small


def after_blanks(text, start):
    """Return the place of the first sign from `start` on that is no blank."""
    place = start
    while text[place : place + 1] == " ":
        place = place + 1
    return place


def after_digits(text, start):
    """Return the place of the first sign from `start` on that is no digit."""
    place = start
    while text[place : place + 1] in DIGITS:
        place = place + 1
    return place


def quoted(text):
    """Return a text in quotes, cut where it would bury the rest of a message."""
    return "'" + (text if len(text) <= LONGEST_UNIT else text[0:LONGEST_UNIT] + "...") + "'"


# --- numbers ---


def decimal(run):
    """Return a run of digits, points and commas as a plain decimal, or why it is not one."""
    commas = 0
    points = 0
    place = 0
    for i in range(len(run)):
        if run[i] == ",":
            commas = commas + 1
            place = i
        elif run[i] == ".":
            points = points + 1
    if commas == 0 and points <= 1:
        return ["number", run]
    if commas > 0 and points > 0:
        return ["fault", NOT_ONE + " (" + quoted(run) + " has both a comma and a point)"]
    if commas != 1:
        return ["fault", NOT_ONE]
    head = run[0:place]
    tail = run[place + 1 :]
    if head == "" or tail == "":
        return ["fault", NOT_ONE + " (a comma stands between digits, as in 0,5)"]
    if len(tail) == 3 and len(head) <= 3 and head[0] != "0":
        either = head + tail + " or " + head + "." + tail
        return ["fault", "is not one number: " + quoted(run) + " could be " + either + "; write " + either]
    return ["number", head + "." + tail]


def numeral(text, start):
    """Return the number that begins at a place: value, end, its text, whether it is whole."""
    end = start
    while text[end : end + 1] in DIGITS or (
        text[end : end + 1] in (".", ",")
        and (text[end + 1 : end + 2] in DIGITS or (end > start and text[end : end + 1] == "."))
    ):
        end = end + 1
    if end == start:
        return ["fault", NOT_A_NUMBER]
    found = decimal(text[start:end])
    if found[0] == "fault":
        return found
    digits = found[1]
    whole = len(digits) == after_digits(digits, 0)
    if after_digits(digits, 0) == 0 and len(digits) == 1:
        return ["fault", NOT_A_NUMBER]
    power = exponent(text, end, digits)
    if power[0] == "power":
        value = float(("1" if power[3] else digits) + "e" + power[1])
        end = power[2]
        whole = False
    else:
        value = float(digits)
    if value > LARGEST:
        return ["fault", "is not a finite number"]
    if whole and text[end : end + 1] == "/" and text[end + 1 : end + 2] in DIGITS:
        return fraction(text, start, start, 0.0)
    next_digit = after_blanks(text, end)
    slash = after_digits(text, next_digit)
    if (
        whole
        and slash > next_digit > end
        and text[slash : slash + 1] == "/"
        and text[slash + 1 : slash + 2] in DIGITS
    ):
        return fraction(text, start, next_digit, value)
    return ["number", value, end, text[start:end], whole]


def exponent(text, start, digits) -> list:
    """Return the power of ten behind a number: ``e-3``, ``×10⁻³``, or a number 10 that is itself raised."""
    end = start
    raised = False
    sign = text[start : start + 1]
    if sign == "e" or sign == "E":
        end = start + 1
    elif sign == "^" and digits == "10":
        raised = True
        end = start + 1
    else:
        end = after_blanks(text, start)
        if text[end : end + 1] not in ("*", "x"):
            return ["none"]
        end = after_blanks(text, end + 1)
        if text[end : end + 3] != "10^":
            return ["none"]
        end = end + 3
    first = end
    if text[end : end + 1] in ("-", "+"):
        first = end + 1
    last = after_digits(text, first)
    if last == first:
        return ["none"]
    return ["power", text[end:last], last, raised]


def fraction(text, start, top, whole):
    """Return a fraction, and the whole number before it: ``1/2``, ``1 1/2``."""
    slash = after_digits(text, top)
    end = after_digits(text, slash + 1)
    above = float(text[top:slash])
    below = float(text[slash + 1 : end])
    shown = text[start:end]
    if below == 0 or slash - top > 3 or end - slash > 4 or text[end : end + 1] in (".", ",", "/", "e", "E"):
        return [
            "fault",
            "is not one number; " + quoted(shown) + " is no fraction of two whole numbers, as 1/2 is",
        ]
    if top > start and above >= below:
        return ["fault", "is not one number; the fraction in " + quoted(shown) + " is more than one"]
    return ["number", whole + above / below, end, shown, False]


# --- units ---


def simple(name):
    """Return the unit that a single name stands for, or an empty text."""
    if name in UNITS:
        return name
    if name in SPELLINGS:
        return SPELLINGS[name]
    if len(name) < 3:
        return ""
    small = lowered(name)
    if small in UNITS:
        return small
    return SPELLINGS[small] if small in SPELLINGS else ""  # noqa: SIM401


def powered(name):
    """Return the unit of a name, its square or cube (``cm2``, ``sq cm``, ``inches^2``), or an empty text."""
    unit = simple(name)
    if unit != "":
        return unit
    base = ""
    power = ""
    if name[0:3] == "sq " or name[0:4] == "sq. " or name[0:7] == "square ":
        base = name[7:] if name[0:7] == "square " else name[after_blanks(name, 3) :]
        power = "2"
    elif name[0:3] == "cu " or name[0:4] == "cu. " or name[0:6] == "cubic ":
        base = name[6:] if name[0:6] == "cubic " else name[after_blanks(name, 3) :]
        power = "3"
    elif name[len(name) - 1 :] in ("2", "3") and len(name) > 1:
        power = name[len(name) - 1 :]
        base = name[0 : len(name) - 1]
        if base[len(base) - 1 :] == "^":
            base = base[0 : len(base) - 1]
        if base[len(base) - 1 :] == "*" and base[len(base) - 2 : len(base) - 1] == "*":
            base = base[0 : len(base) - 2]
    if base == "":
        return ""
    unit = simple(base)
    if unit == "inch":
        unit = "in"
    unit = unit + "^" + power
    return unit if unit in UNITS else ""


def unit_named(written):
    """Return the unit of the table that a text names, or an empty text.

    A unit made of others is looked up by its parts: ``mg per litre``, ``W/(m²·K)``, ``g cm⁻³``.
    """
    if written == "":
        return "1"
    unit = powered(written)
    if unit != "":
        return unit
    if len(written) > LONGEST_UNIT:
        return ""
    above = ""
    below = ""
    turned = ""
    name = ""
    under = False
    inside = False
    i = 0
    while i <= len(written):
        sign = written[i : i + 1]
        word = written[i : i + 5] == " per "
        if sign == "" or sign == "/" or sign == "(" or sign == ")" or word:
            found = product(trimmed(name))
            if found[0] == "fault":
                return ""
            for part in range(1, len(found)):
                over = found[part][0] == "above" and not under
                above = joined(above, found[part][1]) if over else above
                below = below if over else below + "/" + found[part][1]
                turned = turned if over else "/" + found[part][1] + turned
            name = ""
            if word:
                i = i + 4
            if sign == "(":
                inside = True
            elif sign == ")":
                inside = False
            elif not inside:
                under = True
            elif sign == "/" or word:
                return ""
        else:
            name = name + sign
        i = i + 1
    if inside or (above == "" and below == ""):
        return ""
    if above == "":
        above = "1"
    if above + below in UNITS:
        return above + below
    if above + turned in UNITS:
        return above + turned
    if above in ("degC", "K") and "delta_degC" + below in UNITS:
        return "delta_degC" + below
    return "delta_degF" + below if above == "degF" and "delta_degF" + below in UNITS else ""


def joined(left, right):
    """Return two products as one."""
    return left + "*" + right if left != "" and right != "" else left + right


def product(name):
    """Return the units of a product, each with ``above``, or ``below`` where it is raised to a minus."""
    if name == "" or name == "1":
        return ["product"]
    unit = powered(name)
    if unit != "":
        return ["product", ["above", unit]]
    found = ["product"]
    part = ""
    for i in range(len(name) + 1):
        sign = name[i : i + 1]
        if sign == "" or sign == " " or sign == "*":
            if part != "":
                cut = len(part) - 3
                side = "above"
                if cut > 0 and part[cut : cut + 2] == "^-":
                    side = "below"
                    power = part[cut + 2 :]
                    part = part[0:cut] if power == "1" else part[0:cut] + "^" + power
                unit = powered(part)
                if unit == "":
                    return ["fault"]
                found.append([side, unit])  # pyright: ignore[reportArgumentType]  lists follow the word
            part = ""
        else:
            part = part + sign
    return found


def fits(unit, declared):
    """Tell whether a written unit may stand where a unit is declared."""
    if UNITS[unit][0] != UNITS[declared][0]:
        return False
    if UNITS[unit][0] != DIMENSIONLESS or unit == declared:
        return True
    if declared == "1" or unit == "1":
        return False
    return unit in SHARES or declared not in SHARES


def fitting(declared):
    """Return the units that fit a declared one, as a message lists them."""
    listed = ""
    count = 0
    for i in range(len(NAMES)):
        name = NAMES[i]
        shown = name in UNITS and name[0:6] != "delta_" and name != "inch"
        alike = "/" in declared or "/" not in name
        if shown and alike and count < MOST_FITTING and fits(difference_of(name, declared), declared):
            listed = listed + (", " if listed != "" else "") + name
            count = count + 1
    return listed


def difference_of(unit, declared):
    """Return the unit as a difference of temperature where one is declared: nothing else could be meant."""
    if declared in ("delta_degC", "delta_degF"):
        if unit in ("degC", "K"):
            return "delta_degC"
        if unit == "degF":
            return "delta_degF"
    return unit


def distance(left, right):
    """Return how many signs must be changed, put in or left out to make one text of another."""
    row = [0]
    for j in range(len(right)):
        row.append(j + 1)
    for i in range(len(left)):
        following = [i + 1]
        for j in range(len(right)):
            change = 0 if left[i] == right[j] else 1
            following.append(min(row[j] + change, row[j + 1] + 1, following[j] + 1))
        row = following
    return row[len(right)]


def nearest(written, declared):
    """Return the spelling closest to what was written that fits a declared unit, or an empty text."""
    best = ""
    least = 2 if len(written) > 4 else 1
    least = least + 1
    small = lowered(written)
    for i in range(len(NAMES)):
        name = NAMES[i]
        unit = name if name in UNITS else SPELLINGS[name]
        apart = len(name) - len(written)
        if -3 < apart < 3 and fits(difference_of(unit, declared), declared):
            steps = distance(small, lowered(name))
            if steps < least and steps < len(name):
                best = name
                least = steps
    return best


def unit_for(written, declared, shown, chosen):
    """Return the unit that stands behind a number, held to what a declared unit allows.

    Arguments:
        written: as it stands behind the number; may be empty.
        declared: unit of the calculation or house value.
        shown: the number as written, for an example.
        chosen: the unit beside a field of the page, which a bare number takes; else empty.
    """
    if written == "":
        if chosen != "":
            return ["unit", chosen]
        if declared == "1" or declared == "%":
            return ["unit", declared]
        example = declared[6:] if declared[0:6] == "delta_" else declared
        return ["fault", "has no unit; write for example '" + shown + " " + example + "'"]
    if written in LENGTH_MARKS and UNITS[declared][0] == LENGTH:
        return ["unit", LENGTH_MARKS[written]]
    small = lowered(written)
    if small in AMBIGUOUS:
        return ["fault", AMBIGUOUS[small]]
    unit = unit_named(written)
    if unit == "" or unit == "1":
        close = nearest(written, declared)
        asked = "; did you mean '" + close + "'?" if close != "" else ""
        if declared == "1":
            return [
                "fault",
                "has the unknown unit " + quoted(written) + ", where a number without a unit is wanted",
            ]
        asked = asked + (" Or write " if close != "" else "; write ")
        fit = "a unit that converts to '" + declared + "': " + fitting(declared)
        return ["fault", "has the unknown unit " + quoted(written) + asked + fit]
    unit = difference_of(unit, declared)
    if declared == "1":
        return ["fault", "is in " + quoted(written) + ", where a number without a unit is wanted"]
    if not fits(unit, declared):
        return ["fault", "is in " + quoted(written) + ", which does not convert to '" + declared + "'"]
    return ["unit", unit]


def rescaled(number, unit, declared):
    """Return a number of one unit in another of the same dimension."""
    if unit == declared:
        return number
    return rescale(number, UNITS[unit][1], UNITS[unit][2], UNITS[declared][1], UNITS[declared][2])


# --- quantities ---


def starts_number(text, place):
    """Tell whether a number begins at a place: not the 1 of a unit such as 1/d."""
    sign = text[place : place + 1]
    if sign == "." or sign == ",":
        return text[place + 1 : place + 2] in DIGITS
    if sign == "1" and text[place + 1 : place + 2] == "/" and text[place + 2 : place + 3] in LETTERS:
        return False
    return sign in DIGITS


def unit_end(text, start):
    """Return where the unit that begins at `start` ends: at the next number or the end of the text."""
    inner = 0
    for i in range(start, len(text)):
        if starts_number(text, i):
            before = text[i - 1 : i] if i > start else ""
            if before in (" ", "'", '"'):
                return i
            if before in LETTERS and inner == 0 and text[after_digits(text, i) :][0:1] in LETTERS:
                inner = i  # 1h30min, and not mm3/s
    if inner > 0 and unit_named(trimmed(text[start:])) == "" and unit_named(text[start:inner]) != "":
        return inner
    return len(text)


def second_number(text, place):
    """Return why what follows a number is another one, or an empty text."""
    rest = text[place:]
    at = after_blanks(text, place)
    sign = text[at : at + 1]
    if sign == "±" or text[at : at + 2] == "+-" or text[at : at + 3] == "+/-":
        return "is written with ±; where a span is allowed, write value, low and high, as '4 mm (3 to 5)'"
    behind = after_blanks(text, at + 1)
    if sign in ("-", "+", "–") and (starts_number(text, behind)):
        if sign == "–" or sign == "-":
            return NOT_ONE + "; a span is written behind its value, as '4 mm (3 to 5)'"
        return NOT_ONE
    if text[at : at + 3] == "to " and starts_number(text, at + 3):
        return NOT_ONE + "; a span is written behind its value, as '4 mm (3 to 5)'"
    if starts_number(text, at) and rest != "":
        return NOT_ONE
    if sign == "/" and starts_number(text, at + 1):
        return NOT_ONE
    if sign in (",", ".") and starts_number(text, after_blanks(text, at + 1)):
        return NOT_ONE
    return ""


def parts(text) -> list:
    """Return the numbers of one quantity, each with the unit as written: [value, unit, text, whole].

    Behind ``parts`` stands the sign as 1 or -1, then one list a number: one, or several in ``1 h 30 min``.
    """
    factor = 1
    place = 0
    if text[0:1] in ("-", "–"):
        factor = -1
        place = after_blanks(text, 1)
    elif text[0:1] == "+":
        place = after_blanks(text, 1)
    found = ["parts", factor]
    while place < len(text) or len(found) == 2:
        number = numeral(text, place)
        if number[0] == "fault":
            return number
        place = number[2]
        again = second_number(text, place)
        if again != "":
            return ["fault", again]
        start = after_blanks(text, place)
        end = unit_end(text, start)
        unit = trimmed(text[start:end])
        if len(found) > 2 and unit == "":
            return ["fault", NOT_ONE + " (" + quoted(number[3]) + " has no unit)"]
        if unit != "" and unit[len(unit) - 1 :] in ("-", "–", "±", ",") and end < len(text):
            return ["fault", NOT_ONE + "; a span is written behind its value, as '4 mm (3 to 5)'"]
        found.append([number[1], unit, number[3], number[4]])
        place = end
        if len(found) > 5:
            return ["fault", NOT_ONE]
    return found


def quantity(text, declared, chosen) -> list:
    """Return a plain text as a number in the declared unit: ``["value", number]`` or a fault."""
    found = parts(text)
    if found[0] == "fault":
        return found
    total = 0.0
    before = ""
    for i in range(2, len(found)):
        part = found[i]
        unit = unit_for(part[1], declared, part[2], chosen)
        if unit[0] == "fault":
            if i > 2 or len(found) == 3:
                return unit
            return ["fault", unit[1] if unit_named(part[1]) != "" or part[1] in AMBIGUOUS else
                    unit[1] + "; or part the numbers"]  # fmt: skip
        name = unit[1]
        if before != "":
            size = UNITS[name][1]
            larger = UNITS[before][1]
            if UNITS[name][2] != 0 or size >= larger or UNITS[name][0] == DIMENSIONLESS:
                return [
                    "fault",
                    NOT_ONE + "; several numbers make one quantity only in falling units, as 1 h 30 min",
                ]
            if not found[i - 1][3]:
                return [
                    "fault",
                    NOT_ONE + "; of several numbers only the last may have decimals, as in 1 h 2.5 min",
                ]
            if part[0] * size >= larger * 0.999999999999:
                return ["fault", "is not one quantity: " + part[2] + " " + part[1] + " is as much as 1 "
                        + found[i - 1][1] + " or more; write one unit"]  # fmt: skip
        before = name
        value = found[1] * part[0] if part[0] != 0 else 0.0
        total = total + rescaled(value, name, declared) if i > 2 else rescaled(value, name, declared)
    if not -LARGEST <= total <= LARGEST:
        return ["fault", "is not a finite number"]
    return ["value", total]


def bracket(text):
    """Return the place of the bracket that opens a span, or -1: a unit's bracket holds no number."""
    for i in range(1, len(text)):
        if text[i] == "(" and text[i - 1] not in ("*", "^", "/"):
            after = after_blanks(text, i + 1)
            if text[after : after + 1] in ("-", "–", "+"):
                after = after_blanks(text, after + 1)
            if starts_number(text, after):
                return i
    return -1


def value(written, declared, chosen) -> list:
    """Return what a person wrote as one number in the declared unit: ``["value", number]`` or a fault."""
    text = plain(written)
    if text[0] == "fault":
        return text
    if bracket(text[1]) > 0:
        return ["fault", "is a value with a span, where one value is wanted; write it without the brackets"]
    return quantity(text[1], declared, chosen)


def span(written, declared, chosen):
    """Return a value with its span in the declared unit: ``["span", value, low, high]`` or a fault.

    A value without brackets is given as its own low and high.
    """
    found = plain(written)
    if found[0] == "fault":
        return found
    text = found[1]
    opening = bracket(text)
    if opening < 0:
        single = quantity(text, declared, chosen)
        return single if single[0] == "fault" else ["span", single[1], single[1], single[1]]
    closing = opening
    middle = 0
    width = 0
    while closing < len(text) and text[closing] != ")":
        if middle == 0 and text[closing : closing + 4] == " to ":
            middle = closing
            width = 4
        elif middle == 0 and text[closing] == "–" and text[closing - 1] != "(":
            middle = closing
            width = 1
        closing = closing + 1
    how = "; write value, low and high as '4 mm (3 mm to 5 mm)' or '4 mm (3 to 5)'"
    if closing == len(text) or middle == 0:
        return ["fault", "is not a value with a span" + how]
    head = trimmed(text[0:opening])
    first = trimmed(text[opening + 1 : middle])
    last = trimmed(text[middle + width : closing])
    behind = trimmed(text[closing + 1 :])
    ends = [head, first, last]
    units = []
    for i in range(3):
        split = parts(ends[i])
        if split[0] == "fault":
            return [
                "fault",
                split[1]
                if i == 0
                else "has a span whose " + ("low" if i == 1 else "high") + " end " + split[1],
            ]
        units.append(split[2][1])
    if behind != "" and (units[0] != "" or units[1] != "" or units[2] != ""):
        return ["fault", "has a unit behind its span and another inside" + how]
    if units[1] == "":
        units = [units[0], units[2], units[2]]
    common = behind if behind != "" else units[0]
    values = []
    for i in range(3):
        own = ends[i]
        if units[i] == "":
            bare = units[1] if i == 1 and units[1] != "" else common
            own = own + (" " + bare if bare != "" else "")
        elif i == 1 and parts(own)[2][1] == "":
            own = own + " " + units[1]
        single = quantity(own, declared, chosen)
        if single[0] == "fault":
            return [
                "fault",
                single[1]
                if i == 0
                else "has a span whose " + ("low" if i == 1 else "high") + " end " + single[1],
            ]
        values.append(single[1])
    if not values[1] <= values[0] <= values[2]:
        return ["fault", "is not between the ends of its span; write value, then low, then high"]
    return ["span", values[0], values[1], values[2]]


def bound(written):
    """Return ``["below", rest]`` for a reading that the test did not reach, else ``["", text]``."""
    text = trimmed(written)
    if text[0:1] == "<":
        return ["below", trimmed(text[1:])]
    if text[0:5] == "below" and text[5:6] in BLANKS:
        return ["below", trimmed(text[5:])]
    return ["", text]


def reading(written, declared, chosen):
    """Return a test's reading, negative for a bound that it did not reach, as `value` does."""
    text = bound(written)
    found = value(text[1], declared, chosen)
    if found[0] == "fault":
        return found
    if found[1] < 0 or (text[0] == "below" and found[1] == 0):
        return ["fault", "is out of range"]
    return ["value", 0 - found[1]] if text[0] == "below" else found


def number_apart(written, declared):
    """Return the number of a quantity as written and its unit: ``["parts", "9.8×10¹", "cm^2"]``.

    The unit is empty behind a bare number; where there is no single number and known unit, the list is a
    fault. A bound keeps its ``below`` with the number.
    """
    text = bound(written)
    found = plain(text[1])
    if found[0] == "fault":
        return found
    split = parts(found[1])
    if split[0] == "fault":
        return split
    if len(split) > 3:
        return ["fault", NOT_ONE]
    unit = unit_for(split[2][1], declared, split[2][2], "1" if split[2][1] == "" else "")
    if unit[0] == "fault":
        return unit
    end = len(trimmed(written))
    whole = trimmed(written)
    if split[2][1] == "":
        return ["parts", whole, ""]
    # The unit begins behind the longest head of the text that is a number alone.
    while end > 1:
        end = end - 1
        head = trimmed(bound(whole[0:end])[1])
        if head != "":
            alone = plain(head)
            alone = parts(alone[1]) if alone[0] == "text" else alone
            if alone[0] != "fault" and len(alone) == 3 and alone[2][1] == "" and alone[2][0] == split[2][0]:
                return ["parts", trimmed(whole[0:end]), unit[1]]
    return ["fault", NOT_ONE]


# --- rows ---


def rows(written, wanted):
    """Return the entries of each row, of which each must have `wanted`: ``["rows", ...]`` or a fault."""
    found = ["rows"]
    split = cells(written)
    for i in range(len(split)):
        if len(split[i]) != wanted:
            return ["fault", "has " + str(len(split[i])) + " entries in row " + str(i + 1) + why_not(written)]
        found.append(split[i])
    return found


def cells(written):
    """Return the entries of each row of a text.

    Rows end at a semicolon or a line end. Where each line is single numbers parted by semicolons, as a
    spreadsheet with decimal commas writes them, the semicolons part entries.
    """
    apart = single_numbers(written)
    found = []
    line = ""
    row = []
    for i in range(len(written) + 1):
        sign = written[i : i + 1]
        ends = sign == "" or sign == "\n" or sign == "\r"
        if ends or sign == ";":
            if apart:
                if trimmed(line) != "":
                    row.append(trimmed(line))
            elif trimmed(line) != "":
                found.append(entries(line))
            if ends and len(row) > 0:
                found.append(row)
                row = []
            line = ""
        else:
            line = line + sign
    return found


def single_numbers(written):
    """Tell whether a text is of several lines, each of single entries parted by semicolons."""
    lines = 0
    line = ""
    count = 0
    for i in range(len(written) + 1):
        sign = written[i : i + 1]
        ends = sign == "" or sign == "\n" or sign == "\r"
        if ends or sign == ";":
            if trimmed(line) != "":
                if len(entries(line)) != 1:
                    return False
                count = count + 1
            if ends and count > 0:
                if count < 2:
                    return False
                lines = lines + 1
                count = 0
            line = ""
        else:
            line = line + sign
    return lines > 1


def why_not(line):
    """Return why a row may have been split otherwise than it was meant."""
    for i in range(len(line)):
        if decimal_comma(line, i):
            return " (a comma between digits is a decimal comma; part entries by ', ' or a tab)"
    return " (part entries by ', ' or a tab where one holds several numbers)"


def decimal_comma(line, place):
    """Tell whether a comma stands directly between two digits."""
    return (
        line[place] == ","
        and place > 0
        and line[place - 1] in DIGITS
        and line[place + 1 : place + 2] in DIGITS
    )


def entries(line):
    """Return the entries of one row: parted by tabs, else by commas with a blank, else before each number."""
    tabs = False
    commas = False
    for i in range(len(line)):
        if line[i] == "\t":
            tabs = True
        if line[i] == "," and not decimal_comma(line, i):
            commas = True
    if not tabs and not commas:
        return numbers_apart(line)
    found = []
    cell = ""
    for i in range(len(line)):
        sign = line[i]
        if (tabs and sign == "\t") or (not tabs and sign == "," and not decimal_comma(line, i)):
            found.append(trimmed(cell))
            cell = ""
        else:
            cell = cell + sign
    found.append(trimmed(cell))
    return found


def numbers_apart(line):
    """Return the entries of a row without tabs and commas: each new number begins one."""
    found = []
    cell = ""
    word = ""
    for i in range(len(line) + 1):
        sign = line[i : i + 1]
        if sign == "" or sign in BLANKS:
            if word != "":
                begins = cell != "" and cell != "below" and cell != "<" and begins_entry(word)
                if begins:
                    found.append(cell)
                    cell = word
                else:
                    cell = word if cell == "" else cell + " " + word
            word = ""
        else:
            word = word + sign
    if cell != "":
        found.append(cell)
    return found


def begins_entry(word):
    """Tell whether a word of a row begins a new entry."""
    if word in ("below", "none", "no") or word[0:1] == "<":
        return True
    return starts_number(word, 1 if word[0:1] in ("-", "+", "−") else 0)
