"""Works out a printed line from the numbers in it alone, as a reader with a pocket calculator does.

Every number is taken as the range that it may have been rounded from, and so is what comes out: a line holds
where what is printed behind it lies in that range. Nothing of the package is used: what is read is text.
"""

import math
import re
from dataclasses import dataclass

DIGITS = 5  # of a number that was found
NUMBER = re.compile(r"(−?)(\d+(?:\.\d+)?)(?:×10([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+))?")
LOWERED = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
RAISED = re.compile(r"(.+?)([⁰¹²³⁴⁵⁶⁷⁸⁹]+)")
OF_SEVERAL = re.compile(r"the (smaller|smallest|larger|largest) of (.+)")
BOUNDED = re.compile(r"(.+), but at (least|most) (.+)")
BETWEEN = re.compile(r"(.+), but between (.+) and (.+)")
ROUNDED = re.compile(r"(.+), rounded (up|down) to a whole number")
INSIDE = {"√(": math.sqrt, "ln(": math.log}


class NoSum(ValueError):
    """A text is no sum to be worked out; what it says of it is that text."""


@dataclass(frozen=True)
class Range:
    """The lowest and the highest that a number can be, and what it is where each number is as printed."""

    low: float
    value: float
    high: float

    def each(self, function) -> "Range":
        """Return what a function that only rises, or only falls, makes of it."""
        low, high = sorted((function(self.low), function(self.high)))
        return Range(low, function(self.value), high)

    def with_other(self, function, other: "Range") -> "Range":
        """Return what a function that rises or falls with each of two makes of them."""
        ends = [function(one, two) for one in (self.low, self.high) for two in (other.low, other.high)]
        return Range(min(ends), function(self.value, other.value), max(ends))

    def meets(self, other: "Range") -> bool:
        """Tell whether both can be the same number, but for the last digit of a float."""
        slack = 1e-12 * max(abs(self.value), abs(other.value))
        return self.low <= other.high + slack and other.low <= self.high + slack


def number(text: str) -> Range:
    """Return the range that a printed number may have been rounded from.

    Raises:
        NoSum: it is none.
    """
    found = NUMBER.fullmatch(text)
    if not found:
        raise NoSum(text)
    value = float(found[2]) * 10.0 ** int((found[3] or "0").translate(LOWERED))
    written = found[2].replace(".", "").lstrip("0")
    digits = len(written if "." in found[2] else written.rstrip("0"))
    half = 0.5 * 10.0 ** (math.floor(math.log10(value) + 1e-12) + 1 - max(digits, DIGITS)) if value else 0.0
    sign = -1 if found[1] else 1
    low, high = sorted((sign * (value - half), sign * (value + half)))
    return Range(low, sign * value, high)


def _outside(text: str) -> list[int]:
    """Return how many brackets are open before each sign of a text."""
    depth, found, bar = 0, [], False
    for sign in text:
        if sign == ")":
            depth -= 1
        if sign == "|":
            depth += -1 if bar else 0
        found.append(depth)
        if sign == "|":
            depth += 0 if bar else 1
            bar = not bar
        if sign == "(":
            depth += 1
    return found


def _parts(text: str, between: str) -> list[str]:
    """Return a text in pieces, parted at words that stand in no bracket."""
    depths, found, start = _outside(text), [], 0
    for place in re.finditer(between, text):
        if depths[place.start()] == 0:
            found.append(text[start : place.start()])
            start = place.end()
    return [*found, text[start:]]


def _last(text: str, signs: tuple[str, str]) -> tuple[str, str, str] | None:
    """Return what stands before and behind the last of two signs that stand in no bracket, and that sign."""
    depths = _outside(text)
    for at in range(len(text) - 1, 0, -1):
        for sign in signs:
            if text.startswith(f" {sign} ", at) and depths[at] == 0:
                return text[:at], sign, text[at + 3 :]
    return None


def worked_out(text: str) -> Range:
    """Return what a sum in words and signs comes to.

    Raises:
        NoSum: a part of it is no number, or no sign that a calculator has.
    """
    text = text.strip()
    depths = _outside(text)
    for pattern in (BOUNDED, BETWEEN, ROUNDED):
        found = pattern.fullmatch(text)
        if found and depths[found.end(1)] == 0:
            return _held(pattern, found)
    several = OF_SEVERAL.fullmatch(text)
    if several:
        least = several[1].startswith("small")
        ranges = [worked_out(part) for part in _parts(several[2], ", | and ")]
        choose = min if least else max
        result = ranges[0]
        for other in ranges[1:]:
            result = result.with_other(choose, other)
        return result
    for signs in (("+", "−"), ("·", "÷")):
        found = _last(text, signs)
        if found:
            return _combined(*found)
    return _single(text)


def _held(pattern, found) -> Range:
    inner = worked_out(found[1])
    if pattern is ROUNDED:
        way = math.ceil if found[2] == "up" else math.floor
        # a whole number is not rounded to the next for what stands in its last digit
        return inner.each(lambda x: float(round(x)) if abs(x - round(x)) < 1e-6 else float(way(x)))
    if pattern is BETWEEN:
        return inner.with_other(max, worked_out(found[2])).with_other(min, worked_out(found[3]))
    return inner.with_other(max if found[2] == "least" else min, worked_out(found[3]))


def _combined(before: str, sign: str, behind: str) -> Range:
    left, right = worked_out(before), worked_out(behind)
    if sign == "÷" and right.low <= 0 <= right.high:
        raise NoSum(f"{before} ÷ {behind}")
    signs = {
        "+": lambda a, b: a + b,
        "−": lambda a, b: a - b,
        "·": lambda a, b: a * b,
        "÷": lambda a, b: a / b,
    }
    return left.with_other(signs[sign], right)


def _single(text: str) -> Range:
    powers = _parts(text, " to the power of ")
    if len(powers) == 2:
        power = worked_out(powers[1])
        base = Range(math.e, math.e, math.e) if powers[0] == "e" else worked_out(powers[0])
        return base.with_other(lambda a, b: a**b, power)
    if NUMBER.fullmatch(text):
        return number(text)
    raised = RAISED.fullmatch(text)
    if raised and not NUMBER.fullmatch(raised[1] + raised[2]):
        if raised[1].startswith("−"):
            return worked_out(text[1:]).each(lambda x: -x)
        return worked_out(raised[1]).each(lambda x: x ** int(raised[2].translate(LOWERED)))
    if text.startswith("−"):
        return worked_out(text[1:]).each(lambda x: -x)
    if text.startswith("the cube root of "):
        return worked_out(text.removeprefix("the cube root of ")).each(lambda x: x ** (1 / 3))
    for begin, function in INSIDE.items():
        if text.startswith(begin) and text.endswith(")"):
            inner = worked_out(text[len(begin) : -1])
            if inner.low <= 0 and not (inner.low == 0 and function is math.sqrt):
                raise NoSum(text)
            return inner.each(function)
    if text.startswith("|") and text.endswith("|"):
        inner = worked_out(text[1:-1])
        ends = sorted((abs(inner.low), abs(inner.high)))
        return Range(0.0 if inner.low < 0 < inner.high else ends[0], abs(inner.value), ends[1])
    if text.startswith("(") and text.endswith(")"):
        return worked_out(text[1:-1])
    raise NoSum(text)
