"""Rules of the house standard: checks of several values together.

A plain rule about a pair is one line: ``below("rinsing.limit", "rinsing.start", because="...")``. A rule
that reckons is a function with ``@rule``. A rule may complain, and nothing else: one that raises is
itself a fault, told with its name and place beside the faults of the values.
"""

import operator
import sys
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, floor, log10
from pathlib import Path

from handbook_calc.engine import quantities
from handbook_calc.engine.faults import Fault

ROOT = Path(__file__).resolve().parents[2]
LAST_DIGIT = 1e-9  # the same length written in two units may differ by the last digit of a conversion
RULES: dict[str, "Rule"] = {}
Pair = tuple[str, str, str, str]


@dataclass(frozen=True)
class Rule:
    """A check of several values together.

    Attributes:
        name: what the rule says, or what its function is called.
        keys: house values, or sections, that it reads; it is skipped while one of them is itself faulty.
        check: takes the house and yields (key, complaint) for each contradiction.
        file, line: where it is declared.
        pairs: the same as key, sign, other key, reason, where it is about pairs only.
    """

    name: str
    keys: tuple[str, ...]
    check: Callable[..., Iterable[tuple[str, str]]]
    file: str
    line: int
    pairs: tuple[Pair, ...] = ()


class MissingValue(KeyError):
    """A house value that is not there.

    Attributes:
        key: the key that was asked for.
    """

    def __init__(self, key: str, text: str) -> None:
        super().__init__(text)
        self.key = key


def _enter(
    name: str, keys: tuple[str, ...], check, file: str, line: int, pairs: tuple[Pair, ...] = ()
) -> None:
    path = Path(file).resolve()
    shown = path.relative_to(ROOT).as_posix() if path.is_relative_to(ROOT) else path.name
    RULES[name] = Rule(name.rpartition(".")[2] if " " not in name else name, keys, check, shown, line, pairs)


def rule(*keys: str):
    """Declare a check of several values together as a function."""

    def declare(check):
        code = check.__code__
        _enter(f"{check.__module__}.{check.__name__}", keys, check, code.co_filename, code.co_firstlineno)
        return check

    return declare


# --- rules about a pair ------------------------------------------------------------------------


@dataclass(frozen=True)
class Order:
    """How the first of two values must stand to the second.

    Attributes:
        holds: compares two numbers.
        fails: what is said of a value that does not stand so, before the other key.
        allowed: what would do, before the other value.
        closed: equal values will do.
        sign: how it is written between two numbers.
    """

    holds: Callable[[float, float], bool]
    fails: str
    allowed: str
    closed: bool
    sign: str

    def __call__(self, value: float, other: float) -> bool:
        """Say whether `value` stands so to `other`; to the last digit they count as equal."""
        equal = abs(value - other) <= LAST_DIGIT * max(abs(value), abs(other))
        return self.closed if equal else self.holds(value, other)


BELOW = Order(operator.lt, "is not below", "less than", False, "<")
AT_MOST = Order(operator.le, "is above", "up to", True, "<=")
ABOVE = Order(operator.gt, "is not above", "more than", False, ">")
AT_LEAST = Order(operator.ge, "is below", "at least", True, ">=")


def below(key: str, limit: str, *, because: str) -> None:
    """Declare that one house value is less than another, and why: what would come of it otherwise."""
    _declare_pair(key, BELOW, limit, because)


def at_most(key: str, limit: str, *, because: str) -> None:
    """Declare that one house value is no more than another, and why."""
    _declare_pair(key, AT_MOST, limit, because)


def above(key: str, limit: str, *, because: str) -> None:
    """Declare that one house value is more than another, and why."""
    _declare_pair(key, ABOVE, limit, because)


def at_least(key: str, limit: str, *, because: str) -> None:
    """Declare that one house value is no less than another, and why."""
    _declare_pair(key, AT_LEAST, limit, because)


def between(key: str, low: str, high: str, *, because: str) -> None:
    """Declare that one house value lies between two others, ends included, and why."""

    def check(house):
        bounds_contradict = list(pair(house, low, AT_MOST, high, because))
        yield from bounds_contradict
        if not bounds_contradict:
            yield from pair(house, key, AT_LEAST, low, because)
            yield from pair(house, key, AT_MOST, high, because)

    pairs = ((low, "<=", high, because), (key, ">=", low, because), (key, "<=", high, because))
    _enter(f"{key} between {low} and {high}", (key, low, high), check, *_caller(), pairs)


