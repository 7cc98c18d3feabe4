"""Tables: what varies, what comes from the house, what they print."""

import csv
import hashlib
import io
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from handbook_calc.engine import quantities, spread
from handbook_calc.engine.bench import Bench
from handbook_calc.engine.faults import CalculationFault, OutOfRange, Refusal
from handbook_calc.engine.known import Derived, DerivedCount, Judged, Known, Sided, judged
from handbook_calc.engine.phone import FORMS

TABLES: dict[str, "Table"] = {}
# A text that starts with one of these is a formula to a spreadsheet; the last four are wide forms.
FORMULA = re.compile(r"\s*[=+\-@＝＋－＠]")
# A signed number and a dash alone do no harm, and stay what they are.
HARMLESS = re.compile(r"\s*[+-]?(?:\d+(?:\.\d+)?(?:e[+-]?\d+)?\s*%?)?\s*", re.IGNORECASE)
DIGITS_AS_GIVEN = 7  # most digits of a cell that is printed as given
REFUSED = "refused"  # the word of a cell for which house values that are each allowed give no answer
NAMING = 3  # most columns that name a row
LATEST = 6  # house values named where a table fails; the one at fault was read shortly before


@dataclass(frozen=True)
class Column:
    """A column of a table.

    Attributes:
        title: heading.
        unit: unit of its numbers; ``text`` for words.
        digits: significant digits; 0 prints numbers as given, for what varies in a table.
        group: a heading over neighbouring columns that share it.
        axis: where the heading is a value of an axis, its number and unit.
        metric: it stays in its unit for readers of US units too, as the size of a grit.
    """

    title: str
    unit: str = "text"
    digits: int = 3
    group: str = ""
    axis: tuple[float, str] | None = None
    metric: bool = False

    @property
    def us_unit(self) -> str:
        """Return the unit that a reader of US units wants; nothing where there is none."""
        return "" if self.metric else quantities.US_UNITS.get(self.unit, "")


@dataclass(frozen=True)
class Mark:
    """A cell that allows or forbids.

    Attributes:
        state: ``go``, ``wait`` or ``stop``.
        word: what is printed.
        of: the verdict behind it; where it hangs on spans, the cell says where it would be another.
        flips: these sentences; a table that is filled has them from `of`.
    """

    state: str
    word: str
    of: str = field(default="", compare=False)
    flips: tuple[str, ...] = ()

    @property
    def said(self) -> str:
        """Return the word, with a ``but`` where the spans allow another."""
        return f"{self.word}, but" if self.flips else self.word


@dataclass(frozen=True)
class Span:
    """A cell with what it may really be: a result whose inputs are known as spans becomes one by itself.

    What a table fills in by hand is a range of other meaning, which its notes say.
    """

    low: float
    value: float
    high: float
    dominant: tuple[str, ...] = field(default=(), compare=False)
    side: int = field(default=0, compare=False)


@dataclass(frozen=True)
class Refused:
    """A cell for which the calculation refuses; the reason is printed below the table."""

    reason: str
    word: str = "stop"


@dataclass(frozen=True)
class Link:
    """A cell that leads somewhere (`href`, from the site's root) or that can be led to (`anchor`)."""

    word: str
    href: str = ""
    anchor: str = ""


@dataclass(frozen=True)
class Links:
    """A cell of several links."""

    links: tuple[Link, ...]

    @property
    def word(self) -> str:
        """Return the texts of the links."""
        return ", ".join(link.word for link in self.links)


@dataclass(frozen=True)
class Banner:
    """The only cell of a row that heads the rows below it."""

    word: str


@dataclass(frozen=True)
class Sheet:
    """What a table's function returns: columns, rows of cells, and notes found on the way.

    A cell is a float, an int, a text, None (nothing to say), or one of the classes above.
    """

    columns: Sequence[Column]
    rows: Sequence[Sequence]
    notes: Sequence[str] = ()


