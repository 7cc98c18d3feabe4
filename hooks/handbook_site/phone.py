"""Tables that a page's own text holds, on a phone: rows as cards where a grid would not fit.

What `handbook_calc` computes says so itself; these are the tables that somebody wrote in Markdown.
"""

import re
from html import unescape

from handbook_calc.engine import phone

TABLE = re.compile(r"<table>.*?</table>", re.DOTALL)
ROW = re.compile(r"<tr\b.*?</tr>", re.DOTALL)
CELL = re.compile(r"<t[hd]\b[^>]*>(.*?)</t[hd]>", re.DOTALL)


def with_cards(html: str) -> str:
    """Return a page's text with its tables told apart; one to be written on by hand stays a grid."""
    return TABLE.sub(lambda found: _told(found[0]), html) if "<table>" in html else html


def _told(table: str) -> str:
    rows = [[_words(cell) for cell in CELL.findall(row)] for row in ROW.findall(table)]
    if len(rows) < 2 or len({len(row) for row in rows}) > 1:
        return table
    heads, cells = rows[0], rows[1:]
    to_fill_in = all(not any(row[1:]) for row in cells)
    if to_fill_in or phone.layout(heads, cells)[0] == phone.GRID:
        return table
    return phone.as_cards(table, heads)


def _words(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", "", html)).split(" ")).strip()
