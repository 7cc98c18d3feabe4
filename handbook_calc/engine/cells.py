"""Read a CSV file that people write, or save with a spreadsheet: rows with their lines, or one fault."""

import csv
import io
import unicodedata
from collections.abc import Iterator
from pathlib import Path

from handbook_calc.engine.faults import brief
from handbook_calc.engine.fields import JOINERS, UNSEEN

BETWEEN = "\t\r\n"  # signs that nobody sees, and that belong between words and lines
PLAIN = frozenset("0123456789")


class BadCells(ValueError):
    """A file that holds no rows of text.

    Attributes:
        line: where.
        told: what is wrong, and what to do.
    """

    def __init__(self, line: int, told: str) -> None:
        super().__init__(f"line {line}: {told}")
        self.line = line
        self.told = told


def text_of(path: Path) -> str:
    """Return the text of a file, without the mark that some programs put before it.

    Raises:
        BadCells: it cannot be read, or is no UTF-8 text; a file that is not there raises `FileNotFoundError`.
    """
    try:
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise
    except OSError as error:
        raise BadCells(1, f"cannot be read: {error.strerror}") from None
    except UnicodeDecodeError as error:
        line = 1 + error.object.count(b"\n", 0, error.start)
        raise BadCells(line, "is not UTF-8 text; save it as UTF-8") from None


def rows_of(text: str) -> Iterator[tuple[int, list[str]]]:
    """Yield each row with the line on which it begins; an empty line is an empty row.

    Raises:
        BadCells: a sign that nobody sees, a quotation mark without its partner, or a cell without end.
    """
    hidden = {sign for sign in set(text) if unicodedata.category(sign) in UNSEEN}
    for sign in sorted(hidden - {*BETWEEN, *JOINERS}):
        line = 1 + text.count("\n", 0, text.index(sign))
        raise BadCells(
            line, f"holds the sign U+{ord(sign):04X}, which nobody sees; type the line anew without it"
        )
    reader = csv.reader(io.StringIO(text, newline=None), strict=True)
    begun = 1
    try:
        for row in reader:
            yield begun, row
            begun = reader.line_num + 1
    except csv.Error as error:
        raise BadCells(
            begun, f"is no row of a CSV file: {error}; look for a quotation mark without a second"
        ) from None


def whole(text: str, low: int, high: int) -> int:
    """Return a whole number in digits.

    Raises:
        ValueError: it is none from `low` to `high`.
    """
    if not (text and PLAIN.issuperset(text) and len(text) <= len(str(high)) and low <= int(text) <= high):
        raise ValueError(f"{brief(text)} is no number from {low} to {high}")
    return int(text)
