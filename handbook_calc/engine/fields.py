"""The kinds of value that a calculation takes and a house standard sets.

Every field reads the text a person wrote, refuses what it does not allow, and says what it allows.
Numbers come out as floats in the declared unit.
"""

import json
import math
import re
import unicodedata
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from handbook_calc.engine import quantities, reading
from handbook_calc.engine.faults import brief, nearest

# Kinds of sign that print nothing: controls, formats (with those that turn the direction of writing), halves
# of a sign, private and unassigned ones, ends of lines. Two formats join or part letters, as spelling asks.
UNSEEN = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")
JOINERS = "\u200c\u200d"
NO_VALUE = ("none", "no limit")
MEASURED = "measured"  # of one piece, and nothing but its own reading answers for another


def reads(others: Iterable[str]):
    """Mark a function that spells names with what else it reads: a page's calculator then reads the same."""

    def mark(normal: Callable[[str], str]) -> Callable[[str], str]:
        setattr(normal, "others", tuple(others))  # noqa: B010
        return normal

    return mark


@dataclass(frozen=True)
class Instead:
    """What is taken where a person writes a word such as ``unknown`` instead of a value.

    Attributes:
        words: what is written; an empty text stands for a key that is left out.
        taken: what is assumed instead, as a person writes it; empty where it is computed from other facts.
        costs: what the assumption costs, in a sentence.
    """

    words: tuple[str, ...]
    taken: str
    costs: str


@dataclass(frozen=True)
class Field(ABC):
    """A named value.

    Attributes:
        name: argument name, a word of the trade.
        about: what it is, in a few plain words.
        house: key of the house value that is the default; ``{x}`` in it stands for argument x.
        optional: may be left out, or be written ``none``; the calculation then gets None.
        also: other names that a person may write for it.
        example: what its calculator starts from where no house value is its default: text as a person
            writes it, or ``{key}`` for a house value of the same meaning.
        end: ``low`` or ``high`` where the default is that end of the house value's span.
        instead: what may be written where the value is not known, and what is then taken.
        of_piece: what answers for another piece than the example, where the example is a figure of the
            example's own: the key of a fact, a calculation with inputs of its own behind semicolons
            (``drag-out; crack_volume=0 mL``), or `MEASURED`.
    """

    name: str
    about: str
    house: str = ""
    optional: bool = False
    also: tuple[str, ...] = ()
    example: str = ""
    end: str = ""
    instead: tuple[Instead, ...] = ()
    of_piece: str = ""

    unit = "text"
    form = "words"  # how a page's calculator asks for it
    spans = False  # whether a person may write a value with a span

    @abstractmethod
    def read(self, written):
        """Return the value for what a person wrote.

        Raises:
            ValueError: what is wrong with it, worded to follow the argument's name and value.
        """

    @abstractmethod
    def check(self, value) -> None:
        """Refuse a value that is not allowed, by the same error as `read`."""

    def show(self, value) -> str:
        """Return the value as people read it."""
        return str(value)

    @abstractmethod
    def allowed(self) -> str:
        """Say what is allowed."""

    def read_optional(self, written) -> Any:
        """As `read`, but an optional field takes ``none``, and every error says what is allowed."""
        if self.optional and isinstance(written, str) and written.strip() in NO_VALUE:
            return None
        return self._saying_what_is_allowed(self.read, written)

    def instead_of(self, written) -> Instead | None:
        """Return what is taken for a word that stands instead of a value; None where it is none of them."""
        text = " ".join(written.split()) if isinstance(written, str) else None
        return next((instead for instead in self.instead if text in instead.words), None)

    def read_spanned(self, written) -> tuple[Any, tuple[float, float] | None]:
        """As `read_optional`, with the ends of the span that was written: value, then (low, high) or None."""
        return self.read_optional(written), None

    def _saying_what_is_allowed(self, read, written) -> Any:
        try:
            return read(written)
        except ValueError as error:
            if "allowed is" in str(error):
                raise
            raise ValueError(f"{error}; allowed is {self.allowed()}") from None


