"""Printed copies: which sheets hang where, what must be printed again, and what a sheet's code tells.

The register is ``docs/editions/printed.csv``: sheet, number of the copy, place, edition. A sheet is a page by
its name, ``procedures/rinse``. What differs between the edition of a copy and this one is known from the
records; a sheet on which nothing differs still holds.
"""

import csv
import io
from collections.abc import Iterable
from dataclasses import astuple, dataclass
from pathlib import Path

from handbook_calc.changes import UNSAFE, Change, Changes, between
from handbook_calc.editions import FOLDER, PRINTED, Record, clean, draft_told, earlier, records
from handbook_calc.engine import cells
from handbook_calc.engine.faults import RecordFault, brief, nearest
from handbook_calc.engine.fields import Words
from handbook_calc.engine.house import House
from handbook_calc.engine.render import page_url
from handbook_calc.engine.tables import Column, Link, Mark, Sheet, table
from handbook_calc.reasons import as_script

HEAD = ("sheet", "copy", "place", "edition")
HOLDS, AGAIN, DOWN, LATER = "holds", "print again", "take down", "holds until this draft is approved"
MOST_COPIES = 9999
MOST_TOLD = 200  # differences of one sheet that the page of codes lists; a sheet of paper has room for fewer


@dataclass(frozen=True, order=True)
class Copy:
    """One printed sheet.

    Attributes:
        sheet: the page, without ``.md``.
        number: of the copy, from 1.
        place: where it hangs.
        edition: of which it is.
    """

    sheet: str
    number: int
    place: str
    edition: str

    @property
    def page(self) -> str:
        """Return the page's name in the folder of pages."""
        return f"{self.sheet}.md"


@dataclass(frozen=True)
class Ruling:
    """What is to be done with a copy, and why."""

    copy: Copy
    word: str
    why: str
    changes: tuple[Change, ...] = ()


@dataclass(frozen=True)
class Past:
    """What is known of the editions before this one.

    Attributes:
        records: the recorded editions.
        earlier: the one that the handbook is compared with, or None.
        copies: the printed copies.
        draft: what every page says of an edition that is none for the bench; empty for an approved one.
    """

    records: tuple[Record, ...] = ()
    earlier: Record | None = None
    copies: tuple[Copy, ...] = ()
    draft: str = ""


def past(standard: House, docs: Path) -> Past:
    """Return what is known of the editions before this state of the standard.

    Raises:
        RecordFault: a record or the register of copies cannot be read.
    """
    known = records(docs)
    return Past(tuple(known), earlier(standard, known), tuple(read(docs)), draft_told(standard, known))


def path_of(docs: Path) -> Path:
    """Return where the register of printed copies is kept."""
    return docs / FOLDER / PRINTED


def read(docs: Path) -> list[Copy]:
    """Return every printed copy; none where there is no register.

    Raises:
        RecordFault: which line, what is wrong, what is allowed.
    """
    path = path_of(docs)
    if not path.is_file():
        return []
    where = f"{FOLDER}/{PRINTED}"
    try:
        rows = list(cells.rows_of(cells.text_of(path)))
    except cells.BadCells as error:
        raise RecordFault(f"{where}:{error.line}: {error.told}") from None
    if not rows or tuple(cell.strip() for cell in rows[0][1]) != HEAD:
        raise RecordFault(f"{where}:1: does not begin with the columns {','.join(HEAD)}")
    copies: dict[tuple[str, int], Copy] = {}
    for line, row in rows[1:]:
        if not any(cell.strip() for cell in row):
            continue
        if len(row) != len(HEAD):
            raise RecordFault(f"{where}:{line}: has {len(row)} entries; allowed is {','.join(HEAD)}")
        sheet, number, place, edition = (cell.strip() for cell in row)
        try:
            count = cells.whole(number, 1, MOST_COPIES)
        except ValueError as error:
            raise RecordFault(f"{where}:{line}: copy {error}") from None
        if not sheet or not place or not edition:
            raise RecordFault(f"{where}:{line}: sheet, place and edition must be written")
        copy = Copy(clean(sheet.removesuffix(".md")), count, clean(place), clean(edition))
        if (copy.sheet, copy.number) in copies:
            raise RecordFault(f"{where}:{line}: copy {count} of {brief(copy.sheet)} is there twice; keep one")
        copies[copy.sheet, copy.number] = copy
    return sorted(copies.values())


