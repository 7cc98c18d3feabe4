"""The house standard and the piece laid over it: every value with its place and reason, read and checked.

Both are YAML read as text with positions: no value is typed by YAML, so ``no``, ``1e3`` and
``12:30`` stay what the person wrote until the declared field reads them. A house's values and a piece's facts
are declared alike, stand in files of their own, and are asked for by one kind of key.
"""

import hashlib
import os
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import yaml

from handbook_calc.engine import places, quantities, rules
from handbook_calc.engine.faults import (
    BadDeclaration,
    CalculationFault,
    Fault,
    HouseFaults,
    brief,
    declared_at,
    nearest,
    printable,
    unknown,
)
from handbook_calc.engine.fields import Field, Instead, Quantity, complaints
from handbook_calc.engine.interval import Leaf
from handbook_calc.engine.known import leaf_of
from handbook_calc.engine.memory import Memory

# What a value rests on: its reason begins with one of these words and a colon.
GRADES = {
    "Measured": "read on an instrument, here or by others under the same circumstances",
    "Published": "printed in a source that was at hand",
    "Remembered": "printed somewhere, and written down from memory",
    "Common practice": "what benches do; nobody measured that it is best",
    "Guess": "nobody knows it well; the span says how wide the guess is",
    "Chosen": "a decision of the house, not knowledge",
}
NAME = re.compile(r"[\w-]+")
ROOT = Path(__file__).resolve().parents[2]
STANDARD = Path("docs", "house-standard.yml")
TRIED = "--set"  # what messages name as the file of a value that is only tried
PIECES = "pieces"  # the folder beside the standard with a file for each piece
EXAMPLE = "LY-014.yml"  # the piece of the worked figures, where nobody names another
NOWHERE = 1  # the line of a fact that the file leaves out; nothing but a section can begin there
# What a piece's file may be: nobody types more, and what is larger or deeper was not typed.
MOST_BYTES = 65_536
MOST_DEPTH = 12


@dataclass(frozen=True)
class Family:
    """A section whose entries the house names itself, all with the same fields.

    Attributes:
        key: where it stands, for example ``coating.kinds``.
        kind: what one entry is, for messages.
        fields: the fields of one entry.
    """

    key: str
    kind: str
    fields: tuple[Field, ...]


SETTINGS: dict[str, Field] = {}
FAMILIES: dict[str, Family] = {}
OF_PIECE: dict[str, None] = {}  # the sections that a piece's file sets
DERIVED: dict[str, Callable[["House"], tuple[float, tuple[float, float]]]] = {}


def section(name: str, *fields: Field, of_piece: bool = False) -> None:
    """Declare the values of one section of the house standard, or of a piece's file.

    Raises:
        BadDeclaration: a unit that is unknown, a range without an end, or a word instead of a value that
            stands for nothing allowed.
    """
    _check_fields(name, fields, declared_at())
    SETTINGS.update({f"{name}.{field.name}": field for field in fields})
    if of_piece:
        OF_PIECE[name] = None


def is_of_piece(key: str) -> bool:
    """Say whether a key is set by a piece's file and not by the house standard."""
    return key.partition(".")[0] in OF_PIECE


def derived(key: str):
    """Declare how a fact that a piece's file leaves open is computed from others, with its span.

    Facts are computed in the order of their declarations; each takes the house, with what is known so far,
    and returns the value and the ends of its span in the declared unit.
    """

    def declare(compute):
        DERIVED[key] = compute
        return compute

    return declare


def _check_fields(name: str, fields: tuple[Field, ...], place: str) -> None:
    for complaint in (text for field in fields for text in complaints(field)):
        raise BadDeclaration(f"{place}: house values of '{name}': {complaint}")


def family(key: str, kind: str, *fields: Field) -> None:
    """Declare a section whose entries the house names itself; the errors are those of `section`."""
    _check_fields(key, fields, declared_at())
    FAMILIES[key] = Family(key, kind, fields)