@dataclass(frozen=True)
class Quantity(Field):
    """A number with a unit and a range of validity, both ends included.

    Attributes:
        unit: declared unit, the one the formula works in.
        low, high: the range, in the declared unit.
        why: why the range ends where it does, or how to mend a value outside it.
        limit: ``"most"`` or ``"least"`` where the value is a limit of safety: the most or the least of
            something that is allowed. The range then ends at the built-in ceiling on that side, and
            neither a house nor a typed value gets past it.
    """

    unit: str = "1"
    low: float = 0.0
    high: float = math.inf
    why: str = ""
    limit: str = ""

    form = "quantity"
    spans = True

    def read(self, written, chosen: str = "") -> float:
        value = quantities.read(_one(written), self.unit, chosen)
        self.check(value)
        return value

    def read_under(self, written: str, chosen: str) -> Any:
        """As `read_optional`, below a unit that a bare number takes."""
        if self.optional and written.strip() in NO_VALUE:
            return None
        return self._saying_what_is_allowed(lambda text: self.read(text, chosen), written)

    def read_spanned(self, written):
        if not self.spans or (self.optional and str(written).strip() in NO_VALUE):
            return super().read_spanned(written)
        return self._saying_what_is_allowed(self._read_span, written)

    def _read_span(self, written):
        value, low, high = quantities.read_span(_one(written), self.unit)
        self.check(value)
        for end, name in ((low, "low"), (high, "high")):
            try:
                self.check(end)
            except ValueError as error:
                raise ValueError(f"has a span whose {name} end {error}") from None
        return value, (low, high) if low < high else None

    def check(self, value) -> None:
        if type(value) is float and self.low <= value <= self.high:
            return  # the common case, thousands of times a build
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise ValueError(f"is not a number; allowed is {self.allowed()}")
        # Written this way round so that NaN is refused. The slack is for the last digit of a unit
        # conversion: 0.1 inch is 2.54 mm, and must pass a limit of 2.54 mm.
        slack = 1e-12 * max(abs(self.low), abs(self.high) if math.isfinite(self.high) else 0)
        if not self.low - slack <= value <= self.high + slack:
            why = f" ({self.why})" if self.why else ""
            raise ValueError(f"is out of range; allowed is {self.allowed()}{why}")

    @property
    def ceiling(self) -> float | None:
        """Return the laxest value that a limit may have; None where the value is no limit."""
        return {"most": self.high, "least": self.low}.get(self.limit)

    def show(self, value) -> str:
        return quantities.show(value, self.unit, 0)

    def show_span(self, value, low: float, high: float) -> str:
        """Return a value with its span: ``4 mm (2 to 8)``."""
        return quantities.show_span(value, low, high, self.unit)

    def allowed(self) -> str:
        unit = quantities.label(self.unit)
        low, high = quantities.as_given(self.low), quantities.as_given(self.high)
        return f"{low} to {high} {unit}".rstrip()


@dataclass(frozen=True)
class Count(Quantity):
    """A whole number."""

    form = "count"
    spans = False

    def read(self, written, chosen: str = "") -> int:
        number = quantities.read(_one(written), "1")
        self.check(number)
        return int(number)

    def check(self, value) -> None:
        super().check(value)
        if value != math.floor(value):
            raise ValueError(f"is not a whole number; allowed is {self.allowed()}")

    def show(self, value) -> str:
        return f"{value:.0f}"


@dataclass(frozen=True)
class Choice(Field):
    """One of a list of names.

    Attributes:
        options: the names, or a function that returns them.
        normal: turns a person's spelling into one of the names; raises ValueError with the reason.
        kind: what the names are, for messages.
        hints: an unknown name is answered with the nearest known one. Not where the names are of
            substances or materials: a likely spelling may be a dangerous neighbour.
    """

    options: Sequence[str] | Callable[[], Sequence[str]] = ()
    normal: Callable[[str], str] | None = None
    kind: str = "choice"
    hints: bool = True

    form = "choice"

    def names(self) -> tuple[str, ...]:
        """Return the allowed names."""
        return tuple(self.options() if callable(self.options) else self.options)

    def others(self) -> dict[str, list[str]]:
        """Return each name -> what else a person may write for it, as `normal` reads it."""
        found: dict[str, list[str]] = {}
        if self.normal is not None:
            for other in getattr(self.normal, "others", ()):
                found.setdefault(self.normal(other), []).append(other)
        return found

    def read(self, written) -> str:
        text = " ".join(_one(written).split())
        if text in self.names():
            return text
        if self.normal is not None:
            text = self.normal(text)
        self.check(text)
        return text

    def check(self, value) -> None:
        names = self.names()
        if value not in names:
            near = nearest(str(value), names) if self.hints else ""
            raise ValueError(f"is not a known {self.kind}{near}; allowed is one of {self.allowed()}")

    def allowed(self) -> str:
        names = self.names()
        if len(names) > 12:
            return f"{', '.join(names[:5])}, ... {names[-1]} ({len(names)} in all)"
        return ", ".join(names)


