"""What the keeper of the standard does on the command line: record an edition, see what a change does."""

import json
from datetime import date
from pathlib import Path

import yaml

from handbook_calc import editions, folders, piece, planned, printed
from handbook_calc.changes import Changes
from handbook_calc.editions import Record
from handbook_calc.engine import house, places
from handbook_calc.engine.faults import RecordFault, brief
from handbook_calc.engine.house import House

DONE = 0


def load(asked, tried: dict[str, str] | None = None) -> House:
    """Return the standard of the working folder, with the differences and the piece that were asked for."""
    standard = house.load(overlay=asked.house or places.differences(), tried=tried, piece=asked.piece)
    piece.check_facts(standard)
    return standard


def not_raised(standard: House) -> list[str]:
    """Return the faults of a changed standard that still goes by a recorded edition."""
    return editions.not_raised(standard, editions.records(places.own_docs()))


def notes() -> list[str]:
    """Return what the keeper of a bench of its own should know about its pages."""
    return folders.notes(Path.cwd())


def record(asked) -> int:
    """Record every value of the edition that the standard names."""
    standard, docs = load(asked), places.kept_docs()
    path = editions.path_of(docs, asked.edition)
    entry = standard.entry("house.edition")
    if asked.edition != entry.value:
        raise RecordFault(
            f"{entry.file}:{entry.line}: house.edition: is {entry.value}, and edition {brief(asked.edition)} "
            f"is to be recorded; set it there, or record {entry.value}"
        )
    known = [found for found in editions.records(docs) if found.edition != asked.edition]
    faults = editions.not_raised(standard, known)
    if faults:
        raise RecordFault("\n".join(faults))
    state = state_of(standard)
    path, written = editions.save(state, docs, asked.again)
    lines = f"{len(state.lines):,} values of edition {state.title}"
    draft = "; it is a draft: record it again when it is approved" if editions.is_draft(standard) else ""
    print(f"{'recorded' if written else 'recorded already, and the same'}: {lines} in {path}{draft}")
    return DONE


def state_of(standard: House, tried: dict[str, str] | None = None) -> Record:
    """Return the values of the handbook in the working folder, and the plans of its pieces, for a standard.

    Arguments:
        standard: as `load` returns it.
        tried: the values that it was loaded with in place of those written; a fact is of its own piece only.

    Raises:
        RecordFault: a piece's file is at fault, or two values go by one name.
    """
    docs = places.own_docs()
    renderer = editions.rendered(standard, docs)
    base, *overlay = standard.files

    def laid(file: Path) -> House:
        is_own = standard.piece is not None and file.resolve() == standard.piece.resolve()
        put = {key: text for key, text in (tried or {}).items() if is_own or not house.is_of_piece(key)}
        return house.load(base, *overlay, tried=put, piece=file, asking=True)

    renderer.plans, faults = planned.plans(house.piece_files(docs), laid, house.named)
    if faults:
        raise RecordFault("\n".join(faults))
    return editions.state_of(renderer)


def changes(asked) -> int:
    """Print what differs from a record, between two benches, or what an unsaved value would change."""
    tried = _tried(asked.set)
    if asked.between:
        return _between(asked, tried)
    standard = load(asked, tried)
    before = state_of(load(asked)) if tried and not asked.since else _record(asked.since, standard)
    found = Changes(before, state_of(standard, tried), standard["approval.notable"] / 100)
    if asked.json:
        print(json.dumps(found.plain() | {"set": tried}, ensure_ascii=False, indent=2))
        return DONE
    print(found.text())
    if tried:
        print(f"\n{_to_keep(load(asked), tried)}")
    return DONE


def _between(asked, tried: dict[str, str]) -> int:
    """Print in what two benches differ that lie over the same standard."""
    if asked.since or asked.house or asked.piece or tried:
        raise RecordFault(
            "--between compares two files of differences: leave out --since, --house, --piece and --set"
        )
    one, other = (house.load(overlay=path) for path in asked.between)
    found = Changes(state_of(one), state_of(other), one["approval.notable"] / 100)
    names = [standard["house.name"] for standard in (one, other)]
    if asked.json:
        print(json.dumps(found.plain(), ensure_ascii=False, indent=2))
        return DONE
    print(f"was: {names[0]} ({asked.between[0]}); is: {names[1]} ({asked.between[1]})")
    print(found.text())
    return DONE


