"""Published tables as data: the files of ``handbook_calc/data``, read once into plain lists."""

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from handbook_calc.engine import cells, places
from handbook_calc.engine.faults import BadDeclaration, brief
from handbook_calc.engine.sources import sources

DATA = Path(__file__).parent.parent / "data"
POSITIVE = re.compile(r"(?!0*(?:\.0*)?$)[0-9]{1,12}(?:\.[0-9]{1,12})?")


@dataclass(frozen=True)
class Own:
    """A table of data to which a bench of its own adds rows.

    Attributes:
        key: the columns that tell rows apart.
        numbers: the columns that must hold a number above 0.
    """

    key: tuple[str, ...]
    numbers: tuple[str, ...] = ()


# More rows here can only add a name, or tighten: of limits the strictest counts, of warnings the worst.
OWN = {
    "grits": Own(("system", "grit"), ("size", "low", "high")),
    "exposure_limits": Own(("substance", "body", "type", "year")),
    "never_named": Own(("first", "second")),
    "troubleshooting": Own(("stage", "seen", "cause")),
}


@cache
def rows(file: str) -> tuple[dict[str, str], ...]:
    """Return the rows of ``data/FILE.csv`` as texts by column.

    Raises:
        ValueError: a row is not complete, or names a source that is not in ``sources.yml``.
    """
    found = _read(DATA / f"{file}.csv", f"{file}.csv")
    own = places.own_data(f"{file}.csv")
    if own is None:
        return found
    shown = f"{places.DATA}/{file}.csv"
    if file not in OWN:
        allowed = ", ".join(sorted(OWN))
        raise BadDeclaration(f"{shown}:1: a bench adds no rows to this table; it may add some to {allowed}")
    try:
        added = _numbered(own, shown, list(found[0]))
    except (ValueError, OSError) as error:
        raise BadDeclaration(str(error)) from None
    known = {_key(row, file) for row in found}
    for line, row in added:
        if _key(row, file) in known:
            raise BadDeclaration(
                f"{shown}:{line}: {brief(' '.join(_key(row, file)))} is in the handbook's table already"
            )
        for name in OWN[file].numbers:
            if not POSITIVE.fullmatch(row[name]):
                raise BadDeclaration(
                    f"{shown}:{line}: {name} = {brief(row[name])}; allowed is a number above 0"
                )
        known.add(_key(row, file))
    return found + tuple(row for _, row in added)


def _key(row: dict[str, str], file: str) -> tuple[str, ...]:
    return tuple(row[name].strip().lower() for name in OWN[file].key)


def _read(path: Path, shown: str, columns: list[str] | None = None) -> tuple[dict[str, str], ...]:
    return tuple(row for _, row in _numbered(path, shown, columns))


def _numbered(path: Path, shown: str, columns: list[str] | None = None) -> list[tuple[int, dict[str, str]]]:
    """Return the rows of a file, each with its line; empty lines are left out."""
    try:
        lines = [(line, row) for line, row in cells.rows_of(cells.text_of(path)) if any(row)]
    except cells.BadCells as error:
        raise ValueError(f"{shown}:{error.line}: {error.told}") from None
    heading = lines[0][1] if lines else []
    if columns and heading != columns:
        raise ValueError(f"{shown}:1: has other columns than {','.join(columns)}")
    found = []
    for line, row in lines[1:]:
        if len(row) != len(heading):
            raise ValueError(f"{shown}:{line}: does not have as many cells as the heading")
        found.append((line, dict(zip(heading, row, strict=True))))
        if found[-1][1]["source"] not in sources():
            source = brief(found[-1][1]["source"])
            raise ValueError(f"{shown}:{line}: source = {source} is not in sources.yml")
    return found


def column(file: str, name: str) -> list[str]:
    """Return one column of ``data/FILE.csv`` as texts."""
    return [row[name] for row in rows(file)]


def numbers(file: str, name: str, empty: float = 0.0) -> list[float]:
    """Return one column of ``data/FILE.csv`` as numbers; an empty cell is `empty`."""
    return [float(text) if text else empty for text in column(file, name)]
