"""Units at the edges: read what people write, convert once, print what people read.

Inside a calculation there are plain floats in the units that its declaration names. What a person
writes is read by `reading`, which the page shares; here its faults become errors. The units are those
of ``data/units.csv``, whose factors a test compares with pint; nothing here imports pint.
"""

import json
import re
from functools import cache, lru_cache

from handbook_calc.engine import numerals, reading, spread

RAISED = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
# The unit a reader of US units wants, for each unit that has one; the rest are the same everywhere. Cylinders
# and pipettes are in millilitres there, too: two drops of acid are no 0.0034 US fl oz.
US_UNITS = {
    "g": "oz_avdp", "kg": "lb", "mm": "in", "cm": "in", "m": "ft", "um": "mil", "cm^2": "in^2",
    "m^2": "ft^2", "L": "gal", "cm^3": "in^3", "m^3": "ft^3", "degC": "degF",
    "delta_degC": "delta_degF", "delta_degC/h": "delta_degF/h", "m^3/h": "ft^3/min", "L/h": "gal/h",
    "m/s": "ft/min", "um/min": "mil/min",
}  # fmt: skip
LABELS = {
    "1": "",
    "oz_avdp": "oz (avoirdupois)",
    "ozt": "oz (troy)",
    "floz": "US fl oz",
    "mg/L/d^0.5": "mg/(L·√d)",
}


def known_units() -> dict[str, tuple[str, float, float]]:
    """Return unit -> (dimension, factor, offset): base value = written value * factor + offset."""
    return {unit: (reading.DIMENSIONS[row[0]], row[1], row[2]) for unit, row in reading.UNITS.items()}


def _given(found: list) -> list:
    """Return what was read, without its name; raise a fault."""
    if found[0] == "fault":
        raise ValueError(found[1])
    return found[1:]


def split(text: str) -> tuple[float, str]:
    """Split ``12.5 mm`` into 12.5 and ``mm``; ``1 h 30 min`` is 1.5 ``h``, and a span gives its value.

    Raises:
        ValueError: the text is not one finite number with at most one unit of the table.
    """
    (plain,) = _given(reading.plain(str(text)))
    place = reading.bracket(plain)
    behind = plain[plain.rfind(")") + 1 :] if place > 0 else ""
    sign, *found = _given(reading.parts((plain[:place] if place > 0 else plain).strip()))
    unit = normal_unit(found[0][1] or behind)
    if len(found) == 1:
        return sign * found[0][0], unit if unit != "1" else ""
    return read(str(text), unit), unit


@lru_cache(maxsize=1024)
def normal_unit(unit: str) -> str:
    """Return the unit in one spelling: ``°C`` -> ``degC``, ``µm`` -> ``um``, ``cm²`` -> ``cm^2``."""
    found = reading.plain(unit)
    return reading.unit_named(found[1]) or found[1] if found[0] == "text" else unit


def known(unit: str) -> str:
    """Return a unit of the table.

    Raises:
        ValueError: the table has no such unit.
    """
    if unit not in reading.UNITS:
        raise ValueError(f"unit '{unit}' is not in data/units.csv")
    return unit


def convert(number: float, written: str, declared: str) -> float:
    """Convert a number from one unit of the table to another; a bare share is taken as a percentage.

    Raises:
        ValueError: an unknown unit, or another dimension.
    """
    known(declared)
    unit = reading.difference_of(normal_unit(written), declared)
    if unit == "1" and declared == "%":
        return number
    if known(unit) != declared and reading.UNITS[unit][0] != reading.UNITS[declared][0]:
        raise ValueError(f"is in '{unit}', which does not convert to '{declared}'")
    return reading.rescaled(number, unit, declared)


@lru_cache(maxsize=8192)
def read(text: str, declared: str, chosen: str = "") -> float:
    """Read ``105 degC`` as a float in the declared unit.

    Arguments:
        text: as a person wrote it; see `reading` for what is taken.
        declared: unit of the calculation or house value.
        chosen: the unit over its column, which a bare number takes.

    Raises:
        ValueError: no unit where one is needed, an ambiguous or unknown unit, another dimension, or no
            single number; worded to follow the argument's name and value.
    """
    return float(_given(reading.value(str(text), known(declared), chosen))[0])


def read_span(text: str, declared: str) -> tuple[float, float, float]:
    """Read ``4 mm (2 to 8)`` as value, low and high in the declared unit; without brackets all three are one.

    Raises:
        ValueError: as `read`; or a value that is not between the ends of its span.
    """
    value, low, high = _given(reading.span(str(text), known(declared), ""))
    return float(value), float(low), float(high)


def read_reading(text: str, declared: str, chosen: str = "") -> float:
    """Read a test's reading as a float; ``below 5 mg/L`` is the negative of its bound.

    Raises:
        ValueError: as `read`; or a negative reading.
    """
    return float(_given(reading.reading(str(text), known(declared), chosen))[0])