@dataclass(frozen=True)
class Several(Choice):
    """A list of names out of a set, each at most once."""

    least: int = 1

    form = "several"
    part = Choice  # what reads one entry

    def read(self, written) -> tuple[str, ...]:
        parts = written.split(",") if isinstance(written, str) else written
        one = self.part(
            self.name, self.about, options=self.options, normal=self.normal, kind=self.kind, hints=self.hints
        )
        values = []
        for part in parts:
            try:
                values.append(one.read(part.strip(" []")))
            except ValueError as error:
                raise ValueError(f"holds '{brief(part)}', which {error}") from None
        self.check(values)
        return tuple(values)

    def check(self, value) -> None:
        if not isinstance(value, list | tuple):
            raise ValueError(f"is no list of names; allowed is {self.allowed()}")
        for part in value:
            super().check(part)
        if len(set(value)) != len(value):
            raise ValueError(f"names one entry twice; allowed is {self.allowed()}")
        if len(value) < self.least:
            raise ValueError(f"needs at least {self.least} of {self.allowed()}")

    def show(self, value) -> str:
        return ", ".join(value)


@dataclass(frozen=True)
class YesNo(Field):
    """Yes or no."""

    form = "yesno"

    def read(self, written) -> bool:
        text = _one(written).strip().lower()
        if text not in ("yes", "no"):
            raise ValueError("is neither; allowed is yes or no")
        return text == "yes"

    def check(self, value) -> None:
        if not isinstance(value, bool):
            raise ValueError("is neither; allowed is yes or no")

    def show(self, value) -> str:
        return "yes" if value else "no"

    def allowed(self) -> str:
        return "yes or no"


@dataclass(frozen=True)
class Words(Field):
    """Free text of one line; `like` shows the form where `pattern` asks for one."""

    pattern: str = r".{1,120}"
    like: str = ""

    def read(self, written) -> str:
        text = _one(written).strip()
        self.check(text)
        return text

    def check(self, value) -> None:
        for sign in str(value):
            if unicodedata.category(sign) in UNSEEN and sign not in JOINERS:
                raise ValueError(
                    f"holds the sign U+{ord(sign):04X}, which nobody sees and which can hide or turn round "
                    f"what stands beside it; type the text anew without it; allowed is {self.allowed()}"
                )
        if not re.fullmatch(self.pattern, str(value)):
            raise ValueError(f"does not fit; allowed is {self.allowed()}")

    def allowed(self) -> str:
        return f"text like {self.like}" if self.like else "one line of at most 120 characters"


@dataclass(frozen=True)
class Day(Words):
    """A day of the calendar, written 2026-11-25."""

    pattern: str = r"20[0-9]{2}-[0-9]{2}-[0-9]{2}"
    like: str = "2026-11-25"

    def check(self, value) -> None:
        super().check(value)
        try:
            date.fromisoformat(str(value))
        except ValueError:
            raise ValueError(f"is no day of the calendar; allowed is {self.allowed()}") from None