@dataclass(frozen=True)
class Computed:
    """A table filled in for one house standard."""

    id: str
    title: str
    question: str
    stage: str
    columns: tuple[Column, ...]
    rows: tuple[tuple, ...]
    notes: tuple[str, ...]
    values: tuple[str, ...]
    calculations: tuple[str, ...]
    sources: tuple[str, ...]
    filters: tuple[int, ...] = ()
    phone: str = ""
    refused: str = ""  # why the whole table could not be computed

    def places_refused(self) -> list[str]:
        """Return what the house values give no answer for: the whole table, or cells by their row."""
        if self.refused:
            return [self.refused]
        return [
            f"row {shown(row[0], self.columns[0])}: {cell.reason}"
            for row in self._rows_of_cells()
            for cell in dict.fromkeys(c for c in row if isinstance(c, Refused) and c.word == REFUSED)
        ]

    def _sentences(self) -> list[str]:
        """Return where marks would be others, by row."""
        return [
            f"row {shown(row[0], self.columns[0])}: {sentence}"
            for row in self._rows_of_cells()
            for sentence in dict.fromkeys(sentence for cell in row for sentence in _flips(cell))
        ]

    @cached_property
    def cell_names(self) -> list[list[str]]:
        """Return by row what each cell is called: ``row | column``; empty where a cell only names its row.

        A row is called by its first words that tell it from the others, below the heading over it, if any.
        """
        heads = _unlike(self.columns)
        labels: list[tuple[str, ...] | None] = []
        banner = ""
        for row in self.rows:
            if isinstance(row[0], Banner):
                banner = row[0].word
                labels.append(None)
            else:
                labels.append((banner, *map(shown, row[:NAMING], self.columns[:NAMING])))
        rows = [label for label in labels if label]
        width = self._naming_columns(rows)
        names = iter(numbered([" / ".join(filter(None, row[: width + 1])) or "row" for row in rows]))
        first = 0 if len(heads) == 1 else 1
        return [
            ["" if i < first else f"{name} | {head}" for i, head in enumerate(heads)] if label else []
            for label in labels
            for name in [next(names) if label else ""]
        ]

    @cached_property
    def digest(self) -> str:
        """Return what tells all that a reader sees of the table from any other state of it."""
        seen = [self.title, *self.notes, *self._sentences()]
        for row, names in zip(self.rows, self.cell_names, strict=True):
            seen += [f"{n} {shown(cell, c)}" for cell, c, n in zip(row, self.columns, names, strict=False)]
            seen += [cell.reason for cell in row if isinstance(cell, Refused)]
        return hashlib.sha256("\n".join(seen).encode()).hexdigest()

    def _naming_columns(self, rows: list[tuple[str, ...]]) -> int:
        """Return how many columns name a row: as many of words as it takes to tell the rows apart."""
        width = 1
        while len({row[: width + 1] for row in rows}) < len(rows):
            if width >= min(NAMING, len(self.columns) - 1) or self.columns[width].unit != "text":
                break
            width += 1
        return width

    def _rows_of_cells(self) -> list[tuple]:
        return [row for row in self.rows if not isinstance(row[0], Banner)]

    def csv(self) -> str:
        """Return the table as CSV: one heading line with units, numbers to six digits."""
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        cells = self._rows_of_cells()
        spans = [any(isinstance(row[i], Span) for row in cells) for i in range(len(self.columns))]
        flips = [any(_flips(row[i]) for row in cells) for i in range(len(self.columns))]
        heading: list[str] = []
        for column, spanned, flipping in zip(self.columns, spans, flips, strict=True):
            name = " ".join(filter(None, (column.group, column.title)))
            unit = "" if column.unit in ("text", "1") else f" [{column.unit}]"
            heading += [f"{name}{unit}"]
            if spanned:
                heading += [f"{name} low{unit}", f"{name} high{unit}"]
            if flipping:
                heading += [f"{name} but"]
        writer.writerow(map(no_formula, heading))
        for row in self._rows_of_cells():
            line: list = []
            for cell, spanned, flipping in zip(row, spans, flips, strict=True):
                line += _csv_cells(cell, spanned)
                if flipping:
                    line += [no_formula("; ".join(_flips(cell)))]
            writer.writerow(line)
        return out.getvalue()

    def plain(self) -> dict:
        """Return the table as plain data."""
        return {
            "id": self.id,
            "title": self.title,
            "columns": [{"title": c.title, "group": c.group, "unit": c.unit} for c in self.columns],
            "rows": [[_plain_cell(cell) for cell in row] for row in self._rows_of_cells()],
            "notes": list(self.notes),
            "values": list(self.values),
            "calculations": list(self.calculations),
            "sources": list(self.sources),
        }

    def text(self) -> str:
        """Return the table as aligned text."""
        heading = [" ".join(filter(None, (c.group, c.title, _bracketed(c.unit)))) for c in self.columns]
        lines = [heading] + [
            [shown(cell, column) for cell, column in zip(row, self.columns, strict=True)]
            for row in self._rows_of_cells()
        ]
        widths = [max(len(line[i]) for line in lines) for i in range(len(heading))]
        body = [
            "  ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip()
            for line in lines
        ]
        rule = "  ".join("-" * width for width in widths)
        notes = [f"Note: {note}" for note in (*self._sentences(), *self.notes)]
        return "\n".join([self.title, "", body[0], rule, *body[1:], *([""] if notes else []), *notes])


