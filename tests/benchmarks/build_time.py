"""Time of a build with computed tables against stock MkDocs with the same numbers typed in.

Prints ratios of processor time, which other work on the machine hardly moves; asserts nothing. Both sites have the same words, headings, cautions and tables, in the
same folders. The stock site holds each table as a Markdown table; ours asks for it and computes it.
The stock site has the theme as it comes, and once more with only the open section in each page's menu, as ours has
it. Beside them stands what the pages cost without any table, below which nothing that fills tables can come. Rounds
alternate, and a ratio is the median of the rounds; the first build of ours, before anything is kept in ``.cache``,
is told by itself.

    python tests/benchmarks/build_time.py [--pages 40 200] [--rounds 5]
"""

import argparse
import json
import os
import re
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
from html import unescape
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

from handbook_calc.engine import house, stages  # noqa: E402
from handbook_calc.engine.quantities import label  # noqa: E402
from handbook_calc.engine.registers import REGISTERS  # noqa: E402
from handbook_calc.engine.tables import TABLES, Banner, shown  # noqa: E402

TABLES_A_PAGE = 4
LEAST_CELLS = 48
PRUNED = ", features: [navigation.prune]"
SENTENCE = (
    "Lift the piece from the bath with tongs, let it drain over the tray until the drops stop, and turn it "
    "so that the cracks face down before it goes into the next bath. "
)
GOAL = {40: 0.50, 200: 0.25, 1000: 0.15}


