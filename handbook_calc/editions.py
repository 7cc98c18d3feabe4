"""The record of an edition: every value of the handbook as its readers saw it, one line a value.

A record is a CSV file that a person can read and a version control can compare: a line that says what it
is, then sorted lines with unique keys. The same handbook gives the same bytes. What is kept of a value is
its text as printed, its full number and interval, its unit, whether it forbids, and what it came from.

Other modules add lines of their own with `@recorded`: `planned` those of the plans.
"""

import csv
import hashlib
import io
import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import astuple, dataclass, fields, replace
from functools import cached_property, lru_cache
from html import unescape
from pathlib import Path

from handbook_calc import __version__
from handbook_calc import substances as facts
from handbook_calc.engine import cells, places
from handbook_calc.engine.calculation import Number, Verdict
from handbook_calc.engine.cards import DECKS, Part
from handbook_calc.engine.directives import Directive, find
from handbook_calc.engine.drawings import FOLDER as DRAWINGS
from handbook_calc.engine.drawings import Drawings
from handbook_calc.engine.faults import CalculationFault, PageFault, RecordFault, brief, unknown
from handbook_calc.engine.fields import Quantity
from handbook_calc.engine.house import Entry, House, is_of_piece
from handbook_calc.engine.registers import REGISTERS
from handbook_calc.engine.render import Renderer
from handbook_calc.engine.tables import (
    REFUSED,
    TABLES,
    Column,
    Computed,
    Mark,
    Refused,
    Span,
    no_formula,
    numbered,
    shown,
)

FORM = 2  # of the file; raised when the meaning of a line changes
UNCOUNTED = 1  # the form whose first line does not say how many follow
FOLDER = "editions"
PRINTED = "printed.csv"  # the register of printed copies, beside the records
HOUSE_PAGE = "keeper/house-standard.md"
TAG = re.compile(r"<[^>]+>")
NAME = re.compile(r"\w[\w.-]{0,19}")
# Lines of what is written in a file; all others are made from it. A fact is of any piece that has a plan.
GIVEN = HOUSE, PIECE, FACT = "house", "piece", "fact"
PLAN = "plan"
NUMBER = re.compile(r"-?[0-9]{1,30}(?:\.[0-9]{1,30})?(?:e[+-]?[0-9]{1,2})?")
DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
STATUSES = ("draft", "approved")
STOP, WAIT, GO = "stop", "wait", "go"
STATES = ("", STOP, WAIT, GO, REFUSED, "most", "least")
FORBIDS = (STOP, REFUSED)
MEND = "restore the file, or record the edition again"
# What says how far an edition has come, and is no value that anything follows from.
OF_THE_EDITION = ("house.edition", "house.date", "house.status")


@dataclass(frozen=True, slots=True)
class Line:
    """One value of an edition.

    Attributes:
        key: what it is: ``house KEY``, ``piece KEY``, ``table ID | row | column``,
            ``page SOURCE | directive``, ``sheet SOURCE``, ``fact PIECE/KEY``, ``plan PIECE | what``.
        page: where readers see it, from the folder of pages; a table's are parted by spaces.
        text: as it is printed.
        value, low, high: its number and the ends of its interval, to the digits that every machine agrees on;
            or empty.
        unit: of the number.
        state: ``stop``, ``wait``, ``go`` or ``refused``; of a limit of safety ``most`` or ``least``.
        source: what it came from: house values by key; of a house value its reason.
    """

    key: str
    page: str
    text: str
    value: str = ""
    low: str = ""
    high: str = ""
    unit: str = ""
    state: str = ""
    source: str = ""

    @property
    def kind(self) -> str:
        """Return the first word of the key."""
        return self.key.partition(" ")[0]

    @property
    def name(self) -> str:
        """Return the key without its first word."""
        return self.key.partition(" ")[2]

    @property
    def given(self) -> bool:
        """Tell whether it is written in a file, of the house or of the piece, and not made from others."""
        return self.kind in GIVEN

    @property
    def pages(self) -> list[str]:
        """Return the pages on which it stands."""
        return self.page.split()