@dataclass(frozen=True)
class Entry:
    """One value of the house standard.

    Attributes:
        key: for example ``rinsing.film``.
        value: a float in the declared unit, or what the field reads.
        written: the text in the file.
        file, line: where it is set.
        reason: the comment beside or above it.
        field: its declaration.
        span: 5th and 95th per cent of what the value may really be, in the declared unit, or None.
        instead: what stands in the file instead of a value, and what that costs; None where a value does.
    """

    key: str
    value: Any
    written: str
    file: str
    line: int
    reason: str
    field: Field
    span: tuple[float, float] | None = None
    instead: Instead | None = None

    @cached_property
    def leaf(self) -> Leaf | None:
        """Return the value as an input that is known as a span; None where it has none."""
        return leaf_of(self.field, self.key, self.value, self.span) if self.span else None

    @property
    def left_out(self) -> bool:
        """Tell whether the piece's file says nothing of it, not even that it is unknown."""
        return self.instead is not None and self.line == NOWHERE

    @property
    def grade(self) -> str:
        """Return what the value rests on, by the first words of its reason; empty where they do not say."""
        word, colon, _ = self.reason.partition(":")
        return word if colon and word in GRADES else ""

    @property
    def why(self) -> str:
        """Return the reason without the words that say what it rests on."""
        why = self.reason.partition(":")[2].strip() if self.grade else self.reason
        return why[:1].upper() + why[1:]

    def show(self) -> str:
        """Return the value as the house wrote it, with another unit only where that differs."""
        if self.value is None:
            return self.written
        if not isinstance(self.field, Quantity):
            return self.field.show(self.value)
        if self.instead and not self.instead.taken and self.span:
            return quantities.show_interval(self.value, *self.span, self.field.unit)
        number, unit = quantities.split(self.written)
        unit = unit or self.field.unit
        if not self.span:
            return quantities.show(number, unit, 0)
        return quantities.show_span(number, *self.ends_in(unit), unit)

    def ends_in(self, unit: str) -> tuple[float, float]:
        """Return the ends of the span in another unit."""
        assert self.span is not None
        low, high = (quantities.convert(end, self.field.unit, unit) for end in self.span)
        return low, high


class House:
    """A checked house standard, with the facts of a piece laid over it.

    Attributes:
        files: the standard, and the differences laid over it.
        piece: the piece's file.
        misfits: what this bench cannot do for the piece, each told at the house value in the way.
        memory: of how the runs of calculations spread, each computed once.
    """

    def __init__(
        self,
        entries: dict[str, Entry],
        files: list[Path],
        misfits: tuple[Fault, ...] = (),
        piece: Path | None = None,
        memory: Memory | None = None,
    ) -> None:
        self.entries = entries
        self.files = files
        self.misfits = misfits
        self.piece = piece
        self._names: dict[str, tuple[str, ...]] = {}
        self.memory = memory or Memory()

    def __getitem__(self, key: str) -> Any:
        """Return the value of `key` in its declared unit.

        Raises:
            MissingValue: there is no such house value; the text names the nearest.
        """
        return self.entry(key).value

    def entry(self, key: str) -> Entry:
        """Return the entry of `key`; the error is that of indexing."""
        if key not in self.entries:
            raise rules.MissingValue(key, unknown("house value", key, self.entries))
        return self.entries[key]

    def names(self, key: str) -> tuple[str, ...]:
        """Return the names the house gave in a family, in the order of the file."""
        if key not in self._names:
            start = f"{key}."
            inside = [entry[len(start) :].split(".")[0] for entry in self.entries if entry.startswith(start)]
            self._names[key] = tuple(dict.fromkeys(inside))
        return self._names[key]

    @cached_property
    def edition(self) -> str:
        """Return the edition's name and a fingerprint of its values; a piece is no part of it."""
        values = "\n".join(
            f"{key}={entry.value!r}{entry.span or ''}"
            for key, entry in sorted(self.entries.items())
            if not is_of_piece(key)
        )
        mark = hashlib.sha256(values.encode()).hexdigest()[:8]
        return f"{self.entries['house.edition'].value} ({mark})"


@dataclass(frozen=True)
class _Written:
    """One value as found in a file, before it is read."""

    node: yaml.Node
    file: str
    line: int
    reason: str


def standard_path(start: Path | None = None) -> Path:
    """Return the base house standard: the one below `start` (the working folder), or the project's."""
    here = (start or Path.cwd()) / STANDARD
    return here if here.is_file() else places.handbook() / STANDARD


