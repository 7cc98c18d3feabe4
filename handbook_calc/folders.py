"""A bench of one's own: a small folder that builds with the installed handbook."""

import json
import os
import re
from collections.abc import Iterator
from contextlib import suppress
from datetime import date
from pathlib import Path

from handbook_calc.engine.data import DATA, OWN
from handbook_calc.engine.faults import RecordFault, brief, nearest
from handbook_calc.engine.fields import Words
from handbook_calc.engine.places import DATA as ROWS
from handbook_calc.engine.places import HOUSE, STANDARD, handbook, is_own

TEMPLATE = DATA / "bench"
PLACES = re.compile(r"\{name\}|\{date\}")
# A folder is kept before it holds a piece, and what is built is not.
UNSEEN = {".gitignore": "/site/\n/site.*/\n/site.lock\n/.cache/\n", "docs/pieces/.gitkeep": ""}


def make(folder: Path, name: str, day: date) -> list[str]:
    """Write a bench of its own into a folder; return the names of its files.

    Arguments:
        folder: a new or empty folder.
        name: of the bench, as printed on every page.
        day: of today.

    Raises:
        RecordFault: something stands there already, the name is none, or it cannot be written.
    """
    try:
        Words("name", "name of the bench").read_optional(name)
    except ValueError as error:
        raise RecordFault(f"--name {brief(name)}: {error}") from None
    shown = brief(folder)
    written, stood = [], os.path.lexists(folder)
    try:
        if stood and not folder.is_dir():
            raise RecordFault(f"{shown}: is no folder; name a new or an empty folder")
        if folder.is_dir() and (held := sorted(folder.iterdir())):
            raise RecordFault(f"{shown}: holds {brief(held[0].name)} already; name a new or an empty folder")
        for path in sorted(path for path in TEMPLATE.rglob("*") if path.is_file()):
            to = path.relative_to(TEMPLATE)
            text = path.read_text(encoding="utf-8")
            quoted = json.dumps(name, ensure_ascii=False) if to.suffix == ".yml" else name
            filled = {"{name}": quoted, "{date}": day.isoformat()}
            written.append(to.as_posix())
            _write(folder / to, PLACES.sub(lambda found, filled=filled: filled[found[0]], text))
        for to, text in UNSEEN.items():
            written.append(to)
            _write(folder / to, text)
    except OSError as error:
        _take_back(folder, written, stood)
        where = brief(error.filename or folder)
        raise RecordFault(f"{where}: cannot be written: {error.strerror}; name another folder") from None
    return written


def _take_back(folder: Path, written: list[str], stood: bool) -> None:
    """Remove what was written of a bench that could not be completed, so that no half of it is left."""
    for name in written:
        with suppress(OSError):
            (folder / name).unlink(missing_ok=True)
        for above in Path(name).parents:
            with suppress(OSError):  # it holds something else
                if above != Path() or not stood:
                    (folder / above).rmdir()


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8", newline="\n")


def notes(folder: Path) -> list[str]:
    """Say what of a folder is not read, which of its pages hide the handbook's, and which may be slips."""
    if not is_own(folder):
        return list(_unread(folder))
    docs, base = folder / "docs", handbook() / "docs"
    known = {path.relative_to(base).as_posix() for path in base.rglob("*.md")}
    said = []
    for path in sorted(docs.rglob("*.md")):
        page = path.relative_to(docs).as_posix()
        if page in known:
            said.append(f"note: docs/{page} takes the place of the handbook's page of this name")
        elif close := nearest(page, known, 0.9):
            said.append(f"note: docs/{page} is a page more{close}")
    return [*_unread(folder), *said]


def _unread(folder: Path) -> Iterator[str]:
    """Yield a warning for each file that looks like values or data of a bench and is passed over."""
    odd = [path for path in _files(folder / HOUSE) if path.suffix.lower() in (".yml", ".yaml")]
    odd = [path for path in odd if path.suffix != ".yml"]
    for path in odd:
        name = brief(path.name)
        yield f"warning: {HOUSE}/{name} is not read: rename it to {HOUSE}/{brief(path.stem)}.yml"
    if not (odd or is_own(folder)) or (folder / "docs" / STANDARD).is_file():
        return
    known = {f"{name}.csv" for name in OWN}
    for path in _files(folder / ROWS):
        if path.name not in known:
            allowed = ", ".join(sorted(known))
            close = nearest(path.name.lower(), known)
            yield f"warning: {ROWS}/{brief(path.name)} is not read{close}; allowed in {ROWS} is {allowed}"


def _files(folder: Path) -> list[Path]:
    """Return the files of a folder that are not hidden, by name; none where there is no such folder."""
    found = folder.iterdir() if folder.is_dir() else ()
    return sorted(path for path in found if path.is_file() and not path.name.startswith("."))