COLUMNS = tuple(field.name for field in fields(Line))


class Record:
    """The values of one edition, by key.

    Attributes:
        edition, mark: its name and the fingerprint of its house values.
        date: the day of its approval.
        status: ``approved`` or ``draft``.
        version: of the package that computed it.
        house: the name of the bench.
        lines: by key, sorted.
    """

    def __init__(self, edition, mark, date, status, version, house, lines: Iterable[Line]) -> None:
        self.edition: str = edition
        self.mark: str = mark
        self.date: str = date
        self.status: str = status
        self.version: str = version
        self.house: str = house
        self.lines = {line.key: line for line in sorted(lines, key=lambda line: line.key)}
        self.digest = ""  # of the file that it was read from
        self.compared: dict = {}  # what differs from another record; see `changes.between`

    @property
    def title(self) -> str:
        """Return the edition with the fingerprint of its values."""
        return f"{self.edition} ({self.mark})"

    def of_kind(self, kind: str) -> Iterator[Line]:
        """Yield the lines of one kind."""
        start = f"{kind} "
        return (line for key, line in self.lines.items() if key.startswith(start))

    @cached_property
    def sources(self) -> dict[str, str]:
        """Return by table the house values that it is made from."""
        return {line.name: line.source for line in self.of_kind("table") if " | " not in line.name}

    @cached_property
    def plans(self) -> dict[str, str]:
        """Return by piece the house values and facts that its plan is made from."""
        return {line.name: line.source for line in self.of_kind(PLAN) if " | " not in line.name}

    def source_of(self, line: Line) -> tuple[str, ...]:
        """Return the house values that a value came from."""
        if line.given:
            return ()
        whole = self.plans if line.kind == PLAN else self.sources
        return tuple((line.source or whole.get(line.name.partition(" | ")[0], "")).split())

    def text(self) -> str:
        """Return the record as it is written."""
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        head = (self.edition, self.mark, self.date, self.status, self.version, self.house)
        writer.writerow(["record", FORM, *head, len(self.lines)])
        writer.writerow(COLUMNS)
        writer.writerows(astuple(line) for line in self.lines.values())
        return out.getvalue()


def clean(text: str) -> str:
    """Return a text on one line, as a spreadsheet shows it and does not reckon it out."""
    return no_formula(" ".join(text.split()))


# --- gathering ---------------------------------------------------------------------------------

Recorder = Callable[[Renderer], Iterable[Line]]
RECORDERS: list[Recorder] = []


def recorded(recorder: Recorder) -> Recorder:
    """Declare a function that yields lines of its own for a record, such as those of each plan."""
    RECORDERS.append(recorder)
    return recorder


def state_of(renderer: Renderer) -> Record:
    """Return the values of the handbook as it stands.

    Arguments:
        renderer: one that has noted every page.

    Raises:
        PageFault: a directive that cannot be filled.
        RecordFault: two values of the same key.
    """
    lines = _unique(line for recorder in RECORDERS for line in recorder(renderer))
    return _of_now(renderer, [*lines.values(), *sheet_lines(renderer)])


def sheets_of(renderer: Renderer) -> Record:
    """Return the sheets of the handbook as it stands, without its values; errors as of `state_of`."""
    return _of_now(renderer, sheet_lines(renderer))


def _of_now(renderer: Renderer, lines: Iterable[Line]) -> Record:
    standard = renderer.house
    name, _, mark = standard.edition.partition(" (")
    head = (standard["house.date"], standard["house.status"], __version__, clean(standard["house.name"]))
    return Record(name, mark.rstrip(")"), *head, lines)