def piece_files(docs: Path) -> list[Path]:
    """Return the files of all pieces below the pages of a bench, in order of their names."""
    return sorted((docs / PIECES).glob("*.yml"))


def example_path(base: Path) -> Path:
    """Return the file of the piece that the worked figures are about: beside a standard, or the package's."""
    here, other = base.parent / PIECES / EXAMPLE, places.handbook() / STANDARD.parent / PIECES / EXAMPLE
    if here.is_file() or other.is_file():
        return here if here.is_file() else other
    return next(iter(piece_files(base.parent)), here)  # a bench of its own, without the project's example


def load(
    base: Path | None = None,
    overlay: Path | None = None,
    root: Path | None = None,
    tried: dict[str, str] | None = None,
    piece: Path | None = None,
    asking: bool = False,
    memory: Memory | None = None,
) -> House:
    """Load and check a house standard, with a file of differences and the facts of a piece laid over it.

    Arguments:
        base: the complete standard; default is `standard_path`.
        overlay: a file that holds only the values in which a house differs.
        root: folder that the files are named from in messages; default is the working folder.
        tried: texts to put in place of those written, by key: values that are only tried, not saved.
        piece: the piece's file; default is `example_path`.
        asking: what the bench cannot do for the piece is an answer (`House.misfits`) and no fault.
        memory: of what was computed before; default is a new one.

    Raises:
        HouseFaults: every fault of all files.
    """
    base = base or standard_path()
    faults: list[Fault] = []
    root = root or Path.cwd()
    written = _collect(base, root, faults)
    files = [base]
    if overlay is not None:
        files.append(overlay)
        written |= _collect(overlay, root, faults)
    piece = piece or example_path(base)
    facts = _collect(piece, root, faults, of_piece=True)
    if not written or not facts:
        raise HouseFaults(faults)  # nothing could be read: every key missing would only hide why
    written |= facts
    for key, text in (tried or {}).items():
        _try(key, text, written, faults)
    gaps: dict[str, _Gap] = {}
    entries = _read_entries(written, faults, gaps, named(base, root), named(piece, root))
    if not faults:
        _derive(entries, gaps, faults)
    house = House(entries, files, piece=piece, memory=memory)
    asks = _asks_the_bench if asking else lambda _: False
    faults += rules.apply(house, _is_declared, sound=not faults, asks=asks)
    if faults:
        raise HouseFaults(faults)
    return house


def _try(key: str, text: str, written: dict[str, _Written], faults: list[Fault]) -> None:
    """Put a text in the place of what is written for a house value; its reason and place stay."""
    before = written.get(key)
    node: yaml.Node = yaml.ScalarNode("tag:yaml.org,2002:str", text)
    if before is None and is_of_piece(key) and key in SETTINGS:  # a fact that the file leaves out
        written[key] = _Written(node, TRIED, 1, "")
        return
    if before is None:
        near = nearest(key, [*written, *(known for known in SETTINGS if is_of_piece(known))])
        faults.append(Fault(TRIED, 1, f"{brief(key)}: is no house value, and no fact of a piece{near}"))
        return
    if isinstance(before.node, yaml.SequenceNode):
        parts = [part.strip() for part in text.strip(" []").split(",")]
        node = yaml.SequenceNode("tag:yaml.org,2002:seq", [yaml.ScalarNode(node.tag, part) for part in parts])
    written[key] = _Written(node, TRIED, 1, before.reason)


def _asks_the_bench(checked: rules.Rule) -> bool:
    """Say whether a rule asks if the bench can do something for the piece."""
    return not checked.facts and any(is_of_piece(key) for key in checked.keys)


@dataclass(frozen=True)
class _Gap:
    """A fact that the piece's file leaves open, to be computed from others."""

    instead: Instead
    file: str
    line: int


