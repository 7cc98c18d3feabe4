"""Builds in one process, as ``serve`` does, after one edit after another; each beside a build from nothing.

What a reader is served after a save must be, byte for byte, what a new process would have made. The edits
and the comparison are here, for tests/test_incremental.py and tests/benchmarks/serve_time.py.

    python tests/incremental.py FOLDER SITE

builds the project in FOLDER into SITE as ``serve`` does, once for each line that it reads, and answers with
a line of JSON: the processor seconds, and how much had to be computed, converted and put into the theme.
"""

import json
import os
import re
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from support import changed_standard

ROOT = Path(__file__).parents[1]
URL = "http://127.0.0.1:8000/"


class Serving:
    """A process that builds again and again, as ``serve`` does."""

    def __init__(self, folder: Path, site: Path) -> None:
        self.site = site
        self._log = (site.parent / f"{site.name}.log").open("w")
        self._process = subprocess.Popen(
            [sys.executable, __file__, str(folder), str(site)],
            cwd=folder, env=_environment(folder), stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            stderr=self._log, text=True,
        )  # fmt: skip

    def build(self) -> dict:
        """Build once more; return what it took."""
        print("build", file=self._process.stdin, flush=True)
        answer = self._process.stdout.readline()  # pyright: ignore[reportOptionalMemberAccess] - a pipe
        assert answer, Path(self._log.name).read_text()[-3000:]
        return json.loads(answer)

    def close(self) -> None:
        """End the process."""
        self._process.communicate(timeout=20)
        self._log.close()


def from_nothing(folder: Path, site: Path) -> dict:
    """Build once in a process of its own."""
    serving = Serving(folder, site)
    try:
        return serving.build()
    finally:
        serving.close()


def snapshot(site: Path) -> dict[str, bytes]:
    """Return every file of a built site."""
    return {
        path.relative_to(site).as_posix(): path.read_bytes() for path in site.rglob("*") if path.is_file()
    }


def differing(one: Path, other: Path) -> list[str]:
    """Return the names of the files that are not the same in two sites."""
    first, second = snapshot(one), snapshot(other)
    return sorted(name for name in first | second if first.get(name) != second.get(name))


def _edited(path: Path, old: str, new: str) -> None:
    text = path.read_text("utf-8")
    assert old in text, (path, old)
    path.write_text(text.replace(old, new, 1), "utf-8")


def _set(folder: Path, key: str, value: str) -> None:
    path = folder / "docs" / "house-standard.yml"
    path.write_text(changed_standard(path.read_text("utf-8"), key, value)[0], "utf-8")


def a_page_text(folder: Path) -> None:
    """Add a line to a page."""
    path = folder / "docs" / "procedures" / "rinse.md"
    path.write_text(path.read_text("utf-8") + "\nOne more line.\n", "utf-8")


def a_page_title(folder: Path) -> None:
    """Change the title of a page, which stands in its heading and, without a nav, in every other page."""
    path = folder / "docs" / "procedures" / "coat.md"
    path.write_text(
        re.sub(r"^# .*", "# Coat, and wait", path.read_text("utf-8"), count=1, flags=re.M), "utf-8"
    )


def a_house_value(folder: Path) -> None:
    """Change a house value."""
    _set(folder, "rinsing.bath", "600 mL")


def another_house_value(folder: Path) -> None:
    """Change a house value that much depends on."""
    _set(folder, "piece.crack_depth", "2.5 mm")


def a_reason(folder: Path) -> None:
    """Change the reason of a house value."""
    _edited(folder / "docs" / "house-standard.yml", "coldest that any", "coldest which any")


def a_coating(folder: Path) -> None:
    """Add a coating: a name that the house gives itself, and many lines that move down."""
    path = folder / "docs" / "house-standard.yml"
    lines = path.read_text("utf-8").split("\n")
    start = lines.index("    acrylic-brush:", lines.index("coating:"))
    end = next(row for row in range(start + 1, len(lines)) if not lines[row].startswith("      "))
    path.write_text(
        "\n".join([*lines[:end], "    other-lacquer:", *lines[start + 1 : end], *lines[end:]]), "utf-8"
    )


