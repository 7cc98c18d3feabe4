"""The house standard: read, check and keep every value a house sets, with its place and reason.

The file is YAML read as text with positions: no value is typed by YAML, so ``no``, ``1e3`` and
``12:30`` stay what the person wrote until the declared field reads them.
"""

import hashlib
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path
from typing import Any

import yaml

from handbook_calc.engine import places, quantities, rules
from handbook_calc.engine.faults import (
    BadDeclaration,
    Fault,
    HouseFaults,
    brief,
    declared_at,
    nearest,
    printable,
    unknown,
)
from handbook_calc.engine.fields import Field, Quantity, complaints
from handbook_calc.engine.interval import Leaf
from handbook_calc.engine.known import leaf_of

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


def section(name: str, *fields: Field) -> None:
    """Declare the values of one section of the house standard.

    Raises:
        BadDeclaration: a unit that is unknown, or a range without an end.
    """
    _check_fields(name, fields, declared_at())
    SETTINGS.update({f"{name}.{field.name}": field for field in fields})


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
    """

    key: str
    value: Any
    written: str
    file: str
    line: int
    reason: str
    field: Field
    span: tuple[float, float] | None = None

    @cached_property
    def leaf(self) -> Leaf | None:
        """Return the value as an input that is known as a span; None where it has none."""
        return leaf_of(self.field, self.key, self.value, self.span) if self.span else None

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
    """A checked house standard."""

    def __init__(self, entries: dict[str, Entry], files: list[Path]) -> None:
        self.entries = entries
        self.files = files
        self._names: dict[str, tuple[str, ...]] = {}
        self.spreads: dict = {}  # how the runs of calculations spread, each computed once

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

    @property
    def edition(self) -> str:
        """Return the edition's name and a fingerprint of every value."""
        values = "\n".join(
            f"{key}={entry.value!r}{entry.span or ''}" for key, entry in sorted(self.entries.items())
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


def load(
    base: Path | None = None,
    overlay: Path | None = None,
    root: Path | None = None,
    tried: dict[str, str] | None = None,
) -> House:
    """Load and check a house standard, with a file of differences laid over it.

    Arguments:
        base: the complete standard; default is `standard_path`.
        overlay: a file that holds only the values in which a house differs.
        root: folder that the files are named from in messages; default is the working folder.
        tried: texts to put in place of those written, by key: values that are only tried, not saved.

    Raises:
        HouseFaults: every fault of both files.
    """
    base = base or standard_path()
    faults: list[Fault] = []
    root = root or Path.cwd()
    written = _collect(base, root, faults)
    files = [base]
    if overlay is not None:
        files.append(overlay)
        written |= _collect(overlay, root, faults)
    if not written:
        raise HouseFaults(faults)  # nothing could be read: every key missing would only hide why
    for key, text in (tried or {}).items():
        _try(key, text, written, faults)
    entries = _read_entries(written, faults, named(base, root))
    house = House(entries, files)
    faults += rules.apply(house, _is_declared, sound=not faults)
    if faults:
        raise HouseFaults(faults)
    return house


def _try(key: str, text: str, written: dict[str, _Written], faults: list[Fault]) -> None:
    """Put a text in the place of what is written for a house value; its reason and place stay."""
    if key not in written:
        near = nearest(key, written)
        faults.append(Fault(TRIED, 1, f"{brief(key)}: is no value of this house standard{near}"))
        return
    before = written[key]
    node: yaml.Node = yaml.ScalarNode("tag:yaml.org,2002:str", text)
    if isinstance(before.node, yaml.SequenceNode):
        parts = [part.strip() for part in text.strip(" []").split(",")]
        node = yaml.SequenceNode("tag:yaml.org,2002:seq", [yaml.ScalarNode(node.tag, part) for part in parts])
    written[key] = _Written(node, TRIED, 1, before.reason)


def named(path: Path, root: Path | None = None) -> str:
    """Return the path as messages show it: relative to `root`, or to the project."""
    resolved = path.resolve()
    for start in ((root or Path.cwd()).resolve(), ROOT):
        if resolved.is_relative_to(start):
            return resolved.relative_to(start).as_posix()
    return os.fspath(path)


def _collect(path: Path, root: Path, faults: list[Fault]) -> dict[str, _Written]:
    """Return every value of one file by its key; a file that cannot be parsed is one fault."""
    shown = named(path, root)
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        faults.append(Fault(shown, 1, "there is no such house standard file"))
        return {}
    except OSError as error:
        faults.append(Fault(shown, 1, f"cannot be read: {error.strerror}; name a file of house values"))
        return {}
    except UnicodeDecodeError as error:
        line = path.read_bytes()[: error.start].count(b"\n") + 1
        faults.append(Fault(shown, line, "is not UTF-8 text; save it as UTF-8"))
        return {}
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
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
    _walk(tree, "", shown, _Reasons(text.splitlines()), found, faults)
    return found


def _walk(node, prefix, shown, reasons, found, faults) -> None:
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
        if _is_section(key):
            _walk(value_node, f"{key}.", shown, reasons, found, faults)
        elif _field(key) is None:
            here = _known_here(prefix.rstrip("."), _declared_so_far())
            near = nearest(key, _known_keys(_declared_so_far()))
            faults.append(Fault(shown, line, f"{key}: unknown key{near}; {here}"))
        else:
            found[key] = _Written(value_node, shown, line, reasons.of(line))


def _declared_so_far() -> int:
    """Return what the lists of known keys are made anew for when it grows."""
    return len(SETTINGS) + len(FAMILIES)


@cache
def _known_keys(declared: int) -> list[str]:
    sections = {key.rpartition(".")[0] for key in SETTINGS}
    return [*SETTINGS, *sections, *FAMILIES]


@cache
def _known_here(parent: str, declared: int) -> str:
    if parent.rpartition(".")[0] in FAMILIES:
        names = [field.name for field in FAMILIES[parent.rpartition(".")[0]].fields]
    elif parent:
        keys = [*SETTINGS, *FAMILIES]
        names = [k.rpartition(".")[2] for k in keys if k.rpartition(".")[0] == parent]
    else:
        names = sorted({k.split(".")[0] for k in [*SETTINGS, *FAMILIES]})
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


def _read_entries(written: dict[str, _Written], faults, base: str) -> dict[str, Entry]:
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
        try:
            value, span = field.read_spanned(text)
        except ValueError as error:
            faults.append(Fault(found.file, found.line, f"{key}: {brief(shown)} {printable(error)}"))
            continue
        if not found.reason:
            faults.append(
                Fault(
                    found.file,
                    found.line,
                    f"{key}: {brief(shown)} has no reason; write in a comment above it why this value, "
                    "and where it is from",
                )
            )
        entries[key] = Entry(key, value, shown, found.file, found.line, found.reason, field, span)
    faults += _missing(written, base)
    return entries


def _missing(written: dict[str, _Written], base: str) -> Iterator[Fault]:
    for key, field in SETTINGS.items():
        if key not in written:
            yield Fault(base, 1, f"{key}: is missing ({field.about}); allowed is {field.allowed()}")
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
