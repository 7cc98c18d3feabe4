"""Units at the edges: read what people write, convert once, print what people read.

Inside a calculation there are plain floats in the units that its declaration names. This is the
only module that uses pint. Importing pint costs more than computing every table of the handbook,
so the units that the handbook itself uses are kept, with the factors that pint gives, in
``data/units.csv``; every other unit goes to pint, and a test compares each row with pint.
"""

import csv
import math
import re
from functools import cache
from pathlib import Path

from handbook_calc.engine import figures
from handbook_calc.engine.faults import brief

NUMBER = re.compile(r"\s*([+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)\s*(.*)", re.DOTALL)
# What a written unit is made of: names with a power of one digit, and what stands between them.
UNIT_PARTS = re.compile(r"[^\W\d]\w*(?:\^-?[1-9])?|^1(?=/)|[*/() %]")
LONGEST_UNIT = 60
RAISED = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
POWER = re.compile(r"\s*[×x]\s*10([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+)")
UNITS_FILE = Path(__file__).parent.parent / "data" / "units.csv"

SPELLINGS = (
    ("°", "deg"),
    ("µ", "u"),
    ("μ", "u"),
    ("²", "^2"),
    ("³", "^3"),
    ("·", "*"),
    ("Ω", "ohm"),
    ("**", "^"),
    ("US fl oz", "floz"),
    ("fl oz", "floz"),
    ("troy oz", "ozt"),
    ("oz t", "ozt"),
    ("oz avdp", "oz_avdp"),
    ("oz av", "oz_avdp"),
)
PINT_NAMES = {
    "%": "percent",
    "1": "dimensionless",
    "oz_avdp": "avoirdupois_ounce",
    "ozt": "troy_ounce",
    "floz": "US_fluid_ounce",
    "mil": "thou",
}
LABELS = {"1": "", "oz_avdp": "oz (avoirdupois)", "ozt": "oz (troy)", "floz": "US fl oz"}


@cache
def known_units() -> dict[str, tuple[str, float, float]]:
    """Return unit -> (dimension, factor, offset): base value = written value * factor + offset."""
    with UNITS_FILE.open(encoding="utf-8", newline="") as file:
        return {
            row["unit"]: (row["dimension"], float(row["factor"]), float(row["offset"]))
            for row in csv.DictReader(file)
        }


@cache
def registry():
    """Return pint's registry, made on first use.

    Its cache lies in the user's home. One that is damaged, locked away or not there at all, as for a service
    that has no home, costs time and nothing else.
    """
    import pint

    try:
        return pint.UnitRegistry(cache_folder=":auto:")
    except Exception:  # as many kinds as there are ways to break a file
        return pint.UnitRegistry()


def split(text: str) -> tuple[float, str]:
    """Split ``12.5 mm`` into 12.5 and ``mm``.

    Raises:
        ValueError: the text does not start with a finite decimal number.
    """
    plain = str(text).replace("−", "-")  # the sign that a word processor makes of a hyphen
    found = NUMBER.match(POWER.sub(lambda power: f"e{power[1].translate(RAISED)}", plain))
    if not found:
        raise ValueError("is not a number with a unit")
    number = float(found[1])
    if not math.isfinite(number):
        raise ValueError("is not a finite number")
    # A digit here is a second number, unless it is the one of a unit such as 1/d.
    if re.match(r"[.,]\d|(?!1/[A-Za-z])\d|\s*[-+]\s*\d|/\d", found[2]):
        raise ValueError("is not one number; write a decimal point and no thousands separator")
    return number, found[2].rstrip()


def normal_unit(unit: str) -> str:
    """Return the unit in one spelling: ``°C`` -> ``degC``, ``µm`` -> ``um``, ``cm²`` -> ``cm^2``."""
    for written, plain in SPELLINGS:
        unit = unit.replace(written, plain)
    return {"percent": "%", "": "1", "C": "degC", "F": "degF"}.get(unit.strip(), unit.strip())


def convert(number: float, written: str, declared: str) -> float:
    """Convert a number from a written unit to a declared one.

    Arguments:
        number: any finite number.
        written: unit as a person wrote it; empty only where the declared unit is ``1`` or ``%``.
        declared: unit of the calculation or house value.

    Returns:
        The number in the declared unit.

    Raises:
        ValueError: no unit where one is needed, an ambiguous or unknown unit, or another dimension.
    """
    unit = normal_unit(written)
    if unit == "1" and declared != "1":
        if declared == "%":
            return number
        raise ValueError(f"has no unit; write for example '{number:g} {declared}'")
    if declared.startswith("delta_") and unit in ("degC", "degF"):
        unit = "delta_" + unit
    if unit == declared:
        return number
    if unit in ("oz", "ounce", "ounces"):
        raise ValueError(
            "is ambiguous, 'oz' can be three units: write 'oz_avdp' (28.3495 g), 'ozt' (troy, 31.1035 g) "
            "or 'floz' (US fluid ounce, 29.5735 mL)"
        )
    table = known_units()
    if unit in table and declared in table and table[unit][0] == table[declared][0]:
        _, factor, offset = table[unit]
        _, to_factor, to_offset = table[declared]
        return figures.rescale(number, factor, offset, to_factor, to_offset)
    return _convert_with_pint(number, unit, declared)


def _convert_with_pint(number: float, unit: str, declared: str) -> float:
    import pint

    try:
        if len(unit) > LONGEST_UNIT or UNIT_PARTS.sub("", unit):
            raise ValueError  # never given to pint, which would reckon m^9^9^9 out
        quantity = registry().Quantity(number, PINT_NAMES.get(unit, unit))
        return float(quantity.to(PINT_NAMES.get(declared, declared)).magnitude)
    except pint.DimensionalityError:
        raise ValueError(f"is in '{brief(unit)}', which does not convert to '{declared}'") from None
    except Exception:  # pint raises a dozen kinds for a text that is no unit
        raise ValueError(
            f"has the unknown unit '{brief(unit)}'; write a unit that converts to '{declared}'"
        ) from None


def read(text: str, declared: str) -> float:
    """Read ``105 degC`` as a float in the declared unit; the errors are those of `convert`."""
    number, unit = split(text)
    return convert(number, unit, declared)


def label(unit: str) -> str:
    """Return a unit as people read it: ``um`` -> ``µm``, ``delta_degC`` -> ``°C``, ``1`` -> nothing."""
    unit = normal_unit(unit)
    if unit in LABELS:
        return LABELS[unit]
    unit = unit.replace("delta_", "").replace("degC", "°C").replace("degF", "°F")
    unit = re.sub(r"\bum\b", "µm", unit).replace("^2", "²").replace("^3", "³").replace("*", "·")
    return re.sub(r"\bohm\b", "Ω", unit)


def significant(number: float, digits: int = 3) -> str:
    """Return a number to a count of significant digits; see `figures.significant`."""
    return figures.significant(number, digits)


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


def show(number: float, unit: str = "1", digits: int = 3) -> str:
    """Return a number with its unit, joined by a no-break space: ``105 °C``.

    With 0 digits the number is printed as given, with no rounding and no added zeros.
    """
    unit = label(unit)
    text = significant(number, digits) if digits else as_given(number)
    return f"{text}\u00a0{unit}" if unit else text