def _unlike(columns: Sequence[Column]) -> list[str]:
    """Return headings of which none is there twice: with the unit where that tells them apart."""
    heads = [" ".join(filter(None, (column.group, column.title))) for column in columns]
    return numbered(
        [
            f"{head} [{column.unit}]" if heads.count(head) > 1 and column.unit != "text" else head
            for head, column in zip(heads, columns, strict=True)
        ]
    )


def numbered(names: list[str]) -> list[str]:
    """Return names of which the second of a kind is called ``name (2)``."""
    counts: dict[str, int] = {}
    found = []
    for name in names:
        counts[name] = counts.get(name, 0) + 1
        found.append(name if counts[name] == 1 else f"{name} ({counts[name]})")
    return found


def _bracketed(unit: str) -> str:
    return "" if unit in ("text", "1") else f"[{quantities.label(unit)}]"


def shown(cell, column: Column) -> str:
    """Return a cell as people read it, without its unit, which stands in the heading."""
    if cell is None:
        return "–"
    if isinstance(cell, str):
        return cell
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, int):
        return str(cell)
    if isinstance(cell, float):
        return quantities.show(cell, "1", column.digits, side_of(cell))
    if isinstance(cell, Span):
        return _shown_span(cell, column)
    return cell.said if isinstance(cell, Mark) else cell.word


def side_of(cell) -> int:
    """Return the side to which a number is printed: 1 up, -1 down, 0 to the nearest."""
    return getattr(cell, "side", 0)


def _flips(cell) -> tuple[str, ...]:
    return cell.flips if isinstance(cell, Mark) else ()


def _shown_span(cell: Span, column: Column) -> str:
    if isinstance(cell.value, int):
        text, low, high = spread.whole_texts(cell.value, cell.low, cell.high)
    else:
        digits = column.digits or DIGITS_AS_GIVEN
        text, low, high = quantities.interval_texts(cell.value, cell.low, cell.high, digits, cell.side)
    if text == low == high:
        return shown(cell.value if isinstance(cell.value, int) else Sided(cell.value, cell.side), column)
    return f"{text} ({low} to {high})"


def _settled(cell):
    """Return a cell as it is printed: a number that comes from spans with its interval, any other plain."""
    if isinstance(cell, Derived | DerivedCount):
        interval = cell.interval
        if interval is None or not interval.dominant:
            return (
                int(cell) if isinstance(cell, int) else Sided(cell, cell.side) if cell.side else float(cell)
            )
        dominant = tuple(map(cell.call.name_of, interval.dominant))
        return Span(interval.low, interval.value, interval.high, dominant, side_of(cell))
    if isinstance(cell, Mark) and isinstance(cell.of, Judged):
        return replace(cell, of=str(cell.of), flips=cell.of.flips)
    if isinstance(cell, Known):
        return Span(cell.ends[0], float(cell), cell.ends[1]) if cell.leaf else float(cell)
    return cell