def a_title_in_the_code(folder: Path) -> None:
    """Change the title of a table in the code, and move every formula of the module down."""
    path = folder / "handbook_calc" / "rinsing.py"
    path.write_text(path.read_text("utf-8").replace("\nfrom ", "\n# One.\n# Two.\nfrom ", 1), "utf-8")
    _edited(folder / "handbook_calc" / "rinsing.py", '"Rinse baths needed, by', '"Baths needed now, by')


def the_same_title_at_once(folder: Path) -> None:
    """Change it again, to as many letters."""
    _edited(folder / "handbook_calc" / "rinsing.py", '"Baths needed now, by', '"Baths needed all, by')


def a_source(folder: Path) -> None:
    """Change the title of a source, in the data of the package."""
    _edited(folder / "handbook_calc" / "data" / "sources.yml", "title: ", "title: On ")


def a_drawing(folder: Path) -> None:
    """Change the words in a drawing."""
    _edited(folder / "docs" / "drawings" / "crack-mouth.svg", "plain water in it", "clean water in it")


def a_page_more(folder: Path) -> None:
    """Add a page."""
    page = folder / "docs" / "procedures" / "more.md"
    page.write_text("# More\n\nIn {{ value rinsing.bath }}.\n", "utf-8")
    _nav(folder, "  - Reference:\n", "  - More: procedures/more.md\n  - Reference:\n")


def a_page_less(folder: Path) -> None:
    """Take it away."""
    (folder / "docs" / "procedures" / "more.md").unlink()
    _nav(folder, "  - More: procedures/more.md\n", "")


def _nav(folder: Path, old: str, new: str) -> None:
    if "nav:" in (folder / "mkdocs.yml").read_text("utf-8"):
        _edited(folder / "mkdocs.yml", old, new)


def a_term(folder: Path) -> None:
    """Change what a term means."""
    _edited(folder / "docs" / "reference" / "glossary.md", "\n:   ", "\n:   Here: ")


def the_name_of_the_site(folder: Path) -> None:
    """Change a setting."""
    _edited(folder / "mkdocs.yml", "site_name: ", "site_name: The ")


EDITS: list[Callable[[Path], None]] = [
    a_page_text,
    a_house_value,
    another_house_value,
    a_reason,
    a_coating,
    a_drawing,
    a_page_title,
    a_title_in_the_code,
    the_same_title_at_once,
    a_source,
    a_page_more,
    a_page_less,
    a_term,
    the_name_of_the_site,
]


def _environment(folder: Path) -> dict[str, str]:
    # The package is a part of the project here: an edit of it must not reach the one under test.
    fixed = {"NO_MKDOCS_2_WARNING": "1", "SOURCE_DATE_EPOCH": "1790000000"}
    return os.environ | fixed | {"PYTHONPATH": str(folder)}


def _answers(folder: Path, site: Path) -> Iterator[dict]:
    from mkdocs.commands.build import build
    from mkdocs.config import load_config

    started = False
    for _ in sys.stdin:
        before = time.process_time()
        config = load_config(str(folder / "mkdocs.yml"), site_dir=str(site))
        if not started:
            config.plugins.on_startup(command="serve", dirty=False)
            started = True
        config.site_url = URL
        hooks: Any = config.hooks  # MkDocs says a list, and it is a dict by file name
        hook = next(module for name, module in hooks.items() if name.endswith("handbook.py"))
        kept = hook.current.prepared.keep
        counted = kept.computed if kept else 0
        failed = ""
        try:
            build(config, serve_url=URL)
        except Exception as error:
            failed = f"{type(error).__name__}: {error}"
        took = time.process_time() - before
        now = hook.current.prepared.keep
        yield {
            "seconds": took,
            "failed": failed,
            "computed": now.computed - (counted if now is kept else 0) if now else 0,
            "converted": hook.current.unchanged.converted,
            "rendered": hook.current.unchanged.rendered,
        }


if __name__ == "__main__":
    out = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)  # what MkDocs prints is for the log
    for answer in _answers(Path(sys.argv[1]), Path(sys.argv[2])):
        print(json.dumps(answer), file=out, flush=True)