def save(copies: Iterable[Copy], docs: Path) -> Path:
    """Write the register; return its file.

    Raises:
        RecordFault: it cannot be written.
    """
    path = path_of(docs)
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(HEAD)
    writer.writerows(astuple(copy) for copy in sorted(copies))
    try:
        cells.write(path, out.getvalue())
    except OSError as error:
        raise RecordFault(f"{path}: cannot be written: {error.strerror}; the register is as it was") from None
    return path


def with_copy(copies: list[Copy], sheet: str, place: str, now: Record) -> tuple[list[Copy], Copy]:
    """Return the register with a sheet that was printed, and its copy.

    A copy at the same place is taken to be replaced by it, and keeps its number.

    Raises:
        RecordFault: there is no such sheet, or the edition is a draft.
    """
    sheet = sheet.removesuffix(".md").removesuffix(".html")
    sheets = [line.name.removesuffix(".md") for line in now.of_kind("sheet")]
    if sheet not in sheets:
        raise RecordFault(f"no sheet '{brief(sheet)}'{nearest(sheet, sheets)}; a sheet is a page by its name")
    if now.status != "approved":
        raise RecordFault(f"edition {now.title} is a draft, not for the bench: print it when it is approved")
    if not place.strip():
        raise RecordFault("a copy needs a place: say where it hangs")
    try:
        place = clean(Words("place", "where it hangs").read(place))
    except ValueError as error:
        raise RecordFault(f"--place {brief(place)}: {error}") from None
    others = [copy for copy in copies if (copy.sheet, copy.place) != (sheet, place)]
    same = next((copy for copy in copies if (copy.sheet, copy.place) == (sheet, place)), None)
    number = same.number if same else 1 + max((c.number for c in copies if c.sheet == sheet), default=0)
    if number > MOST_COPIES:
        raise RecordFault(f"{sheet} has a copy {MOST_COPIES} already; strike out those that are taken down")
    copy = Copy(sheet, number, place, now.edition)
    return [*others, copy], copy


def without_copy(copies: list[Copy], sheet: str, number: str) -> list[Copy]:
    """Return the register without a copy that was taken down.

    Raises:
        RecordFault: there is no such copy.
    """
    sheet = sheet.removesuffix(".md").removesuffix(".html")
    left = [copy for copy in copies if (copy.sheet, str(copy.number)) != (sheet, number)]
    if len(left) == len(copies):
        known = ", ".join(f"{copy.sheet} {copy.number}" for copy in copies) or "none"
        raise RecordFault(f"no copy {brief(number)} of '{brief(sheet)}'; registered are: {known}")
    return left


def rulings(copies: Iterable[Copy], known: Iterable[Record], now: Record, share: float) -> list[Ruling]:
    """Return what is to be done with each copy: first what must be taken down.

    Arguments:
        copies: the register.
        known: the recorded editions.
        now: the handbook as it stands.
        share: from which a figure is told first.
    """
    of = {record.edition: record for record in known if record.house == now.house}
    differing = {
        edition: between(of[edition], now, share)
        for edition in {copy.edition for copy in copies}
        if edition in of
    }
    found = [_ruling(copy, differing.get(copy.edition), now) for copy in copies]
    order = (DOWN, AGAIN, LATER, HOLDS)
    return sorted(found, key=lambda ruling: (order.index(ruling.word), ruling.copy))


def _ruling(copy: Copy, changes: Changes | None, now: Record) -> Ruling:
    draft = now.status != "approved"
    if f"sheet {copy.page}" not in now.lines:
        return Ruling(copy, DOWN, "the handbook has no such page any more")
    if changes is None:
        if copy.edition == now.edition and not draft:
            return Ruling(copy, HOLDS, "of this edition")
        if copy.edition == now.edition:
            return Ruling(copy, DOWN, "of a draft, not for the bench")
        return Ruling(copy, AGAIN, f"edition {copy.edition} is not recorded: nobody can tell what differs")
    if changes.before.status != "approved":
        return Ruling(copy, DOWN, f"edition {copy.edition} was recorded as a draft, not for the bench")
    what = changes.sheets.get(copy.page)
    if what is None:
        said = "of this edition" if copy.edition == now.edition else "nothing on it has changed since"
        return Ruling(copy, HOLDS, said)
    on_it = on_page(changes, copy.page)
    worst = "; something on it is unsafe now" if any(change.rank == UNSAFE for change in on_it) else ""
    why = f"other {what} since edition {copy.edition}{worst}"
    return Ruling(copy, LATER if draft else AGAIN, why, on_it)


def on_page(changes: Changes, page: str) -> tuple[Change, ...]:
    """Return the changes that a reader of one page sees."""
    return tuple(change for change in changes.all if page in change.line.pages and not change.line.given)