@dataclass(frozen=True)
class Rows(Field):
    """A short table of readings: rows of the same columns.

    Written ``0 h 120.500 g; 24 h 120.498 g`` (rows end at ``;`` or a line end), or as JSON
    ``[["0 h", "120.500 g"], ["24 h", "120.498 g"]]``. A number without a unit is taken in the unit of its
    column, as below the heads of a table.

    Attributes:
        columns: one field a column.
        least, most: count of rows allowed.
    """

    columns: tuple[Field, ...] = ()
    least: int = 1
    most: int = 200

    form = "rows"

    def read(self, written) -> list[list]:
        rows = written
        if isinstance(written, str):
            rows = _rows(written, len(self.columns))
        values = []
        for count, row in enumerate(rows, 1):
            if len(row) != len(self.columns):
                raise ValueError(f"has {len(row)} entries in row {count}; allowed is {self.allowed()}")
            values.append([])
            for column, cell in zip(self.columns, row, strict=True):
                try:
                    values[-1].append(_read_cell(column, cell))
                except ValueError as error:
                    shown = brief(cell)
                    raise ValueError(f"has in row {count} {column.name} = {shown}, which {error}") from None
        self._check_count(values)
        return values

    def _check_count(self, rows) -> None:
        if not self.least <= len(rows) <= self.most:
            raise ValueError(f"has {len(rows)} rows; allowed is {self.allowed()}")

    def check(self, value) -> None:
        if not isinstance(value, list | tuple) or not all(isinstance(row, list | tuple) for row in value):
            raise ValueError(f"is no list of rows; allowed is {self.allowed()}")
        self._check_count(value)
        for count, row in enumerate(value, 1):
            if len(row) != len(self.columns):
                raise ValueError(f"has {len(row)} entries in row {count}; allowed is {self.allowed()}")
            for column, cell in zip(self.columns, row, strict=True):
                if cell is None and column.optional:
                    continue
                try:
                    column.check(cell)
                except ValueError as error:
                    raise ValueError(
                        f"has in row {count} {column.name} = {brief(cell)}, which {error}"
                    ) from None

    def show(self, value) -> str:
        return "; ".join(
            " ".join(c.show(v) for c, v in zip(self.columns, row, strict=True) if v is not None)
            for row in value
        )

    def allowed(self) -> str:
        form = " ".join(f"{c.name} [{c.unit}]" if isinstance(c, Quantity) else c.name for c in self.columns)
        return f"{self.least} to {self.most} rows of '{form}', parted by ';'"


def _read_cell(column: Field, cell):
    if isinstance(cell, int | float) and isinstance(column, Quantity):
        column.check(cell)
        return float(cell)
    if isinstance(column, Quantity):
        return column.read_under(str(cell), column.unit)
    return column.read_optional(str(cell))


def _one(written) -> str:
    """Return the text of a single value; refuse a list where one value is wanted."""
    if isinstance(written, list | tuple):
        raise ValueError("is a list where one value is wanted")
    return str(written)


def _rows(text: str, wanted: int) -> list[list]:
    if not text.lstrip().startswith("["):
        return quantities.read_rows(text, wanted)
    try:
        rows = json.loads(text)
    except (ValueError, RecursionError) as error:
        detail = getattr(error, "msg", "nested too deep, or a number too long")
        raise ValueError(f"is not readable as a JSON list of rows ({detail})") from None
    if not isinstance(rows, list) or not all(isinstance(row, list) for row in rows):
        raise ValueError("is not a JSON list of rows")
    return rows


def complaints(declared: Field) -> Iterator[str]:
    """Say what is wrong with the declaration of an input or house value: unit, range, columns."""
    yield from unit_complaints(declared)
    if isinstance(declared, Quantity):
        if not (math.isfinite(declared.low) and math.isfinite(declared.high)):
            yield f"{declared.name} has no finite range; give low= and high="
        elif declared.low >= declared.high:
            yield f"{declared.name} has the range {declared.low:g} to {declared.high:g}; low is below high"
        if declared.limit not in ("", "most", "least"):
            yield f"{declared.name} has limit='{declared.limit}'; allowed is most or least"
        elif declared.limit and not declared.why:
            yield f"{declared.name} is a limit without a reason for its ceiling; say why with why="
    for instead in filter(lambda instead: instead.taken, declared.instead):
        try:
            declared.read_spanned(instead.taken)
        except ValueError as error:
            yield f"{declared.name} takes {instead.taken} instead, which {error}"
    for column in getattr(declared, "columns", ()):
        yield from complaints(column)


def unit_complaints(declared) -> Iterator[str]:
    """Say where a unit is not one of ``data/units.csv``."""
    known = reading.UNITS
    if declared.unit not in known and declared.unit not in ("text", "rows"):
        yield (
            f"{declared.name} has the unknown unit '{declared.unit}'{nearest(declared.unit, known)}; "
            "data/units.csv has every unit"
        )
