"""Where a handbook lies: its pages, its standard, its settings; the house's own before the package's."""

import re
from pathlib import Path

import yaml

PACKAGE = Path(__file__).resolve().parents[1]
SETTINGS_FILE = "mkdocs.yml"
STANDARD = "house-standard.yml"
ABOVE = re.compile(r"\A---[ \t]*\n.*?\n(?:---|\.\.\.)[ \t]*\n", re.DOTALL)  # what stands above a page


def handbook() -> Path:
    """Return the folder of the handbook's own ``docs`` and ``mkdocs.yml``: installed, or a repository."""
    inside = PACKAGE / "handbook"
    return inside if inside.is_dir() else PACKAGE.parent


def own_docs(folder: Path | None = None) -> Path:
    """Return the ``docs`` below a folder (the working folder) that holds a handbook, or the package's."""
    here = folder or Path.cwd()
    inside = here / "docs"
    return inside if (inside / STANDARD).is_file() or is_own(here) else handbook() / "docs"


def is_own(folder: Path) -> bool:
    """Tell whether a folder is a bench of its own: its settings name this package as a plugin."""
    plugins = _settings(folder).get("plugins", [])
    return any(name == "handbook" or (isinstance(name, dict) and "handbook" in name) for name in plugins)


def differences(folder: Path | None = None) -> Path | None:
    """Return the file of differences that the settings of a folder (the working folder) name, or None."""
    folder = folder or Path.cwd()
    extra = _settings(folder).get("extra")
    handbook_settings = extra.get("handbook") if isinstance(extra, dict) else None
    named = handbook_settings.get("house") if isinstance(handbook_settings, dict) else None
    return folder / named if isinstance(named, str) and named else None


def pages(docs: Path) -> dict[str, Path]:
    """Return every page by its name from the folder of pages, in order; the package's where `docs` has none.

    Only a bench of its own takes pages of the package: any other holds all of its own.
    """
    found = {}
    folders = [handbook() / "docs", docs] if is_own(docs.parent) else [docs]
    for folder in folders:
        paths = folder.rglob("*.md")
        found |= {path.relative_to(folder).as_posix(): path for path in paths}
    return dict(sorted((name, path) for name, path in found.items() if not _hidden(name)))


def below_the_head(text: str) -> str:
    """Return a page without what stands above it between lines of dashes."""
    above = ABOVE.match(text)
    return text[above.end() :].lstrip("\n") if above else text


def _hidden(name: str) -> bool:
    return any(part.startswith(".") for part in name.split("/"))


def _settings(folder: Path) -> dict:
    """Return the settings of a site as far as they are plain; an unreadable file has none."""
    path = folder / SETTINGS_FILE
    if not path.is_file():
        return {}
    try:
        node = yaml.compose(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, yaml.YAMLError):
        return {}  # told by the site generator, which reads it first
    plain = _plain(node)
    return plain if isinstance(plain, dict) else {}


def _plain(node):
    """Return a node as texts, lists and dicts: the tags of the site generator are not carried out."""
    if isinstance(node, yaml.MappingNode):
        return {_plain(key): _plain(value) for key, value in node.value if isinstance(key, yaml.ScalarNode)}
    if isinstance(node, yaml.SequenceNode):
        return [_plain(item) for item in node.value]
    return node.value if node is not None else None