def _unique(lines: Iterable[Line]) -> dict[str, Line]:
    found: dict[str, Line] = {}
    for line in lines:
        if line.key in found and found[line.key] != line:
            raise RecordFault(f"two values are called '{line.key}'; rename one, or its row or column")
        found[line.key] = line
    return found


@recorded
def house_lines(renderer: Renderer) -> Iterator[Line]:
    """Yield every house value and every fact of the piece, with its reason as what it came from."""
    return (_line_of_value(key, entry) for key, entry in renderer.house.entries.items())


def _line_of_value(key: str, entry: Entry) -> Line:
    number = _numbers(entry.value, *(entry.span or ())) if isinstance(entry.field, Quantity) else {}
    return Line(
        f"{PIECE if is_of_piece(key) else HOUSE} {key}",
        HOUSE_PAGE,
        clean(entry.show()),
        **number,
        unit=_unit(entry.field.unit),
        state=getattr(entry.field, "limit", ""),
        source=clean(entry.reason),
    )


@recorded
def table_lines(renderer: Renderer) -> Iterator[Line]:
    """Yield every cell and note of every table that a page shows, but of those about the handbook itself."""
    for name, pages in renderer.usage.table_pages.items():
        if name not in REGISTERS and name in TABLES:
            yield from _lines_of_table(renderer.computed(name), " ".join(sorted(pages)))


def _lines_of_table(table: Computed, page: str) -> Iterator[Line]:
    yield Line(f"table {table.id}", page, clean(table.title), source=" ".join(sorted(table.values)))
    for number, note in enumerate(table.notes, 1):
        yield Line(f"table {table.id} | note {number}", page, clean(note))
    for row, names in zip(table.rows, table.cell_names, strict=True):
        for cell, column, name in zip(row, table.columns, names, strict=False):
            if name:
                yield line_of_cell(cell, column, cell_key(table, name), page)


def cell_key(table: Computed, name: str) -> str:
    """Return the key of a cell of a table by its name there."""
    return f"table {table.id} | {clean(name)}"


def marks(table: Computed, record: Record) -> dict[tuple[int, int], Line | None]:
    """Return by row and column what each cell was that is not as recorded; None for a cell that is new."""
    if f"table {table.id}" not in record.lines:
        return {}  # the whole table is new, and marking each cell would say nothing
    found: dict[tuple[int, int], Line | None] = {}
    for i, (row, names) in enumerate(zip(table.rows, table.cell_names, strict=True)):
        for j, (cell, column, name) in enumerate(zip(row, table.columns, names, strict=False)):
            if not name:
                continue
            line = line_of_cell(cell, column, cell_key(table, name), "")
            was = record.lines.get(line.key)
            if was is None:
                found[i, j] = None
            elif was.text != line.text:
                found[i, j] = was
    return found


def line_of_cell(cell, column: Column, key: str, page: str) -> Line:
    """Return the line of one cell of a table."""
    unit = _unit(column.unit)
    text = clean(shown(cell, column))
    if isinstance(cell, Span):
        return Line(key, page, text, **_numbers(cell.value, cell.low, cell.high), unit=unit)
    if isinstance(cell, Mark):
        return Line(key, page, text, state=cell.state)
    if isinstance(cell, Refused):
        state = REFUSED if cell.word == REFUSED else STOP
        return Line(key, page, clean(f"{cell.word}: {cell.reason}"), state=state)
    return Line(key, page, text, **_numbers(cell), unit=unit)


@recorded
def page_lines(renderer: Renderer) -> Iterator[Line]:
    """Yield every figure in a sentence, and the first answer of every calculator, of every page."""
    for page, directives in renderer.asked.items():
        for asked in directives:
            if asked.verb in ("value", "calc", "cards", "picture", "plot") and not asked.complaint:
                yield from _lines_of_directive(renderer, page, asked)