def _derive(entries: dict[str, Entry], gaps: dict[str, _Gap], faults: list[Fault]) -> None:
    """Compute what a piece's file leaves open; an impossible piece is told at the open fact."""
    for key, compute in DERIVED.items():
        if key not in gaps:
            continue
        gap, field = gaps[key], SETTINGS[key]
        try:
            value, (low, high) = compute(House(entries, []))
            for number in (low, value, high):
                field.check(number)
        except (CalculationFault, ValueError) as error:
            told = f"{key}: is left open, and what is computed for it {printable(error)}"
            faults.append(Fault(gap.file, gap.line, told))
            return
        span = (low, high) if low < high else None
        unit = "" if field.unit == "1" else f" {field.unit}"
        texts = [f"{quantities.significant(n, 3)}{unit}" for n in (value, low, high)]
        written = f"{texts[0]} ({texts[1]} to {texts[2]})" if span else texts[0]
        reason = f"Guess: {gap.instead.costs}"
        entries[key] = Entry(key, value, written, gap.file, gap.line, reason, field, span, gap.instead)


def named(path: Path, root: Path | None = None) -> str:
    """Return the path as messages show it: relative to `root`, or to the project."""
    resolved = path.resolve()
    for start in ((root or Path.cwd()).resolve(), ROOT):
        if resolved.is_relative_to(start):
            return resolved.relative_to(start).as_posix()
    return os.fspath(path)


def _collect(path: Path, root: Path, faults: list[Fault], of_piece: bool = False) -> dict[str, _Written]:
    """Return every value of one file by its key; a file that cannot be parsed is one fault."""
    shown = named(path, root)
    what, holds = ("piece", "facts of a piece") if of_piece else ("house standard", "house values")
    try:
        if of_piece and path.stat().st_size > MOST_BYTES:
            told = f"holds {path.stat().st_size} bytes; allowed is a piece's file of at most {MOST_BYTES}"
            faults.append(Fault(shown, 1, told))
            return {}
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        faults.append(Fault(shown, 1, f"there is no such {what} file"))
        return {}
    except OSError as error:
        faults.append(Fault(shown, 1, f"cannot be read: {error.strerror}; name a file of {holds}"))
        return {}
    except UnicodeDecodeError as error:
        line = path.read_bytes()[: error.start].count(b"\n") + 1
        faults.append(Fault(shown, line, "is not UTF-8 text; save it as UTF-8"))
        return {}
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        strange = next(_strange_form(text, loader, shown), None) if of_piece else None
        if strange:
            faults.append(strange)
            return {}
        tree = yaml.compose(text, loader)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line = mark.line + 1 if mark else 1
        detail = " ".join(filter(None, (error.context, error.problem)))
        faults.append(Fault(shown, line, f"not readable as YAML: {detail}; write one 'key: value' a line"))
        return {}
    except yaml.YAMLError as error:
        faults.append(Fault(shown, 1, f"not readable as YAML: {brief(error)}"))
        return {}
    if tree is None:
        faults.append(Fault(shown, 1, "holds no value; write sections of 'key: value'"))
        return {}
    found: dict[str, _Written] = {}
    _walk(tree, "", shown, _Reasons(text.splitlines()), found, faults, of_piece)
    return found


def _strange_form(text: str, loader, file: str) -> Iterator[Fault]:
    """Yield a fault where a piece's file is built as nobody types it, before anything is made of it."""
    depth = 0
    for event in yaml.parse(text, loader):
        line = event.start_mark.line + 1
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
        elif isinstance(event, yaml.CollectionEndEvent):
            depth -= 1
        if depth > MOST_DEPTH:
            yield Fault(file, line, "is nested too deep; write sections of 'key: value' lines")
        if getattr(event, "anchor", None) is not None:
            told = "holds a mark with '&' or '*' that stands for another place; write each value out"
            yield Fault(file, line, told)
        if tag := getattr(event, "tag", None):
            yield Fault(file, line, f"holds the tag {brief(tag)}; write the value without '!'")


