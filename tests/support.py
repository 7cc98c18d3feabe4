"""Tiny sites to build, changed house standards, and commands to run."""

import contextlib
import functools
import inspect
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path

import pytest
import warm
from hypothesis import assume, settings

from handbook_calc.engine import house
from handbook_calc.engine.faults import Refusal

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
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
]


def examples(count: int) -> settings:
    """Return the settings of a property test that usually tries `count` examples."""
    return settings(max_examples=count * TIMES, deadline=None)


@contextlib.contextmanager
def answered() -> Iterator[None]:
    """Leave out an example of a property test whose answer is refused as longer than can be (a thousand years)."""
    try:
        yield
    except Refusal as refusal:
        assume(refusal.code != "beyond")
        raise


def waiting(browser, seconds: float):
    """Return what waits for a page, and looks twenty times a second: a whole suite of half seconds is minutes."""
    from selenium.webdriver.support.ui import WebDriverWait

    return WebDriverWait(browser, seconds, poll_frequency=0.05)


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


def steps(run: Callable[[], object]) -> int:
    """Return how many lines of the project a run executes: its work, however busy the machine is."""
    count = 0

    def line(frame, event, argument):
        nonlocal count
        count += event == "line"
        return line

    def entered(frame, event, argument):
        return line if frame.f_code.co_filename.startswith(str(ROOT)) else None

    before = sys.gettrace()
    sys.settrace(entered)
    try:
        run()
    finally:
        sys.settrace(before)
    return count


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
        """Run ``mkdocs build`` in a process of its own: a fork of one that has its modules loaded."""
        command = [*(arguments or ("build",))]
        builder = warm.process()
        if builder is None:
            return run([sys.executable, "-m", "mkdocs", *command], self.folder)
        out, err = (self.folder.with_name(f"{self.folder.name}-{name}") for name in ("out", "err"))
        status = builder.run(command, self.folder, _environment(), out, err)
        said = (path.read_text(encoding="utf-8") for path in (out, err))
        return subprocess.CompletedProcess(command, status, *said)

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


def copy_of_the_package(folder: Path) -> None:
    """Copy the calculation package, for tests of builds and of edits to the code.

    It samples spans at few points: what is tested is that two sites are the same, and not their figures.
    """
    copy = folder / "handbook_calc"
    shutil.copytree(ROOT / "handbook_calc", copy, ignore=shutil.ignore_patterns("__pycache__"))
    path = copy / "engine" / "spread.py"
    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(r"^TRIALS = \d+$", "TRIALS = 41", text, flags=re.MULTILINE), encoding="utf-8")


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


def changed_piece(folder: Path, values: Mapping[str, str]) -> Path:
    """Write the example's file into a folder with some facts changed; return its path."""
    text = PIECE.read_text(encoding="utf-8")
    for key, value in values.items():
        text, _ = changed_standard(text, key, value)
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / PIECE.name
    path.write_text(text, encoding="utf-8")
    return path


def changed_files(folder: Path, values: Mapping[str, str]) -> Path:
    """Write standard and example into a folder with some values changed; return the path of the standard."""
    changed_piece(folder / "pieces", {key: value for key, value in values.items() if is_of_piece(key)})
    text = STANDARD.read_text(encoding="utf-8")
    for key, value in values.items():
        if not is_of_piece(key):
            text, _ = changed_standard(text, key, value)
    path = folder / STANDARD.name
    path.write_text(text, encoding="utf-8")
    return path


def differing(folder: Path, values: Mapping[str, str]) -> Path:
    """Write a house's file of differences: each value by its key, with a reason in the line above; return it."""
    lines: list[str] = []
    opened: list[str] = []
    for key in sorted(values, key=lambda key: key.split(".")[:-1]):
        *sections, name = key.split(".")
        for depth, section in enumerate(sections):
            if opened[: depth + 1] != sections[: depth + 1]:
                lines.append(f"{'  ' * depth}{section}:")
        indent = "  " * len(sections)
        lines += [f"{indent}# Changed for the test.", f"{indent}{name}: {values[key]}"]
        opened = sections
    path = folder / "ours.yml"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def changed_house(folder: Path, values: Mapping[str, str]) -> house.House:
    """Return the standard with some values, or facts of the example, changed; its files are in the folder."""
    return house.load(changed_files(folder, values), root=folder)


def run(command: list[str], folder: Path) -> subprocess.CompletedProcess:
    """Run a command in a folder and return what it printed."""
    return subprocess.run(
        command, cwd=folder, env=_environment(), capture_output=True, text=True, timeout=120, check=False
    )


def _environment() -> dict[str, str]:
    """Return the environment of a build: always of the same day."""
    fixed = {"NO_MKDOCS_2_WARNING": "1", "PYTHONPATH": str(ROOT), "SOURCE_DATE_EPOCH": "1790000000"}
    return os.environ | fixed


def numbers_in(text: str) -> list[float]:
    """Return the numbers in a sentence, however many digits it prints of each."""
    return [float(number) for number in re.findall(r"-?\d+(?:\.\d+)?", text)]