def text_of(found: list[Ruling], now: Record) -> str:
    """Return what is to be done, as text."""
    lines = [f"edition {now.title}, {now.status}"]
    for word in (DOWN, AGAIN, LATER, HOLDS):
        those = [ruling for ruling in found if ruling.word == word]
        if those:
            title = f"{AGAIN}, and take the old one down" if word == AGAIN else word
            lines += ["", f"{title}: {len(those)}"]
            for ruling in those:
                copy = ruling.copy
                lines.append(f"  {copy.sheet}, copy {copy.number}, {copy.place}: {ruling.why}")
                lines += [f"    {change.sentence()}" for change in ruling.changes]
    return "\n".join(lines if found else [*lines, "", "no printed copy is registered"])


def plain_of(found: list[Ruling]) -> list[dict]:
    """Return what is to be done, as plain data."""
    return [
        {
            "sheet": ruling.copy.sheet,
            "copy": ruling.copy.number,
            "place": ruling.copy.place,
            "edition": ruling.copy.edition,
            "do": ruling.word,
            "why": ruling.why,
        }
        for ruling in found
    ]


# --- in the site -------------------------------------------------------------------------------


def script_data(known: tuple[Record, ...], now: Record, share: float) -> str:
    """Return the data by which the page of codes tells what a printed sheet is worth, as a script.

    Every code of every recorded edition is in it, and what a reader of that sheet would find different now.
    """
    current = {line.name: line for line in now.of_kind("sheet")}
    codes: dict[str, list] = {}
    differing: dict[str, dict] = {}
    for number, record in enumerate([*known, now]):
        if record.house != now.house:
            continue
        changes = between(record, now, share)
        for line in record.of_kind("sheet"):
            codes[line.text.replace("-", "")] = [number, line.name]
            what = changes.sheets.get(line.name) if record is not now else None
            if what is not None and line.name in current:
                told = [change.sentence() for change in on_page(changes, line.name)]
                left = len(told) - MOST_TOLD
                told = [*told[:MOST_TOLD], f"and {left} more"] if left > 0 else told
                differing[f"{number} {line.name}"] = {"what": what, "told": told}
    data = {
        "editions": [{"title": r.title, "approved": r.status == "approved"} for r in [*known, now]],
        "now": len(known),
        "sheets": {name: [line.unit, page_url(name), line.text] for name, line in current.items()},
        "codes": codes,
        "differing": differing,
    }
    return as_script("sheets", data)


# --- tables ------------------------------------------------------------------------------------

STAGE = "registers"


@table(
    "printed-copies",
    title="Printed copies, and what is to be done with each",
    question="Which printed sheets must be taken down or printed again?",
    notes=("A sheet on which nothing has changed since its edition still holds, whatever edition it names.",),
)
def printed_copies_table(bench):
    """Every copy of the register, what is to be done with it, and why."""
    handbook = bench.usage.handbook if bench.usage else None
    past = handbook.past if handbook else None
    if not handbook or not past or not past.copies:
        return Sheet([Column("Nothing registered")], [["no printed copy is registered"]])
    found = rulings(past.copies, past.records, handbook.state(), handbook.notable)
    states = {HOLDS: "go", LATER: "wait", AGAIN: "stop", DOWN: "stop"}
    rows = [
        [
            Link(bench.usage.titles.get(r.copy.page, r.copy.sheet), _url(bench, r.copy)),
            r.copy.number,
            r.copy.place,
            r.copy.edition,
            Mark(states[r.word], r.word),
            r.why,
        ]
        for r in found
    ]
    titles = ("Sheet", "Copy", "Place", "Edition", "To be done", "Why")
    return Sheet([Column(t, "1" if t == "Copy" else "text") for t in titles], rows)


def _url(bench, copy: Copy) -> str:
    return page_url(copy.page) if copy.page in bench.usage.titles else ""


@table(
    "sheet-codes",
    title="The short code of every sheet, as printed now",
    question="Is the sheet in my hand the one that is printed now?",
    notes=(
        "The code is of the page, its edition and all that it shows, and stands at the foot of each sheet.",
    ),
)
def sheet_codes_table(bench):
    """Every page with the code that a print of it carries now."""
    sheets = bench.usage.handbook.state().of_kind("sheet") if bench.usage else ()
    rows = [[Link(line.unit, page_url(line.name)), line.text] for line in sheets]
    return Sheet([Column("Sheet"), Column("Code")], rows or [["no page", "none"]])