def figure(value, unit: str, digits: int = 2) -> str:
    """Return a number for a note, with its interval where it comes from spans: ``4.0 mm (2.0 to 8.0)``."""
    cell = _settled(value)
    if isinstance(cell, Span):
        return quantities.show_interval(cell.value, cell.low, cell.high, unit, digits, cell.side)
    return quantities.show(cell, unit, digits, side_of(cell))


def capped(value, most: float) -> Any:
    """Return a cell of which neither the value nor the ends of its interval are printed above a limit."""
    cell = _settled(value)
    if isinstance(cell, Span):
        return Span(
            min(cell.low, most), min(cell.value, most), min(cell.high, most), cell.dominant, cell.side
        )
    return min(cell, most)


def _csv_cells(cell, spanned: bool) -> list:
    if isinstance(cell, Span):
        return [f"{n:.6g}" for n in (cell.value, cell.low, cell.high)]
    plain = cell.word if isinstance(cell, Mark) else _plain_cell(cell)
    text = "" if plain is None else f"{plain:.6g}" if isinstance(plain, float) else plain
    if isinstance(plain, str):
        text = no_formula(plain)
    return [text, "", ""] if spanned else [text]


def no_formula(text: str) -> str:
    """Return a text as a spreadsheet shows it on one line and does not reckon it out: ``'=1+1``."""
    text = re.sub(r"[\t\r\n]+", " ", text)
    return f"'{text}" if FORMULA.match(text) and not HARMLESS.fullmatch(text) else text


def _plain_cell(cell):
    if isinstance(cell, Span):
        plain: dict = {"low": cell.low, "value": cell.value, "high": cell.high}
        return plain | ({"dominant": list(cell.dominant)} if cell.dominant else {})
    if isinstance(cell, Mark) and cell.flips:
        return {"value": cell.word, "flips": list(cell.flips)}
    if isinstance(cell, Mark | Refused | Link | Links | Banner):
        return cell.word
    return cell


@dataclass(frozen=True)
class Table:
    """A declared table.

    Attributes:
        id: stable name; the anchor on a page is ``table-ID``.
        title: the caption.
        question: the question at the bench that it answers.
        make: function from a `Bench` to a `Sheet`.
        notes: what a reader must know to use it.
        sources: keys beyond those of the calculations used.
        filters: titles of columns by whose words a reader may narrow the rows.
        follows: where it rests on facts of the piece, each cell that does is one calculation or a chain of
            them, and the rows stay the same for any piece; so a page can fill it anew. See `own`.
        instead_of_rows: calculators that answer for a reader's own piece where the table cannot.
        phone: how it stands on a phone, ``grid`` or ``cards``; empty where its words decide.
    """

    id: str
    title: str
    question: str
    make: Callable[[Bench], Sheet]
    stage: str
    notes: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()
    filters: tuple[str, ...] = ()
    follows: bool = True
    instead_of_rows: tuple[str, ...] = ()
    phone: str = ""

    def compute(self, house, usage=None) -> Computed:
        """Compute the table for a house standard, noting what it depends on.

        Arguments:
            house: a checked house standard.
            usage: which tables and pages use which value, for the tables about the handbook itself.

        Raises:
            CalculationFault: a calculation gives no answer; the text names the house values at work.
        """
        bench = Bench(house, usage)
        refused = ""
        try:
            sheet = self.make(bench)
        except (Refusal, OutOfRange) as fault:
            # House values that are each allowed lead to no answer: the table says so in its place.
            refused = f"{fault}; house values read last: {read_last(house, bench)}"
            sheet = Sheet([Column("No table for these house values")], [[Refused(str(fault), REFUSED)]])
        except CalculationFault as fault:
            text = f"table '{self.id}' cannot be computed: {fault}; "
            raise CalculationFault(f"{text}house values read last: {read_last(house, bench)}") from fault
        rows = tuple(tuple(map(_settled, row)) for row in sheet.rows)
        for row in rows:
            if len(row) != len(sheet.columns) and not isinstance(row[0], Banner):
                raise ValueError(f"table '{self.id}': a row has {len(row)} cells: {row}")
        return Computed(
            id=self.id,
            title=self.title,
            question=self.question,
            stage=self.stage,
            columns=tuple(sheet.columns),
            rows=rows,
            notes=(*self.notes, *sheet.notes),
            values=tuple(bench.used_values),
            calculations=tuple(bench.used_calculations),
            sources=tuple(dict.fromkeys([*self.sources, *bench.used_sources])),
            filters=tuple(i for i, column in enumerate(sheet.columns) if column.title in self.filters),
            phone=self.phone,
            refused=refused,
        )


