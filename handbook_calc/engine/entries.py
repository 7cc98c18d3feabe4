"""The kinds of reading of a piece's log, and the columns of its file: the register that all else follows.

A kind is declared once, by `kind`. From it follow what the reader takes, what the page's form asks, which
step of the plan a reading belongs to, and the list that people read.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from handbook_calc.engine import fields, kernels, quantities
from handbook_calc.engine.calculation import CATALOGUE
from handbook_calc.engine.faults import BadDeclaration, declared_at, nearest
from handbook_calc.engine.fields import Choice, Field, Quantity
from handbook_calc.engine.subset import complaints

# The columns of a log, in the order in which they are written; name -> what stands there.
COLUMNS = {
    "row": "number of the row, 1 and up, never used twice and never changed",
    "when": "day and time on the bench's clock, 2026-12-01 14:30; a day alone counts as its noon",
    "what": "kind of reading",
    "value": "what was read, with its unit",
    "with": "what it was read or done with, with its unit; empty where the house's own holds",
    "note": "anything to be remembered",
    "edition": "edition of the house standard by which it was read",
    "corrects": "number of the row that this one takes the place of; empty for a new reading",
}
NEEDED = ("row", "when", "what", "value", "edition")


@dataclass(frozen=True)
class Kind:
    """A declared kind of reading.

    Attributes:
        name: as it stands in the column ``what``.
        about: what it is, in a few plain words.
        value: how its value is read; None where the column stays empty.
        by: how the column ``with`` is read; None where it stays empty.
        step: the step of the plan that it is part of; empty for any.
        place: file and line of the declaration.
    """

    name: str
    about: str
    value: Field | None
    by: Field | None
    step: str
    place: str

    def row_of(self) -> list:
        """Return the declaration as a plain list: what the reader of rows goes by."""
        return [self.step, *_plain(self.value), *_plain(self.by)]


KINDS: dict[str, Kind] = {}
FORMS: dict[str, list] = {}  # name -> `Kind.row_of`, as the reader in the subset has it


def kind(name: str, about: str, *, value: Field | None = None, by: Field | None = None, step: str = ""):
    """Declare a kind of reading; the arguments are the attributes of `Kind`.

    Raises:
        BadDeclaration: it does not hold by itself.
    """
    declared = Kind(name, about, value, by, step, declared_at())
    for told in _complaints(declared):
        raise BadDeclaration(f"{declared.place}: reading '{name}': {told}")
    KINDS[name] = declared
    FORMS[name] = declared.row_of()


def _plain(field: Field | None) -> list:
    """Return form, unit, range, options, whether it may be empty, and what is allowed, in words."""
    if field is None:
        return ["none", "", 0.0, 0.0, [], True, "nothing"]
    low, high = (field.low, field.high) if isinstance(field, Quantity) else (0.0, 0.0)
    options = list(field.names()) if isinstance(field, Choice) else []
    return [field.form, field.unit, low, high, options, field.optional, field.allowed()]


def _complaints(declared: Kind) -> Iterator[str]:
    if declared.name in KINDS:
        yield f"is declared twice, first in {KINDS[declared.name].place}"
    for field in filter(None, (declared.value, declared.by)):
        yield from fields.complaints(field)
        if field.form not in ("quantity", "reading", "choice", "words"):
            yield f"{field.name} is a {field.form}, which a row cannot hold"


def check(steps) -> None:
    """Check all kinds and all that is asked of a log, with the steps of the plan.

    Raises:
        BadDeclaration: a kind that is part of no step, code outside the subset, a lack whose sentence is
            not declared, or is declared and never told.
    """
    told = [
        f"{kind.place}: reading '{kind.name}': is part of '{kind.step}', which is no step"
        f"{nearest(kind.step, steps)}"
        for kind in KINDS.values()
        if kind.step and kind.step not in steps
    ]
    for asked in ASKED.values():
        told += [f"handbook_calc/{text}" for text in complaints(asked.kernel)]
        used = {*kernels.said(asked.kernel).codes["because"]}
        told += [
            f"{asked.place}: what is asked of '{asked.name}' tells '{code}' without a sentence"
            for code in sorted(used - {*asked.lacks})
        ]
        told += [
            f"{asked.place}: what is asked of '{asked.name}' has a sentence for '{code}' and never tells it"
            for code in sorted({*asked.lacks} - used)
        ]
    if told:
        raise BadDeclaration("\n".join(told))


def described() -> list[dict]:
    """Return every kind as plain data: what the page's form is made from, and the list for people."""
    return [
        {"name": kind.name, "about": kind.about, "step": kind.step}
        | {name: _told(field) for name, field in (("value", kind.value), ("with", kind.by))}
        for kind in KINDS.values()
    ]


def _told(field: Field | None) -> dict | None:
    if field is None:
        return None
    form, unit, low, high, options, optional, allowed = _plain(field)
    found = {
        "about": field.about,
        "form": form,
        "unit": unit,
        "label": quantities.label(unit) if unit not in ("text", "") else "",
        "optional": optional,
        "allowed": allowed,
        "example": field.example,
    }
    if isinstance(field, Quantity):
        found |= {"low": low, "high": high}
    if options:
        found["options"] = options
    return found


# --- what is asked of a log --------------------------------------------------------------------


@dataclass(frozen=True)
class Asked:
    """A calculation of the catalogue that is asked of a log.

    Attributes:
        name: the calculation.
        kernel: from the standing entries, the facts by key, and the hours now, to ``[code, inputs]``: a code
            with its numbers where the log does not hold enough, else the inputs by name, None for a default.
        lacks: code -> sentence: what the log lacks, and how much is needed.
        place: file and line of the declaration.
    """

    name: str
    kernel: Callable[[list, dict, float], list]
    lacks: Mapping[str, str]
    place: str


ASKED: dict[str, Asked] = {}


def asked(name: str, lacks: Mapping[str, str]):
    """Declare the function below as what gives a calculation its inputs from a log."""
    place = declared_at()

    def declare(kernel):
        calculation = CATALOGUE.get(name)
        if calculation is None:
            raise BadDeclaration(f"{place}: asks '{name}', which is no calculation{nearest(name, CATALOGUE)}")
        ASKED[name] = Asked(name, kernel, dict(lacks), place)
        return kernel

    return declare
