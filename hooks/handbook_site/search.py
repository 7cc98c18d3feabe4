"""What the search looks through: the pages' words, and the words by which readers ask for them.

The finished pages are parted into sections and passages (see `passages`). They come into one script, loaded
with the finder when the search is first used. Readers' words stand in a file of two columns: what is typed,
and what it finds: a page (``procedures/rinse.md``), which is then *called* so; a folder of pages
(``safety/``), which then comes sooner; or what the handbook says instead.
"""

import json
import re
from collections import Counter
from dataclasses import dataclass
from html import unescape
from pathlib import Path
from urllib.parse import unquote

from mkdocs.exceptions import PluginError

from handbook_calc.engine import cells
from handbook_calc.engine.faults import brief
from handbook_site.overlay import found_in
from handbook_site.passages import sections_of
from handbook_site.preparation import option

WORDS = "search-words.csv"
SCRIPT, FINDER = "assets/search.js", "assets/find.js"
COLUMNS = ["typed", "finds"]
PAGE = re.compile(r"(?!.*(?:^|/)\.)[^/\\:][^\\:]{0,200}")  # below the folder of pages

# What a page is, by its folder, and how much sooner it answers a question than another page with the same
# words: what to do comes before what to look up, and that before what only the keeper asks.
KINDS = {
    "procedures": ("Procedure", 1.5),
    "safety": ("Safety", 1.35),
    "tables": ("Look it up", 1.0),
    "calculators": ("Work it out", 0.9),
    "reference": ("Reference", 1.0),
    "cards": ("Card to print", 0.8),
    "pieces": ("A piece", 0.6),
    "keeper": ("For the keeper", 0.4),
}
OTHER = ("Page", 1.0)
PAGES = {"reference/troubleshooting.md": ("Troubleshooting", 1.3), "reference/forms.md": ("Record form", 0.8)}


EVERYWHERE = 12  # places: what stands in more, such as the foot of every card, answers nothing there


@dataclass(frozen=True)
class Words:
    """Readers' words: what each page is called, what is said instead of a word, which folder a word means."""

    called: dict[str, list[str]]
    instead: list[tuple[str, str]]
    prefer: list[tuple[str, str]]
    finder: str  # the script that looks through them


def words_of(config) -> Words | None:
    """Return the readers' words; None where the site has no search of the handbook's own.

    Raises:
        PluginError: every fault of the files of words, with file and line.
    """
    searched = any(name.rpartition("/")[2] == "search" for name in config.plugins)
    if not searched or not found_in(config, SCRIPT).is_file():
        return None
    files = [path for path in [found_in(config, WORDS)] if path.is_file()]
    own = option(config, "words")
    root = Path(config.config_file_path).parent
    if own:
        files.append(root / own)
    called: dict[str, list[str]] = {}
    instead: list[tuple[str, str]] = []
    prefer: list[tuple[str, str]] = []
    faults: list[str] = []
    for file in files:
        shown = file.relative_to(root).as_posix() if file.is_relative_to(root) else file.name
        _read(file, shown, config, (called, instead, prefer), faults)
    if faults:
        raise PluginError("\n".join(faults))
    finder = found_in(config, FINDER)
    return Words(called, instead, prefer, finder.read_text(encoding="utf-8") if finder.is_file() else "")


def _read(file: Path, shown: str, config, into: tuple[dict, list, list], faults: list[str]) -> None:
    called, instead, prefer = into
    try:
        rows = list(cells.rows_of(cells.text_of(file)))
    except FileNotFoundError:
        faults.append(f"{shown}:1: the file of search words cannot be read: there is none")
        return
    except cells.BadCells as error:
        faults.append(f"{shown}:{error.line}: {error.told}")
        return
    seen: set[tuple[str, str]] = set()
    head = rows[0][1] if rows else []
    if head != COLUMNS:
        begins = brief(",".join(head))
        faults.append(f"{shown}:1: begins with '{begins}'; the first line is '{','.join(COLUMNS)}'")
        return
    for line, row in rows[1:]:
        if not any(cell.strip() for cell in row):
            continue
        pair = tuple(cell.strip() for cell in row)
        if len(pair) != len(COLUMNS) or not all(pair):
            faults.append(
                f"{shown}:{line}: '{brief(','.join(row))}' is not a pair; write what is typed, a comma, and "
                "the page or the words that it finds"
            )
            continue
        typed, finds = pair
        if (typed, finds) in seen:
            faults.append(
                f"{shown}:{line}: '{brief(typed)}' for '{brief(finds)}' stands there twice; keep one of them"
            )
        seen.add((typed, finds))
        if finds.endswith("/"):
            name = finds.rstrip("/")
            folders = [Path(config.docs_dir) / name, found_in(config, name)] if PAGE.fullmatch(name) else []
            if not any(folder.is_dir() for folder in folders):
                faults.append(
                    f"{shown}:{line}: there is no folder '{brief(finds)}' in the folder docs; write it as it "
                    "stands there, with a slash"
                )
            prefer.append((typed, finds))
        elif not finds.endswith(".md"):
            instead.append((typed, finds))
        elif not PAGE.fullmatch(finds) or not found_in(config, finds).is_file():
            faults.append(
                f"{shown}:{line}: there is no page '{brief(finds)}'; write its way from the folder docs"
            )
        else:
            called.setdefault(finds, []).append(typed)


def write(site: Path, words: Words) -> None:
    """Write the script of the search from the finished pages that the index of MkDocs names.

    That index stays where other tools look for it; no page of the handbook loads it.
    """
    index_file = site / "search" / "search_index.json"
    if not index_file.is_file():
        return
    pages: list[dict] = []
    told: dict[str, int] = {}  # each passage once, in the order in which the pages have them
    places: Counter[str] = Counter()
    for entry in json.loads(index_file.read_text(encoding="utf-8"))["docs"]:
        url, _, anchor = entry["location"].partition("#")
        if anchor:
            continue
        folder = url.partition("/")[0]
        source = re.sub(r"\.html$", ".md", url)
        kind, weight = PAGES.get(source) or KINDS.get(folder, OTHER)
        file = site / unquote(f"{url}index.html" if not url or url.endswith("/") else url)
        html = file.read_text(encoding="utf-8")
        sections = []
        for anchor, heading, passages in sections_of(html, once=folder == "keeper"):
            places.update(passages)
            kept = [told.setdefault(one, len(told)) for one in passages if places[one] <= EVERYWHERE]
            sections.append([anchor, heading, *kept])
        pages.append(
            {
                "url": url, "title": _plain(entry["title"]), "kind": kind, "weight": weight,
                "called": words.called.get(source, []), "sections": sections,
            }
        )  # fmt: skip
    found = {"texts": list(told), "pages": pages, "instead": words.instead, "prefer": words.prefer}
    written = json.dumps(found, ensure_ascii=False, separators=(",", ":"))
    (site / "search" / "words.js").write_text(f"{words.finder}HB.found={written};\n", encoding="utf-8")


def _plain(html: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())
