"""What can go wrong, said so that a reader can mend it."""

import difflib
import sys
from dataclasses import dataclass
from functools import cache
from pathlib import Path

NO_BREAK = "\u00a0"
PACKAGE = Path(__file__).resolve().parents[1]


class CalculationFault(ValueError):
    """A calculation that gives no number, and says why and what to do."""


class BadInput(CalculationFault):
    """An argument that is missing, unreadable, of the wrong dimension or out of range."""


class OutOfRange(BadInput):
    """An argument that is readable, of the right dimension, and not among what is allowed."""


class Refusal(CalculationFault):
    """Readable arguments for which an answer would be unsafe or untrue.

    Attributes:
        code: short name of the refusal, as declared with the calculation.
    """

    def __init__(self, message: str, code: str = "", name: str = "") -> None:
        super().__init__(f"{name}: {message}" if name else message)
        self.code = code
        self.message = message


class PageFault(ValueError):
    """A directive that cannot be filled; the text says what is wrong and what is allowed."""


class RecordFault(ValueError):
    """A record of an edition that cannot be read or must not be written; the text says what to do."""


class RaisedInKernel(Exception):
    """Carries a refusal out of a formula, before its sentence is filled in."""

    def __init__(self, code: str, numbers: tuple) -> None:
        super().__init__(code)
        self.code = code
        self.numbers = numbers


@dataclass(frozen=True, order=True)
class Fault:
    """One fault in a file: where it is, what is wrong, what is allowed."""

    file: str
    line: int
    text: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.text}"


class BadDeclaration(TypeError):
    """A declaration that does not hold: file and line of the declaration, what is wrong, what is allowed.

    Several faults stand one a line.
    """


class HouseFaults(Exception):
    """All faults found in a house standard, none held back."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = sorted(set(faults))
        super().__init__("\n".join(map(str, self.faults)))


def brief(written, most: int = 80) -> str:
    """Return what a person wrote on one line, cut where it would bury the rest of a message."""
    text = " ".join(str(written).split())
    text = text if len(text) <= most else f"{text[:most]}..."
    return printable(text)


def printable(text) -> str:
    """Return a text in which a sign that a terminal would act on is shown by its number."""
    return "".join(
        sign if sign.isprintable() or sign == NO_BREAK else ascii(sign)[1:-1] for sign in str(text)
    )


def unknown(kind: str, name: str, known) -> str:
    """Return ``no table 'x'; did you mean 'y'?``."""
    return f"no {kind} '{brief(name)}'{nearest(name, known)}"


def nearest(name: str, known, cutoff: float = 0.55) -> str:
    """Return ``; did you mean 'x'?`` for the closest known name, or an empty text."""
    close = difflib.get_close_matches(name, list(known), n=1, cutoff=cutoff)
    return f"; did you mean '{close[0]}'?" if close else ""


@cache
def shown_file(file: str) -> str:
    """Return a file of the project as messages name it: ``handbook_calc/rinsing.py``."""
    path = Path(file)
    root = PACKAGE.parent
    return path.relative_to(root).as_posix() if path.is_relative_to(root) else path.as_posix()


def declared_at(depth: int = 1) -> str:
    """Return ``file:line`` of the code that called the function which asks, for a later message.

    Arguments:
        depth: 1 for the caller of the asking function, 2 for the caller of that one.
    """
    frame = sys._getframe(depth + 1)
    return f"{shown_file(frame.f_code.co_filename)}:{frame.f_lineno}"


def raised_at(error: BaseException) -> str:
    """Return ``file:line`` of an error inside the package, as near to its cause as can be told."""
    if isinstance(error, SyntaxError) and error.filename:
        return f"{shown_file(error.filename)}:{error.lineno}"
    place, trace = "handbook_calc:1", error.__traceback__
    while trace:
        module = trace.tb_frame.f_globals.get("__name__", "")
        if module.startswith("handbook_calc.") and not module.startswith("handbook_calc.engine."):
            place = f"{shown_file(trace.tb_frame.f_code.co_filename)}:{trace.tb_lineno}"
        trace = trace.tb_next
    return place
