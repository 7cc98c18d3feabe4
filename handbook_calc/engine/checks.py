"""Check values: our answer beside another number, with the grade of evidence that the number is."""

import csv
import re
from dataclasses import dataclass
from functools import cache
from typing import Any

from handbook_calc.engine import quantities
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.data import DATA
from handbook_calc.engine.faults import BadInput, CalculationFault, shown_file
from handbook_calc.engine.sources import GRADE_OF_ORIGIN, ORIGINS, sources

CHECKS = DATA / "checks"
UNCHECKED = DATA / "unchecked.csv"
COLUMNS = (
    "id", "calculation", "inputs", "result", "expected", "unit", "tolerance", "source", "origin",
    "place", "why",
)  # fmt: skip


@dataclass(frozen=True)
class Check:
    """One check value.

    Attributes:
        inputs: every argument, as text; no house value is used.
        result: name of the result, ``name[row].column`` of a listing, empty for the only one.
        expected: a number, a text, or ``refused CODE``.
        tolerance: absolute in `unit`, or with ``%`` relative; empty for a text.
        source: where the number is from, or what it was worked out from.
        origin: where the *number* is from; a number worked out here from printed parameters is
            ``derived``, though the source is published.
        place: where in the source.
        why: why this tolerance, or what was done to the printed number.
    """

    id: str
    calculation: str
    inputs: dict[str, str]
    result: str
    expected: str
    unit: str
    tolerance: str
    source: str
    origin: str
    place: str
    why: str
    file: str
    line: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}: {self.id}"

    @property
    def grade(self) -> str:
        """How much the number is worth as evidence: outside, rederived, habit or memory."""
        return GRADE_OF_ORIGIN[self.origin]

    @property
    def bears_weight(self) -> bool:
        """Say whether this is an outside number other than zero."""
        return self.grade == "outside" and self.tolerance != "" and float(self.expected) != 0

    def ours(self):
        """Return our value, in the row's unit, or the text of the result or refusal."""
        try:
            answer = Bench(None).ask(self.calculation, **self.inputs)
        except BadInput:
            raise
        except CalculationFault as refusal:
            return f"refused {getattr(refusal, 'code', '')}".strip()
        name, _, column = self.result.partition(".")
        row = re.search(r"\[(-?\d+)\]$", name)
        name = name[: row.start()] if row else name
        declared = answer.calculation.result(name)
        value = answer.results[declared.name]
        unit = declared.unit
        if row:
            cells = declared.plain(value)[int(row[1])]
            value = cells[column]
            unit = next(c.unit for c in declared.columns if c.name == column)
        if isinstance(value, int | float) and not isinstance(value, bool):
            return quantities.convert(float(value), unit, self.unit or "1")
        return "none" if value is None else str(value)

    def difference(self, ours) -> float | None:
        """Return ours minus expected, or None where the two are texts."""
        return ours - float(self.expected) if isinstance(ours, float) else None

    def allowed(self) -> float:
        """Return the tolerance as a difference in the row's unit."""
        if self.tolerance.endswith("%"):
            return abs(float(self.expected)) * float(self.tolerance.rstrip("% ")) / 100
        return float(self.tolerance)

    def holds(self, ours) -> bool:
        """Say whether our value agrees."""
        if isinstance(ours, float):
            slack = 1e-9 * max(abs(ours), abs(float(self.expected)))
            return abs(ours - float(self.expected)) <= self.allowed() + slack
        return ours == self.expected


def read_inputs(text: str) -> dict[str, str]:
    """Split ``area=98 cm^2 | film=215 mL/m^2`` into texts by argument."""
    inputs = {}
    for part in filter(str.strip, text.split("|")):
        name, equals, value = part.partition("=")
        if not equals:
            raise ValueError(f"'{part.strip()}' is not written name=value")
        inputs[name.strip()] = value.strip()
    return inputs


@cache
def checks() -> tuple[Check, ...]:
    """Return every check, from the files of ``data/checks`` in order of name.

    Raises:
        ValueError: file and line of a row that is not complete.
    """
    found = []
    for path in sorted(CHECKS.glob("*.csv")):
        shown = shown_file(str(path))
        with path.open(encoding="utf-8", newline="") as file:
            reader = csv.DictReader(file)
            if tuple(reader.fieldnames or ()) != COLUMNS:
                raise ValueError(f"{shown}:1: columns are not {', '.join(COLUMNS)}")
            for row in reader:
                found.append(_check(row, shown, reader.line_num))
    return tuple(found)


@cache
def unchecked() -> dict[str, str]:
    """Return each calculation that has no outside number other than zero, and why it cannot have one.

    Raises:
        ValueError: file and line of a row without a reason, or one that stands twice.
    """
    shown = shown_file(str(UNCHECKED))
    found: dict[str, str] = {}
    with UNCHECKED.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        if tuple(reader.fieldnames or ()) != ("calculation", "why"):
            raise ValueError(f"{shown}:1: columns are not calculation, why")
        for row in reader:
            if not row["calculation"] or not row["why"] or None in row:
                raise ValueError(f"{shown}:{reader.line_num}: does not have a calculation and a reason")
            if row["calculation"] in found:
                raise ValueError(f"{shown}:{reader.line_num}: {row['calculation']} stands here twice")
            found[row["calculation"]] = row["why"]
    return found


def _check(row: dict, file: str, line: int) -> Check:
    where = f"{file}:{line}"
    if None in row or None in row.values():
        raise ValueError(f"{where}: does not have {len(COLUMNS)} cells")
    if row["source"] not in sources():
        raise ValueError(f"{where}: source = {row['source']} is not in data/sources.yml")
    if row["origin"] not in ORIGINS:
        raise ValueError(f"{where}: origin = {row['origin']}; allowed is {', '.join(ORIGINS)}")
    try:
        inputs = read_inputs(row["inputs"])
    except ValueError as error:
        raise ValueError(f"{where}: inputs: {error}") from None
    given: dict[str, Any] = row | {"inputs": inputs}
    return Check(**given, file=file, line=line)