def _lines_of_directive(renderer: Renderer, page: str, asked: Directive) -> Iterator[Line]:
    key = f"page {page} | {asked.written}"
    if asked.verb == "cards":
        yield from _lines_of_cards(renderer, page, asked.name, key)
        return
    if asked.verb == "picture":
        for inner in renderer.drawings[asked.name].asked if asked.name in renderer.drawings else ():
            for line in _lines_of_directive(renderer, page, inner):
                yield replace(line, key=f"{key} | {inner.written}")
        return
    if asked.verb == "plot":
        drawn = renderer.drawn(asked.name)
        state = REFUSED if drawn.refused else ""
        told = f"refused: {drawn.refused}" if drawn.refused else f"{drawn.title}. {drawn.words}"
        yield Line(key, page, clean(told), state=state, source=" ".join(sorted(drawn.values)))
        return
    if asked.verb == "value" and asked.name in renderer.house.entries:
        line = _line_of_value(asked.name, renderer.house.entries[asked.name])
        yield replace(line, key=key, page=page, state="", source=asked.name)
        return
    if asked.verb == "value" and facts.is_fact(asked.name):
        text, chosen = facts.fact(renderer.house, asked.name)
        yield Line(key, page, clean(text), source=chosen)
        return
    try:
        answer, used = renderer.answer(asked)
    except CalculationFault as fault:
        raise PageFault(f"{page}:{asked.line}: {fault}") from None
    source = " ".join(sorted(used))
    if answer.refused:
        yield Line(key, page, clean(f"refused: {answer.refused}"), state=REFUSED, source=source)
        return
    given = answer.given()
    results = answer.calculation.results
    wanted = [answer.calculation.result(asked.name.partition(".")[2])] if asked.verb == "value" else results
    for declared in wanted:
        value = answer.results[declared.name]
        number, unit = {}, ""
        if isinstance(declared, Number):
            interval = answer.interval(declared.name)
            number = _numbers(value, *((interval.low, interval.high) if interval else ()))
            unit = _unit(declared.unit)
        stops = isinstance(declared, Verdict) and value in (declared.stops or ())
        named = f"{key} | {declared.name}" if asked.verb == "calc" else key
        text = clean(answer.show(declared.name, given))
        yield Line(named, page, text, **number, unit=unit, state=STOP if stops else "", source=source)


def _lines_of_cards(renderer: Renderer, page: str, deck: str, key: str) -> Iterator[Line]:
    """Yield each part of each card of a deck, in the words in which it is printed."""
    if deck not in DECKS:
        raise PageFault(unknown("deck of cards", deck, DECKS))
    for card in DECKS[deck].make(renderer.house):
        yield Line(f"{key} | {card.anchor}", page, clean(f"{_plain(renderer, card.title)} {card.signal}"))
        heads = numbered([clean(part.head if isinstance(part, Part) else part.title) for part in card.parts])
        for part, head in zip(card.parts, heads, strict=True):
            said = "; ".join(_plain(renderer, text) for text in part.texts())
            used = dict.fromkeys(key for text in part.texts() for key in _used_in(renderer, text))
            yield Line(f"{key} | {card.anchor} | {head}", page, clean(said), source=" ".join(sorted(used)))


def _plain(renderer: Renderer, text: str) -> str:
    """Return a text of a card as a reader sees it, each directive in it filled."""
    return unescape(TAG.sub("", renderer.filled(text)))


def _used_in(renderer: Renderer, text: str) -> Iterator[str]:
    """Yield the house values that a text of a card is filled from."""
    for asked in find(text):
        if asked.name in renderer.house.entries:
            yield asked.name
        elif facts.is_fact(asked.name):
            yield from filter(None, [facts.followed(asked.name)])
        else:
            yield from renderer.answer(asked)[1]


def _unit(unit: str) -> str:
    return "" if unit in ("text", "rows", "1") else unit