def _walk(node, prefix, shown, reasons, found, faults, of_piece=False) -> None:
    if not isinstance(node, yaml.MappingNode) or not node.value:
        where = prefix.rstrip(".") or "the file"
        text = f"{where}: is no section of 'key: value' lines"
        faults.append(Fault(shown, node.start_mark.line + 1, text))
        return
    seen: dict[str, int] = {}
    for key_node, value_node in node.value:
        line = key_node.start_mark.line + 1
        if not (isinstance(key_node, yaml.ScalarNode) and NAME.fullmatch(key_node.value)):
            written = brief(key_node.value) if isinstance(key_node, yaml.ScalarNode) else "a list or section"
            text = f"{prefix}{written}: is no key; allowed is one name of letters, digits, '-' and '_' a line"
            faults.append(Fault(shown, line, text))
            continue
        key = f"{prefix}{key_node.value}"
        if key in seen:
            faults.append(
                Fault(shown, line, f"{key}: is set twice, first in line {seen[key]}; keep one of them")
            )
            continue
        seen[key] = line
        if not prefix and _is_section(key) and (key in OF_PIECE) != of_piece:
            faults.append(Fault(shown, line, _elsewhere(key, of_piece)))
        elif _is_section(key):
            _walk(value_node, f"{key}.", shown, reasons, found, faults, of_piece)
        elif _field(key) is None:
            here = _known_here(prefix.rstrip("."), of_piece, _declared_so_far())
            near = nearest(key, _known_keys(of_piece, _declared_so_far()))
            faults.append(Fault(shown, line, f"{key}: unknown key{near}; {here}"))
        else:
            found[key] = _Written(value_node, shown, line, reasons.of(line))


def _declared_so_far() -> int:
    """Return what the lists of known keys are made anew for when it grows."""
    return len(SETTINGS) + len(FAMILIES)


def _elsewhere(key: str, of_piece: bool) -> str:
    """Say of a section that stands in the wrong file where it belongs."""
    if of_piece:
        return (
            f"{key}: belongs to the house standard; a piece's file holds {' and '.join(OF_PIECE)} and "
            "nothing else"
        )
    return (
        f"{key}: is no part of the house standard; write it into a file of its own, "
        f"docs/{PIECES}/NAME.yml, and name that by --piece, or in the settings of the site"
    )


@cache
def _known_keys(of_piece: bool, declared: int) -> list[str]:
    sections = {key.rpartition(".")[0] for key in SETTINGS}
    return [key for key in [*SETTINGS, *sections, *FAMILIES] if is_of_piece(key) == of_piece]


@cache
def _known_here(parent: str, of_piece: bool, declared: int) -> str:
    if parent.rpartition(".")[0] in FAMILIES:
        names = [field.name for field in FAMILIES[parent.rpartition(".")[0]].fields]
    elif parent:
        keys = [*SETTINGS, *FAMILIES]
        names = [k.rpartition(".")[2] for k in keys if k.rpartition(".")[0] == parent]
    else:
        found = {k.split(".")[0] for k in [*SETTINGS, *FAMILIES]}
        names = sorted(name for name in found if is_of_piece(name) == of_piece)
    return f"allowed here is {', '.join(names)}"


def _is_section(key: str) -> bool:
    return key in _sections(_declared_so_far()) or key.rpartition(".")[0] in FAMILIES


@cache
def _sections(declared: int) -> set[str]:
    """Return every key that holds others; made anew when more has been declared."""
    found = set(FAMILIES)
    for key in [*SETTINGS, *FAMILIES]:
        while key := key.rpartition(".")[0]:
            found.add(key)
    return found


def _field(key: str) -> Field | None:
    if key in SETTINGS:
        return SETTINGS[key]
    entry, _, name = key.rpartition(".")
    found = FAMILIES.get(entry.rpartition(".")[0])
    if found:
        for field in found.fields:
            if field.name == name:
                return field
    return None


def _is_declared(key: str) -> bool:
    return _is_section(key) or _field(key) is not None


class _Reasons:
    """The comments of one file, each read once, however many keys stand in its line."""

    def __init__(self, lines: list[str]) -> None:
        self.lines = lines
        self._read: dict[int, str] = {}

    def of(self, line: int) -> str:
        """Return the comment lines right above a key, then the comment behind its value."""
        if line not in self._read:
            row = line - 1
            while row > 0 and self.lines[row - 1].strip().startswith("#"):
                row -= 1
            above = [text.strip().lstrip("# ").rstrip() for text in self.lines[row : line - 1]]
            behind = re.search(r"\s#\s*(.+)$", self.lines[line - 1])
            self._read[line] = " ".join([*above, behind[1].strip() if behind else ""]).strip()
        return self._read[line]