def read_last(house, bench: Bench) -> str:
    """Return the house values that were read last, with their places; the one at fault is among them."""
    latest = [house.entry(key) for key in list(bench.used_values)[-LATEST:]]
    return ", ".join(f"{e.key} = {e.written} ({e.file}:{e.line})" for e in reversed(latest))


def table(
    id: str, *, title: str, question: str, notes: Iterable[str] = (), sources=(), filters=(), own_piece=(),
    phone: str = "",
):  # fmt: skip
    """Declare the function below, from a `Bench` to a `Sheet`, as the table `id`.

    `own_piece` names the calculators that answer for a reader's own piece, where the rows follow the piece
    in ways that a page cannot.
    """
    if phone not in ("", *FORMS):
        raise TypeError(f"table '{id}': phone is '{phone}'; it is one of {', '.join(FORMS)}, or left out")

    def declare(make):
        stage = make.__globals__.get("STAGE") or make.__module__.rpartition(".")[2]
        if id in TABLES and TABLES[id].stage != stage:
            raise TypeError(f"table '{id}' is declared in {TABLES[id].stage} already")
        rest = tuple(notes), tuple(sources), tuple(filters), not own_piece, tuple(own_piece), phone
        TABLES[id] = Table(id, title, question, make, stage, *rest)
        return make

    return declare


def attempt(compute: Callable[[], Any]) -> Any:
    """Return a cell of a table, or the marked cell that says why these house values give none."""
    try:
        return compute()
    except (Refusal, OutOfRange) as fault:
        return Refused(getattr(fault, "message", str(fault)), REFUSED)


WITHIN, BEYOND = "at or below the limit", "above the limit"


def against(limit: float, *numbers) -> Mark:
    """Return the mark of numbers of which each may be at most a limit; it says where their spans cross it."""
    word = judged(lambda *found: WITHIN if max(found) <= limit else BEYOND, *numbers)
    return Mark("go" if word == WITHIN else "wait", str(word), word)


@dataclass(frozen=True)
class Axis:
    """What varies along one side of a matrix: heading, unit, values."""

    title: str
    unit: str
    values: Sequence = field(default_factory=tuple)

    def heading(self, value) -> str:
        """Return one value of the axis as a heading with its unit."""
        return value if isinstance(value, str) else quantities.show(value, self.unit, 0)


def matrix(down: Axis, across: Axis, unit: str, cell: Callable, digits: int = 3, reasons=None) -> Sheet:
    """Return a sheet of ``cell(down value, across value)``; a refusal becomes a marked cell.

    Arguments:
        down: the row axis; its values stand in the first column.
        across: the column axis; its title becomes the heading over the columns.
        unit: unit of the cells.
        cell: function of one value of each axis; may raise Refusal.
        digits: significant digits of the cells.
        reasons: code of a refusal -> one sentence for all its cells, instead of one a cell.
    """
    columns = [Column(down.title, down.unit, 0)]
    columns += [
        Column(
            across.heading(v), unit, digits, across.title, None if isinstance(v, str) else (v, across.unit)
        )
        for v in across.values
    ]
    rows = []
    # A value of an axis is one of several tried, so it has no span, wherever it was taken from.
    down, across = (
        replace(axis, values=[float(v) if isinstance(v, float) else v for v in axis.values])
        for axis in (down, across)
    )
    for row_value in down.values:
        row: list = [row_value]
        for column_value in across.values:
            try:
                row.append(cell(row_value, column_value))
            except Refusal as refusal:
                row.append(Refused((reasons or {}).get(refusal.code, refusal.message)))
            except OutOfRange as fault:
                row.append(Refused(str(fault), REFUSED))
        rows.append(row)
    return Sheet(columns, rows)
