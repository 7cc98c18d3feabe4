"""What can go wrong, said so that a reader can mend it."""

import difflib
from dataclasses import dataclass


class CalculationFault(ValueError):
    """A calculation that gives no number, and says why and what to do."""


class BadInput(CalculationFault):
    """An argument that is missing, unreadable, of the wrong dimension or out of range."""


class Refusal(CalculationFault):
    """Readable arguments for which an answer would be unsafe or untrue.

    Attributes:
        code: short name of the refusal, as declared with the calculation.
    """

    def __init__(self, message: str, code: str = "", name: str = "") -> None:
        super().__init__(f"{name}: {message}" if name else message)
        self.code = code
        self.message = message


class RaisedInKernel(Exception):
    """Carries a refusal out of a formula, before its sentence is filled in."""

    def __init__(self, code: str, figures: tuple) -> None:
        super().__init__(code)
        self.code = code
        self.figures = figures


@dataclass(frozen=True, order=True)
class Fault:
    """One fault in a file: where it is, what is wrong, what is allowed."""

    file: str
    line: int
    text: str

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.text}"


class HouseFaults(Exception):
    """All faults found in a house standard, none held back."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = sorted(set(faults))
        super().__init__("\n".join(map(str, self.faults)))


def brief(written, most: int = 80) -> str:
    """Return what a person wrote on one line, cut where it would bury the rest of a message.

    Signs that a terminal would obey instead of printing them are replaced.
    """
    text = "".join(sign if sign.isprintable() else "\ufffd" for sign in " ".join(str(written).split()))
    return text if len(text) <= most else f"{text[:most]}..."


def unknown(kind: str, name: str, known) -> str:
    """Return ``no table 'x'; did you mean 'y'?``."""
    return f"no {kind} '{brief(name)}'{nearest(name, known)}"


def nearest(name: str, known) -> str:
    """Return ``; did you mean 'x'?`` for the closest known name, or an empty text."""
    close = difflib.get_close_matches(name, list(known), n=1, cutoff=0.55)
    return f"; did you mean '{close[0]}'?" if close else ""