def read_rows(text: str, wanted: int) -> list[list[str]]:
    """Split a text into the entries of each row, of which every row has `wanted`.

    Raises:
        ValueError: a row with another count of entries.
    """
    return _given(reading.rows(text, wanted))


@cache
def twin(unit: str) -> tuple[str, float, float]:
    """Return what a reader of US units wants for a unit of `US_UNITS`: the unit, factor and offset to it."""
    other = US_UNITS[unit]
    offset = convert(0.0, unit, other)
    factor = convert(1.0, unit, other) - offset
    return other, float(f"{factor:.12g}"), float(f"{offset:.12g}")


def us_script() -> str:
    """Return in JavaScript each unit in print with its twin, factor and offset: see docs/assets/us.js.

    In print a difference of temperature has the unit of a temperature.
    """
    found = {label(unit): twin(unit) for unit in US_UNITS if unit != "delta_degC"}
    told = {unit: [label(other), *scale] for unit, (other, *scale) in found.items()}
    return f"var HB=window.HB=window.HB||{{}};\nHB.twins={json.dumps(told, ensure_ascii=False)};\n"


@lru_cache(maxsize=1024)
def label(unit: str) -> str:
    """Return a unit as people read it: ``um`` -> ``µm``, ``delta_degC`` -> ``°C``, ``1`` -> nothing."""
    unit = normal_unit(unit)
    if unit in LABELS:
        return LABELS[unit]
    unit = unit.replace("delta_", "").replace("degC", "°C").replace("degF", "°F")
    unit = re.sub(r"\bum\b", "µm", unit).replace("^2", "²").replace("^3", "³").replace("*", "·")
    return re.sub(r"\bohm\b", "Ω", unit)


# A cell is printed for the page, and again for the search index.
_significant = lru_cache(maxsize=16384)(numerals.significant)
_interval_texts = lru_cache(maxsize=4096)(spread.interval_texts)


def significant(number: float, digits: int = 3) -> str:
    """Return a number to a count of significant digits; see `numerals.significant`."""
    return _significant(float(number), digits)  # a plain number, so that the cache keeps nothing else


def as_given(number: float) -> str:
    """Return a number that a person gave, without the zeros that rounding would add: ``0.1``."""
    mantissa, times, power = significant(number, 7).partition("×")
    mantissa = mantissa.rstrip("0").rstrip(".") if "." in mantissa else mantissa
    return f"{mantissa}{times}{power}"


# Where a sentence reads better in another unit: unit, below or from which value, the other unit.
HANDIER = (
    ("h", "from", 72.0, "d"),
    ("h", "below", 0.5, "min"),
    ("d", "below", 1.0, "h"),
    ("A", "below", 0.1, "mA"),
    ("L", "below", 0.1, "mL"),
)


def handy(number: float, unit: str) -> tuple[float, str]:
    """Return a quantity in the unit a sentence reads best in: 336 h as 14 d, 0.0049 A as 4.9 mA."""
    for given, side, edge, other in HANDIER:
        size = abs(number)
        if unit == given and size > 0 and (size >= edge if side == "from" else size < edge):
            return convert(number, unit, other), other
    return number, unit


def show(number: float, unit: str = "1", digits: int = 3, side: int = 0) -> str:
    """Return a number with its unit, joined by a no-break space: ``105 °C``.

    With 0 digits the number is printed as given, with no rounding and no added zeros. A `side` of 1 rounds
    up, -1 down, 0 to the nearest.
    """
    if digits and side:
        number = numerals.sided(float(number), digits, side)
    return with_label(significant(number, digits) if digits else as_given(number), unit)


def interval_texts(value: float, low: float, high: float, digits: int, side: int = 0) -> tuple[str, str, str]:
    """Return value, low and high to the digits that the interval bears; see `spread.interval_texts`."""
    text, below, above = _interval_texts(float(value), float(low), float(high), digits, side)
    return text, below, above


def show_interval(
    value: float, low: float, high: float, unit: str = "1", digits: int = 3, side: int = 0
) -> str:
    """Return a number to the digits that its interval bears: ``31 h (15 to 61)``.

    An interval too narrow to be seen in `digits` is left out.
    """
    text, below, above = interval_texts(value, low, high, digits, side)
    if text == below == above:
        return show(value, unit, digits, side)
    return f"{with_label(text, unit)} ({below} to {above})"


def show_span(value: float, low: float, high: float, unit: str = "1") -> str:
    """Return a value with its span, as given: ``4 mm (2 to 8)``."""
    return f"{show(value, unit, 0)} ({as_given(low)} to {as_given(high)})"


def with_label(text: str, unit: str) -> str:
    """Return a printed number with its unit, joined by a no-break space."""
    unit = label(unit)
    return f"{text}\u00a0{unit}" if unit else text