def main() -> None:
    """Build both sites in turns and print the ratios."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--pages", type=int, nargs="+", default=[40, 200])
    parser.add_argument("--rounds", type=int, default=5)
    asked = parser.parse_args()
    stages.load()
    standard = house.load()
    names = [name for name in TABLES if name not in REGISTERS and cells(name, standard) >= LEAST_CELLS]
    for pages in asked.pages:
        with tempfile.TemporaryDirectory() as folder:
            written = {
                "stock": write_site(Path(folder) / "stock", pages, names, standard),
                "pruned": write_site(Path(folder) / "pruned", pages, names, standard, features=PRUNED),
                "bare": write_site(Path(folder) / "bare", pages, [], standard, features=PRUNED),
                "ours": write_site(Path(folder) / "ours", pages, names, standard, features=PRUNED, ours=True),
            }
            ours, stock = written["ours"], written["stock"]
            first = build(ours)
            rounds: list[dict[str, float]] = []
            for turn in range(asked.rounds):
                order = list(written) if turn % 2 == 0 else list(written)[::-1]
                rounds.append({name: build(written[name]) for name in order})
            ratios = [took["ours"] / took["stock"] for took in rounds]
            middle = statistics.median(ratios)
            first /= statistics.median(took["stock"] for took in rounds)
            context = "; ".join(
                f"{name} {statistics.median(took[name] for took in rounds):.2f} s" for name in written
            )
            pruned = statistics.median(took["ours"] / took["pruned"] for took in rounds)
            bare = statistics.median(took["bare"] / took["stock"] for took in rounds)
            goal = f", goal at most {GOAL[pages]}" if pages in GOAL else ""
            print(
                f"{pages} pages: computed tables take {middle:.2f} of the stock build's time{goal} "
                f"(spread {min(ratios):.2f} to {max(ratios):.2f}; first build {first:.2f}; against pruned menus "
                f"{pruned:.2f}; pages without tables {bare:.2f}; {context})"
            )
            print(
                f"  cells in the stock site {count_cells(stock)}; words of tables found by search: "
                f"{'all' if searchable(ours, names, standard) else 'NOT all'}"
            )


def write_site(folder: Path, pages: int, names, standard, features: str = "", ours: bool = False) -> Path:
    """Write one of the sites; without names it has no tables."""
    docs = folder / "docs"
    docs.mkdir(parents=True)
    (docs / "index.md").write_text("# Start\n", encoding="utf-8")
    for number in range(pages):
        asked = range(TABLES_A_PAGE if names else 0)
        chosen = [names[(number * TABLES_A_PAGE + i) % len(names)] for i in asked]
        page = docs / f"section-{number // 20:02d}" / f"page-{number:03d}.md"
        page.parent.mkdir(exist_ok=True)
        page.write_text(page_text(number, chosen, standard, ours), encoding="utf-8")
    config = [
        "site_name: Benchmark",
        "use_directory_urls: false",
        f"theme: {{name: material, font: false{features}}}",
        "plugins: [search, offline]",
        "markdown_extensions: [admonition, attr_list, md_in_html, tables, pymdownx.tasklist]",
    ]
    if ours:
        shutil.copy(ROOT / "docs" / "house-standard.yml", docs)
        config.append(f"hooks: [{(ROOT / 'hooks' / 'handbook.py').as_posix()}]")
    (folder / "mkdocs.yml").write_text("\n".join(config) + "\n", encoding="utf-8")
    return folder


def page_text(number: int, chosen, standard, ours: bool) -> str:
    """Return a page of about 900 words with twelve headings, three cautions and the tables."""
    parts = [f"# Page {number}\n"]
    for section in range(11):
        parts.append(f"## Part {section} of page {number}\n\n{SENTENCE * 2}\n")
        if section % 4 == 1:
            parts.append(f'!!! danger "Caution {section}"\n\n    {SENTENCE}\n')
        if section == 2:
            parts.append("".join(f"- [ ] step {item}\n" for item in range(6)))
        if section % 3 == 0 and section // 3 < len(chosen):
            name = chosen[section // 3]
            parts.append(f"{{{{ table {name} }}}}\n" if ours else typed_table(name, standard))
    return "\n".join(parts)


def typed_table(name: str, standard) -> str:
    """Return the same table as Markdown, as a person would type it in."""
    filled = TABLES[name].compute(standard)
    heads = [
        f"{c.group} {c.title} {label(c.unit) if c.unit != 'text' else ''}".strip() for c in filled.columns
    ]
    lines = [heads, ["---:"] * len(heads)]
    for row in filled.rows:
        if isinstance(row[0], Banner):
            lines.append([row[0].word] + [""] * (len(heads) - 1))
        else:
            lines.append([shown(cell, column) for cell, column in zip(row, filled.columns, strict=True)])
    table = "\n".join(f"| {' | '.join(cell.replace('|', '/') for cell in line)} |" for line in lines)
    notes = "\n".join(f"- {note}" for note in filled.notes)
    return f"**{filled.title}**\n\n{table}\n\n{notes}\n"


def build(folder: Path) -> float:
    """Return the processor seconds of one build in a process of its own."""
    environment = os.environ | {"NO_MKDOCS_2_WARNING": "1", "PYTHONPATH": str(ROOT)}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)  # both sides keep their compiled modules, as usual
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, "-m", "mkdocs", "-q", "build"], cwd=folder, env=environment, check=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def cells(name: str, standard) -> int:
    """Return the number of cells of a table."""
    filled = TABLES[name].compute(standard)
    return len(filled.rows) * len(filled.columns)


def count_cells(folder: Path) -> int:
    """Return the number of table cells in a built site."""
    return sum(page.read_text("utf-8").count("<td") for page in folder.glob("site/section-*/*.html"))


def searchable(folder: Path, names, standard) -> bool:
    """Say whether every word and number of the tables on the pages stands in the search index."""
    index = json.loads((folder / "site" / "search" / "search_index.json").read_text("utf-8"))
    text = " ".join(entry["text"] for entry in index["docs"])
    found = set(unescape(re.sub(r"<[^>]+>", " ", text)).split())
    on_pages = "".join(page.read_text("utf-8") for page in folder.glob("docs/section-*/*.md"))
    for name in names:
        if f"table {name} " not in on_pages:
            continue
        filled = TABLES[name].compute(standard)
        for row in filled.rows:
            for cell, column in zip(row, filled.columns, strict=False):
                missing = set(shown(cell, column).split()) - found
                if missing:
                    print(f"  not found by search: {name}: {sorted(missing)[:5]}")
                    return False
    return True


if __name__ == "__main__":
    main()