def new(asked) -> int:
    """Write a bench of its own into a folder."""
    written = folders.make(asked.folder, asked.name, date.today())
    for name in written:
        print(f"wrote {asked.folder / name}")
    print(f"\nHow to go on stands in {asked.folder / 'README.md'}")
    return DONE


def sheets(asked) -> int:
    """Print what is to be done with each printed copy; enter one, or strike one out."""
    writes = asked.printed or asked.taken_down
    standard, docs = load(asked), places.kept_docs() if writes else places.own_docs()
    known, copies, now = editions.records(docs), printed.read(docs), state_of(standard)
    if asked.printed:
        copies, copy = printed.with_copy(copies, asked.printed, asked.place, now)
        printed.save(copies, docs)
        print(f"entered: {copy.sheet}, copy {copy.number}, {copy.place}, edition {copy.edition}\n")
    elif asked.place:
        raise RecordFault("--place says where a sheet hangs: name the sheet with --printed SHEET")
    if asked.taken_down:
        sheet, number = asked.taken_down
        copies = printed.without_copy(copies, sheet, number)
        printed.save(copies, docs)
        print(f"struck out: {sheet}, copy {number}\n")
    found = printed.rulings(copies, known, now, standard["approval.notable"] / 100)
    if asked.json:
        print(json.dumps(printed.plain_of(found), ensure_ascii=False, indent=2))
    else:
        print(printed.text_of(found, now))
    return DONE


def _tried(arguments: list[str]) -> dict[str, str]:
    tried = {}
    for argument in arguments:
        key, equals, value = argument.partition("=")
        if not equals:
            raise RecordFault(
                f'--set {brief(argument)}: is not written KEY=VALUE, as in drying.oven_temperature="90 degC"'
            )
        if key in tried:
            raise RecordFault(f"--set {brief(key)}: is given twice; keep one of them")
        tried[key] = value
    return tried


def _record(edition: str | None, standard: House) -> Record:
    docs = places.own_docs()
    if edition:
        return editions.read(editions.path_of(docs, edition))
    found = editions.earlier(standard, editions.records(docs))
    if found is None:
        name = standard["house.edition"]
        raise RecordFault(
            f"no edition of {standard['house.name']} is recorded in docs/{editions.FOLDER}; record one with: "
            f"python -m handbook_calc record {name}"
        )
    return found


def _to_keep(standard: House, tried: dict[str, str]) -> str:
    """Say where each tried value is written, and the line that keeps it."""
    lines = []
    for key, text in tried.items():
        entry, name = standard.entry(key), key.rpartition(".")[2]
        line = f"{'  ' * key.count('.')}{name}: {scalar(text)}"
        if entry.left_out:
            section = key.partition(".")[0]
            lines.append(f"To keep it, write in {entry.file}, in the section {section}:\n{line}")
        elif entry.file == _own_file(standard) or len(standard.files) == 1 or house.is_of_piece(key):
            lines.append(f"To keep it, write in {entry.file}, line {entry.line}:\n{line}")
        else:
            above = "\n".join(f"{'  ' * depth}{part}:" for depth, part in enumerate(key.split(".")[:-1]))
            lines.append(
                f"To keep it, write in {_own_file(standard)}, with its reason above it:\n{above}\n{line}"
            )
    if any(not house.is_of_piece(key) for key in tried):
        lines.append("Say why in the comment above it, and raise house.edition and house.date.")
    return "\n".join(lines)


def _own_file(standard: House) -> str:
    return house.named(standard.files[-1])


def scalar(text: str) -> str:
    """Return a text as it is written behind a key: between quotes where YAML would read another text."""
    if text.startswith("[") and text.endswith("]"):
        return text
    try:
        node = yaml.compose(f"key: {text}")
    except yaml.YAMLError:
        node = None
    if isinstance(node, yaml.MappingNode):
        value = node.value[0][1]
        if isinstance(value, yaml.ScalarNode) and value.value == text and len(node.value) == 1:
            return text
    return json.dumps(text, ensure_ascii=False)