def _numbers(value, *ends: float) -> dict[str, str]:
    """Return a number and the ends of its interval as fields of a line; nothing for what is no number."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return {}
    written = [str(int(n)) if isinstance(n, int) else f"{n:.12g}" for n in (value, *ends)]
    return dict(zip(("value", "low", "high"), written, strict=False))


# --- sheets ------------------------------------------------------------------------------------

SIGNS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"  # none is taken for another in a bad print
CODE_LENGTH = 6


def sheet_lines(renderer: Renderer) -> Iterator[Line]:
    """Yield a line for each page: its short code, its title as the unit, and digests of what it holds.

    The digests are of its words and of its values, without the edition. Tables about the handbook itself are
    no part of them: they tell of the edition.
    """
    for page, text in renderer.texts.items():
        shows = []
        for asked in renderer.asked[page]:
            if asked.verb == "table" and asked.name in TABLES and asked.name not in REGISTERS:
                shows.append(renderer.computed(asked.name).digest)
            elif asked.verb in ("value", "calc", "cards") and not asked.complaint:
                lines = _lines_of_directive(renderer, page, asked)
                shows += [f"{line.key} {line.text}" for line in lines if not of_the_edition(line.source)]
            elif asked.verb in ("picture", "plot") and not asked.complaint:
                shows.append(hashlib.sha256(renderer.html_of(asked).encode()).hexdigest())
        words, values = (
            hashlib.sha256(held.encode()).hexdigest()[:8] for held in (text, "\n".join(sorted(shows)))
        )
        code = sheet_code(page, renderer.house.edition, f"{words}{values}")
        title = clean(renderer.usage.titles.get(page, page))
        yield Line(f"sheet {page}", page, code, unit=title, source=f"{words} {values}")


def sheet_code(page: str, edition: str, content: str) -> str:
    """Return the short code that stands on a printed sheet: of its page, edition and content."""
    number = int.from_bytes(hashlib.sha256(f"{page}\n{edition}\n{content}".encode()).digest()[:8], "big")
    signs = ""
    for _ in range(CODE_LENGTH):
        number, place = divmod(number, len(SIGNS))
        signs += SIGNS[place]
    return f"{signs[:3]}-{signs[3:]}"


# --- files -------------------------------------------------------------------------------------


def path_of(docs: Path, edition: str) -> Path:
    """Return where the record of an edition is kept.

    Raises:
        RecordFault: the name is none that an edition may have.
    """
    if not NAME.fullmatch(edition):
        raise RecordFault(
            f"edition '{brief(edition)}' is no name of an edition; allowed are up to 20 letters, digits, "
            "'.', '_' and '-', of which the first is a letter or digit"
        )
    return docs / FOLDER / f"{edition}.csv"


def read(path: Path) -> Record:
    """Read a record.

    Raises:
        RecordFault: which file and line, what is wrong, what to do.
    """
    try:
        text = cells.text_of(path)
    except FileNotFoundError:
        known = ", ".join(names(path.parent.parent)) or "none"
        raise RecordFault(f"no record of edition '{path.stem}'; recorded are: {known}") from None
    except cells.BadCells as error:
        raise RecordFault(f"{FOLDER}/{path.name}:{error.line}: {error.told}; {MEND}") from None
    return _parsed(text, path.name)


@lru_cache(maxsize=16)
def _parsed(text: str, name: str) -> Record:
    def fault(line: int, told: str) -> RecordFault:
        return RecordFault(f"{FOLDER}/{name}:{line}: {told}; {MEND}")

    try:
        rows = list(cells.rows_of(text))
    except cells.BadCells as error:
        raise fault(error.line, error.told) from None
    head = rows[0][1] if rows else []
    if len(head) < 8 or head[0] != "record":
        raise fault(1, "is no record of an edition")
    if head[1] not in (str(FORM), str(UNCOUNTED)):
        raise fault(1, f"is a record of form {brief(head[1])}, and this version reads form {FORM}")
    counted = head[1] != str(UNCOUNTED)
    if len(head) != (9 if counted else 8) or (counted and not re.fullmatch(r"[0-9]{1,9}", head[8])):
        raise fault(1, "is no record of an edition: its first line does not end with how many follow")
    if len(rows) < 2:
        raise fault(1, "ends behind its first line")
    edition, mark, date, status, version, house = head[2:8]
    if f"{edition}.csv" != name:
        raise fault(1, f"is the record of edition {brief(edition)}, which is kept in {brief(edition)}.csv")
    if not DAY.fullmatch(date) or status not in STATUSES:
        raise fault(1, f"is of {brief(date)}, {brief(status)}; allowed is a day, and {' or '.join(STATUSES)}")
    if tuple(rows[1][1]) != COLUMNS:
        raise fault(2, f"has other columns than {', '.join(COLUMNS)}")
    lines: list[Line] = []
    for number, row in rows[2:]:
        if len(row) != len(COLUMNS):
            raise fault(number, f"has {len(row)} entries where {len(COLUMNS)} are wanted")
        if lines and row[0] <= lines[-1].key:
            raise fault(number, f"'{brief(row[0])}' is there twice or out of order")
        lines.append(Line(*row))
        if slip := _slip(lines[-1]):
            raise fault(number, slip)
    if counted and (len(lines) != int(head[8]) or not text.endswith("\n")):
        last = rows[-1][0]
        if len(lines) > int(head[8]):
            raise fault(last, f"holds {len(lines):,} values where its first line says {int(head[8]):,}")
        raise fault(last, f"is cut short here: {len(lines):,} of {int(head[8]):,} values are there")
    record = Record(edition, mark, date, status, version, house, lines)
    record.digest = hashlib.sha256(text.encode()).hexdigest()[:16]
    return record


def _slip(line: Line) -> str:
    """Return what a line of a record holds that none is written with; empty for a sound one."""
    for told, written in (("value", line.value), ("low", line.low), ("high", line.high)):
        if written and not NUMBER.fullmatch(written):
            return f"{told} = {brief(written)} is no number"
    if line.state not in STATES:
        return f"state = {brief(line.state)}; allowed is {', '.join(filter(None, STATES))} or nothing"
    if line.kind == "sheet" and len(line.source.split()) != 2:
        return f"source = {brief(line.source)} is not the two digests of a sheet"
    return ""


def names(docs: Path) -> list[str]:
    """Return the recorded editions by name, in order of their numbers.

    Every CSV file of the folder is a record but the register of printed copies: one that has been harmed must
    be told, and not passed over.
    """
    found = [path.stem for path in (docs / FOLDER).glob("*.csv") if path.name != PRINTED]
    return sorted(found, key=in_order)


def in_order(name: str) -> list[tuple[float, str]]:
    """Return what sorts ``2026.10`` behind ``2026.9``."""
    parts = re.split(r"([0-9]+)", name)
    return [(float(part), "") if at % 2 else (0, part) for at, part in enumerate(parts)]


def records(docs: Path) -> list[Record]:
    """Return every record, the oldest first by its day; the errors are those of `read`."""
    found = [read(path_of(docs, name)) for name in names(docs)]
    return sorted(found, key=lambda record: (record.date, in_order(record.edition)))


def earlier(now: House, known: list[Record]) -> Record | None:
    """Return the record that a reader wants the standard compared with; None where there is none.

    It is the record of this edition where house values have changed since, else the one before this edition.
    """
    own = [record for record in known if record.house == clean(now["house.name"])]
    same = next((record for record in own if record.edition == now["house.edition"]), None)
    if same and changed_values(now, same):
        return same
    before = [record for record in own if record is not same]
    return before[-1] if before else same


def save(record: Record, docs: Path, again: bool = False) -> tuple[Path, bool]:
    """Write a record; return its file, and whether anything was written.

    Arguments:
        record: the state of the handbook.
        docs: the folder of pages.
        again: replace a record of the same edition that differs.

    Raises:
        RecordFault: another record of this edition is there, or the file cannot be written.
    """
    path = path_of(docs, record.edition)
    text = record.text()
    try:
        if path.is_file():
            if path.read_text(encoding="utf-8", errors="replace") == text:
                return path, False
            if not again:
                raise RecordFault(
                    f"edition {record.edition} is recorded already, and this is not the same; raise "
                    "house.edition and house.date, or say --again to replace the record that readers know"
                )
        cells.write(path, text)
    except OSError as error:
        raise RecordFault(f"{path}: cannot be written: {error.strerror}; nothing is recorded") from None
    return path, True


# --- is the edition raised? --------------------------------------------------------------------


def is_draft(now: House) -> bool:
    """Tell whether the standard is marked as not approved."""
    return now["house.status"] != "approved"


def of_the_edition(key: str) -> bool:
    """Tell whether a house value says how far the edition has come, and nothing follows from it."""
    return key in OF_THE_EDITION or key.startswith("approval.")


def changed_values(now: House, record: Record) -> dict[str, tuple[str, str]]:
    """Return by key the house values that are not as recorded: the text then and now, empty for none.

    A fact of the piece is no house value: it differs from piece to piece, and no edition is raised for it.
    """
    then = {line.name: line for line in record.of_kind(HOUSE)}
    found = {}
    for key in dict.fromkeys([*now.entries, *then]):
        if of_the_edition(key) or is_of_piece(key):
            continue
        was = then.get(key)
        entry = now.entries.get(key)
        is_now = clean(entry.show()) if entry else ""
        if is_now != (was.text if was else ""):
            found[key] = (was.text if was else "", is_now)
    return found


def not_raised(now: House, known: list[Record]) -> list[str]:
    """Return the faults of an approved standard that has changed and still goes by a recorded edition.

    Arguments:
        now: the standard.
        known: every record.
    """
    own = [record for record in known if record.house == clean(now["house.name"])]
    if not own or is_draft(now):
        return []
    edition, date = now.entry("house.edition"), now.entry("house.date")
    same = next((record for record in own if record.edition == edition.value), None)
    if same:
        return [
            f"{_place(now, key)}: {key}: is {is_now or 'not set'}, and the record of edition "
            f"{same.edition} has {was or 'no such value'}; raise house.edition and house.date, "
            "or set house.status to draft"
            for key, (was, is_now) in changed_values(now, same).items()
        ]
    last = own[-1]
    changed = changed_values(now, last)
    if changed and date.value <= last.date:
        keys = ", ".join(changed)
        return [
            f"{date.file}:{date.line}: house.date: {date.value} is not after {last.date}, the day of edition "
            f"{last.edition}, from which {keys} differ; write the day of this edition's approval"
        ]
    return []


def _place(now: House, key: str) -> str:
    entry = now.entries.get(key) or now.entry("house.edition")
    return f"{entry.file}:{entry.line}"


def draft_told(now: House, known: list[Record]) -> str:
    """Return what every page of an edition says that is none for the bench; empty for an approved one."""
    if is_draft(now):
        return "Draft, not for the bench"
    if not_raised(now, known):
        return "Draft, not for the bench: changed since its edition was recorded"
    return ""


# --- without a site ----------------------------------------------------------------------------


def rendered(standard: House, docs: Path) -> Renderer:
    """Return a renderer that has noted every page, as the build has it before the first is made.

    Raises:
        RecordFault: a page that cannot be read.
    """
    drawings = Drawings(places.handbook() / "docs" / DRAWINGS, docs / DRAWINGS)
    renderer = Renderer(standard, drawings=drawings.found)
    asked = {}
    for source, path in places.pages(docs).items():
        try:
            text = path.read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            raise RecordFault(f"docs/{source}:1: cannot be read as UTF-8 text: {error}") from None
        body = places.below_the_head(text)
        renderer.name_page(source, body)
        asked[source] = find(body)
    for source, directives in asked.items():
        renderer.read_page(source, directives)
    return renderer
