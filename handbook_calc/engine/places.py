"""Where a handbook lies: its pages and its standard; the house's own before the package's.

A *copy* of the handbook holds all of its pages and a complete ``docs/house-standard.yml``. A *bench of its
own* is a small folder: ``house`` with one file of differences, ``docs`` with pages of its own, and everything
else comes from the installed package.
"""

import re
from pathlib import Path

from handbook_calc.engine.faults import RecordFault

PACKAGE = Path(__file__).resolve().parents[1]
STANDARD = "house-standard.yml"
HOUSE, DATA = "house", "data"
ABOVE = re.compile(r"\A---[ \t]*\n.*?\n(?:---|\.\.\.)[ \t]*\n", re.DOTALL)  # what stands above a page


def handbook() -> Path:
    """Return the folder of the handbook's own pages and settings: in the installed package, or a copy."""
    inside = PACKAGE / "handbook"
    return inside if inside.is_dir() else PACKAGE.parent


_settled: list[Path | None] = []


def settle(folder: Path | None) -> None:
    """Say which bench of its own rows of data come from, None for none; unsaid, it is the working folder."""
    _settled[:] = [folder]


def own_data(file: str) -> Path | None:
    """Return a bench's own part of a file of data, by its name; None where it has none."""
    folder = _settled[0] if _settled else Path.cwd() if is_own(Path.cwd()) else None
    path = folder / DATA / file if folder else None
    return path if path and path.is_file() else None


def is_own(folder: Path) -> bool:
    """Tell whether a folder is a bench of its own: differences, and no complete standard."""
    return not (folder / "docs" / STANDARD).is_file() and any((folder / HOUSE).glob("*.yml"))


def own_docs(folder: Path | None = None) -> Path:
    """Return the pages of the handbook in a folder (the working folder), or the package's."""
    here = folder or Path.cwd()
    inside = here / "docs"
    return inside if (inside / STANDARD).is_file() or is_own(here) else handbook() / "docs"


def kept_docs() -> Path:
    """Return the pages beside which records are kept.

    Raises:
        RecordFault: the working folder has none, and what an installed package holds goes with its next one.
    """
    docs, inside = own_docs(), handbook() / "docs"
    if docs == inside and handbook() == PACKAGE / "handbook":
        odd = sorted((Path.cwd() / HOUSE).glob("*.yaml"))
        mend = (
            f"rename {HOUSE}/{odd[0].name} to end in .yml"
            if odd
            else "go to the folder of the bench, or make one with: python -m handbook_calc new FOLDER"
        )
        raise RecordFault(
            f"this folder holds no bench, and nothing is recorded in the installed package; {mend}"
        )
    return docs


def differences(folder: Path | None = None) -> Path | None:
    """Return the differences of a bench of its own in a folder (the working folder); None for any other.

    Raises:
        RecordFault: there are several, and nobody said which.
    """
    folder = folder or Path.cwd()
    if not is_own(folder):
        return None
    found = sorted((folder / HOUSE).glob("*.yml"))
    if len(found) > 1:
        names = ", ".join(f"{HOUSE}/{path.name}" for path in found)
        raise RecordFault(f"there are several files of differences: {names}; say which with --house FILE")
    return found[0]


def pages(docs: Path) -> dict[str, Path]:
    """Return every page by its name, sorted; a bench of its own has those of the package too."""
    folders = [handbook() / "docs", docs] if is_own(docs.parent) else [docs]
    found = {path.relative_to(folder).as_posix(): path for folder in folders for path in folder.rglob("*.md")}
    return dict(sorted((name, path) for name, path in found.items() if not _hidden(name)))


def below_the_head(text: str) -> str:
    """Return a page without what stands above it between lines of dashes."""
    above = ABOVE.match(text)
    return text[above.end() :].lstrip("\n") if above else text


def _hidden(name: str) -> bool:
    return any(part.startswith(".") for part in name.split("/"))
