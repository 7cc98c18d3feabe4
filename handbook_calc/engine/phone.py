"""How a table stands on a phone: as a grid that fits it, or each row as a card.

A grid keeps its shape, and its first column and head stay in sight; it is kept where every column has room
for its longest word. Where only the words of heads are too long for their columns, these heads are turned.
Any other table is read row by row: a card a row, each cell with the name of its column. What a table
declares (``phone=``) goes before what is reckoned here. The rules are in ``phone.css``.
"""

import re
from collections.abc import Sequence
from functools import cache
from html import escape

GRID, CARDS = "grid", "cards"
FORMS = (GRID, CARDS)
# A table of more cells is for looking one thing up on a large screen, and its cards would double its page.
MOST_CELLS = 2_000

# In widths of the letter size of a table there: the room of a phone of 360 px, what stands between two
# columns, and a digit or letter.
ROOM, BETWEEN, SIGN = 23.6, 0.45, 0.56
# Cells of more signs than this are sentences: two columns of them side by side are read by nobody.
SENTENCE = 42
TURNED_MOST = 24  # signs of the longest head that may be turned
TAG = re.compile(r"<(table|thead|tbody|tr|th|td)\b( scope=\"\w+\")?")
ROLES = {
    "table": "table",
    "thead": "rowgroup",
    "tbody": "rowgroup",
    "tr": "row",
    "td": "cell",
    "th": "columnheader",
    'th scope="row"': "rowheader",
    'th scope="rowgroup"': "rowheader",
}
# Words break at spaces and after hyphens, never at a space that holds a number and its unit together.
WORD = re.compile(r"[^ \n\-]+-?")


@cache
def word_width(text: str) -> float:
    """Return the width of the longest word of a text, in widths of the letter size."""
    return max((len(word) for word in WORD.findall(text)), default=0) * SIGN


def layout(heads: Sequence[str], cells: Sequence[Sequence[str]]) -> tuple[str, frozenset[int]]:
    """Return the form of a table on a phone, and which of its heads are turned.

    Arguments:
        heads: what stands over each column, with its unit.
        cells: the texts of each row, one for each column.
    """
    if len(heads) * len(cells) > MOST_CELLS:
        return GRID, frozenset()
    if len(heads) > 2 and _sentences(cells) > 1:
        return CARDS, frozenset()
    least = [max((word_width(row[i]) for row in cells), default=0.0) for i in range(len(heads))]
    room = ROOM - BETWEEN * len(heads)
    wanted = [max(width, word_width(head)) for width, head in zip(least, heads, strict=True)]
    if sum(wanted) <= room:
        return GRID, frozenset()
    # The widest heads first, and no more of them than it takes; that of the first column names the rows.
    turned: set[int] = set()
    for i in sorted(range(1, len(heads)), key=lambda i: least[i] - wanted[i]):
        if wanted[i] <= least[i] or len(heads[i]) > TURNED_MOST:
            continue
        turned.add(i)
        wanted[i] = max(least[i], 1.4)
        if sum(wanted) <= room:
            return GRID, frozenset(turned)
    return CARDS, frozenset()


def _sentences(cells: Sequence[Sequence[str]]) -> int:
    """Return how many columns, after the first, hold sentences."""
    columns = list(zip(*cells, strict=True))[1:]
    return sum(any(len(text) > SENTENCE for text in column) for column in columns)


def as_cards(table: str, heads: Sequence[str]) -> str:
    """Return a table's HTML with what its cards need: each cell's head, and the roles that blocks would lose.

    Arguments:
        table: ``<table>`` to ``</table>``.
        heads: what stands over each column, in one line.
    """
    column = 0

    def tag(found: re.Match) -> str:
        nonlocal column
        name, scope = found[1], found[2] or ""
        role = ROLES.get(f"{name}{scope}") or ROLES[name]
        if name == "tr":
            column = 0
        of_cell = ""
        if name == "td" or scope == ' scope="row"':
            of_cell = f' data-head="{escape(heads[column])}"' if column < len(heads) else ""
            column += 1
        on_table = f' data-phone="{CARDS}"' if name == "table" else ""
        return f'<{name}{scope} role="{role}"{of_cell}{on_table}'

    return TAG.sub(tag, table)
