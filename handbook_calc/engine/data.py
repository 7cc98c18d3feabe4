"""Published tables as data: the files of ``handbook_calc/data``, read once into plain lists."""

import csv
from functools import cache
from pathlib import Path

from handbook_calc.engine.sources import sources

DATA = Path(__file__).parent.parent / "data"


@cache
def rows(file: str) -> tuple[dict[str, str], ...]:
    """Return the rows of ``data/FILE.csv`` as texts by column.

    Raises:
        ValueError: a row is not complete, or names a source that is not in ``sources.yml``.
    """
    path = DATA / f"{file}.csv"
    with path.open(encoding="utf-8", newline="") as opened:
        heading, *lines = filter(None, csv.reader(opened))
    found = tuple(dict(zip(heading, cells, strict=False)) for cells in lines)
    for line, (row, cells) in enumerate(zip(found, lines, strict=True), 2):
        if len(cells) != len(heading):
            raise ValueError(f"{path.name}:{line}: does not have as many cells as the heading")
        if row["source"] not in sources():
            raise ValueError(f"{path.name}:{line}: source = {row['source']} is not in sources.yml")
    return found


def column(file: str, name: str) -> list[str]:
    """Return one column of ``data/FILE.csv`` as texts."""
    return [row[name] for row in rows(file)]


def numbers(file: str, name: str, empty: float = 0.0) -> list[float]:
    """Return one column of ``data/FILE.csv`` as numbers; an empty cell is `empty`."""
    return [float(text) if text else empty for text in column(file, name)]
