"""Tiny sites to build, changed house standards, and commands to run."""

import functools
import inspect
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest
from hypothesis import settings

ROOT = Path(__file__).parents[1]
STANDARD = ROOT / "docs" / "house-standard.yml"
PIECE = ROOT / "docs" / "pieces" / "LY-014.yml"

# How many times the usual number of examples a property test tries; see property_stress.py.
TIMES = int(os.environ.get("HANDBOOK_EXAMPLES", "1"))

CHROMIUM_FLAGS = [
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--no-first-run",
    "--host-resolver-rules=MAP * ~NOTFOUND",
]


def examples(count: int) -> settings:
    """Return the settings of a property test that usually tries `count` examples."""
    return settings(max_examples=count * TIMES, deadline=None)


def for_each(names: str, cases: Iterable) -> Callable:
    """Try a test on every case and tell all that fail: hundreds of small ones are one test to pytest.

    Arguments:
        names: the arguments that a case gives, as for ``parametrize``; the others are fixtures.
        cases: a tuple of these each, or the one of them.
    """
    own = [name.strip() for name in names.split(",")]
    all_cases = [case if len(own) > 1 else (case,) for case in cases]
    assert all_cases, "a test of nothing cannot fail"

    def declare(test):
        signature = inspect.signature(test)

        @functools.wraps(test)
        def every(**fixtures):
            told = []
            for case in all_cases:
                try:
                    test(**fixtures, **dict(zip(own, case, strict=True)))
                except (Exception, pytest.fail.Exception) as error:
                    shown = ", ".join(str(value)[:100] for value in case)
                    told.append(f"{shown}: {type(error).__name__}: {str(error)[:600]}")
            assert not told, f"{len(told)} of {len(all_cases)} fail\n" + "\n".join(told)

        fixtures = [value for name, value in signature.parameters.items() if name not in own]
        every.__signature__ = signature.replace(parameters=fixtures)  # pyright: ignore[reportAttributeAccessIssue]
        return every

    return declare


ASKED = re.compile(r"\{\{.*?\}\}")  # a directive in a line of a page


class Site:
    """A small site in a folder of its own, with the project's hook and a copy of its standard."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        (folder / "docs").mkdir()
        shutil.copy(STANDARD, folder / "docs" / "house-standard.yml")
        self.config()
        self.page("index.md", "# Start\n")

    def config(self, **extra) -> None:
        """Write mkdocs.yml, with lines to add."""
        lines = {
            "site_name": "Small",
            "use_directory_urls": "false",
            "strict": "true",
            "hooks": f"[{(ROOT / 'hooks' / 'handbook.py').as_posix()}]",
            "theme": "{name: material, font: false}",
            "plugins": "[search, offline]",
            "markdown_extensions": "[admonition, attr_list, md_in_html, tables]",
            "extra": "{polyfills: [assets/iframe-worker.js]}",
        } | extra
        text = "".join(f"{key}: {value}\n" for key, value in lines.items())
        (self.folder / "mkdocs.yml").write_text(text, encoding="utf-8")

    def page(self, name: str, text: str) -> Path:
        """Write a page."""
        path = self.folder / "docs" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return path

    def set(self, key: str, value: str) -> int:
        """Set a value of the standard, or a fact of the example piece; return its line."""
        path = self.folder / "docs" / "house-standard.yml"
        if is_of_piece(key):
            path = self.folder / "docs" / "pieces" / PIECE.name
            path.parent.mkdir(exist_ok=True)
            if not path.exists():
                shutil.copy(PIECE, path)
        text, line = changed_standard(path.read_text(encoding="utf-8"), key, value)
        path.write_text(text, encoding="utf-8")
        return line

    def build(self, *arguments: str) -> subprocess.CompletedProcess:
        """Run ``mkdocs build`` in a process of its own."""
        return run([sys.executable, "-m", "mkdocs", *(arguments or ("build",))], self.folder)

    def html(self, name: str) -> str:
        """Return a built page."""
        return (self.folder / "site" / name).read_text(encoding="utf-8")

    def snapshot(self) -> dict[str, bytes]:
        """Return every file of the built site."""
        site = self.folder / "site"
        return {
            path.relative_to(site).as_posix(): path.read_bytes()
            for path in sorted(site.rglob("*"))
            if path.is_file()
        }


def copy_of_the_project(folder: Path) -> Path:
    """Copy what a build reads."""
    shutil.copytree(ROOT / "docs", folder / "docs")
    shutil.copytree(ROOT / "hooks", folder / "hooks")
    text = (ROOT / "mkdocs.yml").read_text(encoding="utf-8")
    text = re.sub(r"^watch:\n  - handbook_calc\n", "", text, flags=re.MULTILINE)
    (folder / "mkdocs.yml").write_text(text, encoding="utf-8")
    return folder


def changed_standard(text: str, key: str, value: str) -> tuple[str, int]:
    """Return the standard's text with `key` set to `value`, and the line it stands in."""
    *sections, name = key.split(".")
    lines = text.split("\n")
    row = 0
    for depth, section in enumerate(sections):
        row = next(i for i in range(row, len(lines)) if lines[i].startswith(f"{'  ' * depth}{section}:"))
    indent = "  " * len(sections)
    row = next(i for i in range(row + 1, len(lines)) if lines[i].startswith(f"{indent}{name}:"))
    lines[row] = f"{indent}{name}: {value}"
    return "\n".join(lines), row + 1


def is_of_piece(key: str) -> bool:
    """Say whether a key stands in a piece's file."""
    return key.startswith(("piece.", "wanted."))


def changed_piece(folder: Path, values: dict[str, str]) -> Path:
    """Write the example's file into a folder with some facts changed; return its path."""
    text = PIECE.read_text(encoding="utf-8")
    for key, value in values.items():
        text, _ = changed_standard(text, key, value)
    folder.mkdir(exist_ok=True)
    path = folder / PIECE.name
    path.write_text(text, encoding="utf-8")
    return path


def changed_files(folder: Path, values: dict[str, str]) -> Path:
    """Write standard and example into a folder with some values changed; return the path of the standard."""
    changed_piece(folder / "pieces", {key: value for key, value in values.items() if is_of_piece(key)})
    text = STANDARD.read_text(encoding="utf-8")
    for key, value in values.items():
        if not is_of_piece(key):
            text, _ = changed_standard(text, key, value)
    path = folder / STANDARD.name
    path.write_text(text, encoding="utf-8")
    return path


def run(command: list[str], folder: Path) -> subprocess.CompletedProcess:
    """Run a command in a folder and return what it printed."""
    environment = os.environ | {
        "NO_MKDOCS_2_WARNING": "1",
        "PYTHONPATH": str(ROOT),
        "SOURCE_DATE_EPOCH": "1790000000",
    }
    return subprocess.run(
        command, cwd=folder, env=environment, capture_output=True, text=True, timeout=120, check=False
    )


def numbers_in(text: str) -> list[float]:
    """Return the numbers in a sentence, however many digits it prints of each."""
    return [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", text)]