def _declare_pair(key: str, order: Order, limit: str, because: str) -> None:
    def check(house):
        yield from pair(house, key, order, limit, because)

    pairs = ((key, order.sign, limit, because),)
    _enter(f"{key} {order.allowed} {limit}", (key, limit), check, *_caller(), pairs)


def _caller() -> tuple[str, int]:
    """Return file and line of the declaration outside this module that is being made."""
    frame = sys._getframe(1)
    while frame.f_code.co_filename == __file__:
        frame = frame.f_back
        assert frame is not None  # a declaration stands in another module
    return frame.f_code.co_filename, frame.f_lineno


def pair(house, key: str, order: Order, limit: str, because: str) -> Iterator[tuple[str, str]]:
    """Yield a complaint about `key` if its value does not stand to that of `limit` as it must.

    Two values in different declared units are compared in that of `key`.
    """
    mine, other = house.entry(key), house.entry(limit)
    if mine.value is None or other.value is None:
        return
    bound = quantities.convert(other.value, other.field.unit, mine.field.unit)
    if not order(mine.value, bound):
        shown = _with_unit(other)
        yield key, f"{order.fails} {limit}, {shown}: {because}; allowed is {order.allowed} {shown}"


def up_to(value: float) -> str:
    """Return the figure of a bound that nothing may exceed: three digits, rounded to the strict side."""
    step = 10 ** (floor(log10(value)) - 2)
    return f"{floor(value / step * (1 + LAST_DIGIT)) * step:.6g}"


def at_least_figure(value: float) -> str:
    """Return the figure of a bound that nothing may fall below: three digits, rounded to the strict side."""
    step = 10 ** (floor(log10(value)) - 2)
    return f"{ceil(value / step * (1 - LAST_DIGIT)) * step:.6g}"


def shown(house, key: str) -> str:
    """Return a value as the house wrote it, with its unit and its key, for a complaint about another."""
    return f"{_with_unit(house.entry(key))} ({key})"


def _with_unit(entry) -> str:
    """Return a value as the house wrote it, with the unit that it left out."""
    _, unit = quantities.split(entry.written)
    declared = "" if unit.strip() or entry.field.unit == "1" else entry.field.unit
    return f"{entry.written} {declared}".rstrip()


def rising(house, *keys: str, because: str) -> Iterator[tuple[str, str]]:
    """Yield a complaint for each key whose value lies below that of the key before it."""
    for lower, upper in pairwise(keys):
        yield from pair(house, upper, AT_LEAST, lower, because)


# --- running them ------------------------------------------------------------------------------


def apply(house, declared: Callable[[str], bool], sound: bool) -> list[Fault]:
    """Return a fault for each complaint, and for each rule that is itself wrong.

    Arguments:
        house: the values that were read; some may be missing, being faulty.
        declared: says whether a key is that of a house value, a section or an entry of a family.
        sound: no value was found faulty.
    """
    faults: list[Fault] = []
    starved: list[Fault] = []
    for checked in RULES.values():
        strange = [key for key in checked.keys if not declared(key)]
        if strange:
            faults.append(_broken(checked, f"reads {strange[0]}, which no stage declares"))
        elif all(key in house.entries or house.names(key) for key in checked.keys):
            try:
                faults += _complaints(checked, house)
            except MissingValue as missing:
                broken = _broken(checked, missing.args[0])
                (starved if declared(missing.key) else faults).append(broken)
            except Exception as error:  # whatever it is, it must not hide the faults of the values
                faults.append(_broken(checked, f"{type(error).__name__}: {error}"))
    # A value may be missing because it is faulty, and is then told as such; in a sound house none is.
    return faults + starved if sound and not faults else faults


def _complaints(checked: Rule, house) -> list[Fault]:
    found = []
    for key, text in checked.check(house):
        entry = house.entry(key)
        found.append(Fault(entry.file, entry.line, f"{key}: {entry.written} {text}"))
    return found


def _broken(checked: Rule, text: str) -> Fault:
    read = ", ".join(checked.keys[:4]) + (", ..." if len(checked.keys) > 4 else "")
    what = " ".join(text.split())
    return Fault(
        checked.file,
        checked.line,
        f"rule {checked.name}: fails instead of complaining ({what}); mend the rule, which reads {read}",
    )