def _text(node: yaml.Node) -> str | list[str] | None:
    """Return what stands behind a key: a text, a list of texts, or None for a section within."""
    if isinstance(node, yaml.ScalarNode):
        return node.value
    if isinstance(node, yaml.SequenceNode) and all(isinstance(n, yaml.ScalarNode) for n in node.value):
        return [item.value for item in node.value]
    return None


def _read_entries(
    written: dict[str, _Written], faults: list[Fault], gaps: dict[str, _Gap], base: str, piece: str
) -> dict[str, Entry]:
    """Return what could be read, by key; what is to be computed goes to `gaps`."""
    entries: dict[str, Entry] = {}
    for key, found in written.items():
        field = _field(key)
        assert field is not None  # only declared keys are written down
        text = _text(found.node)
        shown = f"[{', '.join(text)}]" if isinstance(text, list) else text
        if not shown:
            said = "has no value" if shown == "" else "is a section where one value is wanted"
            complaint = f"{key}: {said}; allowed is {field.allowed()}"
            faults.append(Fault(found.file, found.line, complaint))
            continue
        instead = field.instead_of(text)
        if instead and not instead.taken:
            gaps[key] = _Gap(instead, found.file, found.line)
            continue
        try:
            value, span = _read(key, field, instead.taken if instead else text)
        except ValueError as error:
            faults.append(Fault(found.file, found.line, f"{key}: {brief(shown)} {printable(error)}"))
            continue
        if instead:
            entries[key] = _taken(key, instead, found.file, found.line)
            continue
        if not found.reason and not is_of_piece(key):
            faults.append(
                Fault(
                    found.file,
                    found.line,
                    f"{key}: {brief(shown)} has no reason; write in a comment above it why this value, "
                    "and where it is from",
                )
            )
        entries[key] = Entry(key, value, shown, found.file, found.line, found.reason, field, span)
    for key in SETTINGS:
        left_out = SETTINGS[key].instead_of("") if key not in written else None
        if left_out and left_out.taken:
            entries[key] = _taken(key, left_out, piece, NOWHERE)
        elif left_out:
            gaps[key] = _Gap(left_out, piece, NOWHERE)
    faults += _missing({*written, *entries, *gaps}, written, base, piece)
    return entries


_reads: dict[tuple[str, str], tuple[Field, Any]] = {}  # what was read before, and by which declaration


def _read(key: str, field: Field, text) -> tuple[Any, tuple[float, float] | None]:
    """Return a value and its span; each piece and each bench is read over the same text of the standard."""
    at = (key, repr(text))
    if at not in _reads or _reads[at][0] is not field:
        _reads[at] = (field, field.read_spanned(text))
    return _reads[at][1]


def _taken(key: str, instead: Instead, file: str, line: int) -> Entry:
    """Return the entry of a fact for which a word stands that is no value."""
    field = SETTINGS[key]
    value, span = _read(key, field, instead.taken)
    return Entry(key, value, instead.taken, file, line, f"Guess: {instead.costs}", field, span, instead)


def _missing(given: set[str], written: dict[str, _Written], base: str, piece: str) -> Iterator[Fault]:
    for key, field in SETTINGS.items():
        if key not in given:
            ways = f", or {field.instead[0].words[0]}" if field.instead else ""
            told = f"{key}: is missing ({field.about}); allowed is {field.allowed()}{ways}"
            yield Fault(piece if is_of_piece(key) else base, 1, told)
    for key, found in FAMILIES.items():
        start = f"{key}."
        firsts: dict[str, _Written] = {}  # what is set first of each entry
        for inside in (k for k in written if k.startswith(start)):
            firsts.setdefault(inside[len(start) :].split(".")[0], written[inside])
        if not firsts:
            yield Fault(base, 1, f"{key}: names no {found.kind}; at least one is needed")
        for name, first in firsts.items():
            for field in found.fields:
                if f"{start}{name}.{field.name}" not in written:
                    yield Fault(
                        first.file,
                        first.line,
                        f"{start}{name}.{field.name}: is missing ({field.about}); "
                        f"allowed is {field.allowed()}",
                    )
