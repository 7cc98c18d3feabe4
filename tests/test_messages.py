"""Every message to a person: one line, which argument, what was written, what is allowed, and no sign that acts."""

import math
import random

import pytest

from handbook_calc.engine import examples
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.faults import BadInput, CalculationFault
from handbook_calc.engine.fields import Choice, Count, Quantity, Rows, Words

JUNK = [
    "",
    " ",
    "x",
    "-",
    "3 parsec",
    "3 kg m s A",
    "nan",
    "inf",
    "-inf",
    "1e999",
    "-1e400 mm",
    "1" * 5000,
    "9" * 400 + " mm",
    "\x1b[31mred\x1b[0m",
    "3\x00mm",
    "3 mm\r\nok: all is well",
    "\u202e3 mm",
    "a\u2028b",
    "3 mm 4 mm",
    "[1, 2]",
    "{{ value x }}",
    "=1+1",
    "\ud800",
]
OTHER_UNITS = ["3 kg", "3 mm", "3 %", "3 degC", "3 L", "3 d", "3 mA/cm^2"]


def bad_texts(declared, chance):
    """Return texts that a person may write for an argument, most of them wrong."""
    texts = [*JUNK, *chance.sample(OTHER_UNITS, 3)]
    if isinstance(declared, Quantity) and not isinstance(declared, Count):
        unit = "" if declared.unit == "1" else f" {declared.unit}"
        wide = declared.high - declared.low
        texts += [f"{declared.low - wide - 1!r}{unit}", f"{declared.high + wide + 1!r}{unit}", f"nan{unit}"]
        texts += [f"1e300{unit}", f"-1e300{unit}"]
    if isinstance(declared, Count):
        texts += [str(int(declared.high) + 1), str(int(declared.low) - 1), "2.5"]
    if isinstance(declared, Choice):
        texts += [name[:-1] + "\x07" for name in declared.names()[:2]]
    if isinstance(declared, Rows):
        texts += [f"{';'.join(['1'] * 400)}", "[[", "[1]", '[["a\\u001b"]]', "1 x; 2 y", "[" * 3000]
    return texts


def messages(name, chance):
    """Yield every message about a bad text of a calculation: argument, text, message."""
    calculation = CATALOGUE[name]
    for declared in calculation.inputs:
        for text in bad_texts(declared, chance):
            try:
                calculation.read(declared.name, text)
            except BadInput as fault:
                yield declared, text, str(fault)


@pytest.mark.parametrize("name", CATALOGUE)
@pytest.mark.long
def test_a_bad_text_is_answered_on_one_line_with_what_is_allowed(name):
    found = list(messages(name, random.Random(name)))
    assert {declared.name for declared, _, _ in found} == {d.name for d in CATALOGUE[name].inputs}
    for declared, text, message in found:
        told = repr((text[:40], message))
        assert message.startswith(f"{name}: {declared.name} = "), told
        assert "allowed is" in message, told
        assert one_clean_line(message), told
        assert len(message) < 1500, told
        shown = text.strip()
        if shown.isascii() and shown.isprintable() and len(shown) < 80:
            assert " ".join(shown.split()) in message, told


def one_clean_line(message):
    return "\n" not in message and all(sign.isprintable() or sign == "\u00a0" for sign in message)


NOT_NUMBERS = [math.nan, math.inf, -math.inf, 1e308, -1e308, None, "3 mm", "\x1b[31m", True, [1.0], object()]


@pytest.mark.parametrize("name", CATALOGUE)
def test_a_bad_value_from_a_script_is_answered_the_same_way(name, house):
    calculation = CATALOGUE[name]
    whole = examples.example(calculation, Bench(house)).inputs
    for declared in calculation.inputs:
        for value in NOT_NUMBERS:
            if value is None and declared.optional:
                continue
            message = answer_to(calculation, whole | {declared.name: value})
            if message:
                assert one_clean_line(message), repr(message)
                assert message.startswith(f"{name}: ")
            else:
                assert isinstance(declared, Words) or value is True or isinstance(value, str), (
                    declared,
                    value,
                )
            if message.startswith(f"{name}: {declared.name} = "):
                assert "allowed is" in message, message


def answer_to(calculation, values):
    """Return the message with which a calculation answers, or nothing where it gives results."""
    try:
        calculation(**values)
    except CalculationFault as fault:
        return str(fault)
    return ""
