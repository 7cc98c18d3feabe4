"""Set every house value to its ends, alone and together, and print what has no handbook.

Run it from the project's folder: ``python tests/range_walk.py [--corners 2000] [--seed 1] [--jobs 2]``.
A standard may be refused only as a contradiction, by file, line and key. Everything else must give every
table and every sentence, with the refusal in its place where there is no answer. Exit status 1 where
anything failed. `tests/test_ranges.py` runs the short form.
"""

import argparse
import random
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from support import ROOT, STANDARD, changed_files

from handbook_calc.engine import house, render, stages
from handbook_calc.engine.directives import find
from handbook_calc.engine.faults import HouseFaults
from handbook_calc.engine.fields import Choice, Count, Quantity, Several, YesNo
from handbook_calc.engine.tables import TABLES

stages.load()


def written(field, value) -> str:
    """Return a value as a person would write it in the standard."""
    if isinstance(field, Count):
        return str(int(value))
    unit = "" if field.unit == "1" else f" {field.unit}"
    return f"{value!r}{unit}"


def ends(field) -> list[str]:
    """Return the texts of what a value may be at its limits."""
    found = []
    if isinstance(field, Quantity):
        found = [written(field, field.low), written(field, field.high)]
    elif isinstance(field, Several):
        found = [f"[{', '.join(field.names()[: max(1, field.least)])}]", f"[{', '.join(field.names())}]"]
    elif isinstance(field, Choice):
        found = list(field.names())
    elif isinstance(field, YesNo):
        found = ["yes", "no"]
    return [*found, "none"] if field.optional else found


def settings() -> dict[str, list[str]]:
    """Return house key -> the texts to try."""
    standard = house.load(STANDARD)
    return {key: texts for key, entry in standard.entries.items() if (texts := ends(entry.field))}


def singles() -> Iterator[dict[str, str]]:
    """Yield every value at each of its ends, the rest as they are."""
    for key, texts in settings().items():
        for text in texts:
            yield {key: text}


def corners(count: int, seed: int, share: float = 0.15) -> Iterator[dict[str, str]]:
    """Yield `count` standards in which a random share of the values stand at an end."""
    chance = random.Random(seed)
    known = settings()
    for _ in range(count):
        yield {key: chance.choice(texts) for key, texts in known.items() if chance.random() < share}


def agreeing(change: dict[str, str]) -> dict[str, str]:
    """Return as much of a change as does not contradict itself: what a fault names stays as it was.

    Of some hundred values at their ends some pair is nearly always a contradiction, and would hide all else.
    """
    change = dict(change)
    while len(change) > 1:
        told = loading(change)
        if told is None or isinstance(told, str):
            break
        named = {key for fault in told.faults for key in change if key in str(fault).split(": ", 1)[1]}
        if not named:  # a rule that reckons from values which it does not name
            sections = tuple(str(fault).split(": ", 2)[1].split(".")[0] + "." for fault in told.faults)
            named = {key for key in change if key.startswith(sections)} or {next(iter(change))}
        change = {key: text for key, text in change.items() if key not in named}
    return change


def loading(change: dict[str, str]) -> HouseFaults | str | None:
    """Return the faults of a changed standard, what it raised instead, or None where it can be read."""
    with tempfile.TemporaryDirectory() as folder:
        try:
            house.load(changed_files(Path(folder), change), root=Path(folder))
        except HouseFaults as faults:
            return faults
        except Exception as error:  # a traceback is what this script is looking for
            return f"loading raised {type(error).__name__}: {error}"
    return None


def failure(change: dict[str, str]) -> str:
    """Return why a changed standard has no handbook, ``contradiction`` where it may not, or nothing."""
    change = agreeing(change)
    told = loading(change)
    if isinstance(told, HouseFaults):
        wrong = [str(f) for f in told.faults if not str(f).startswith(("house-standard.yml:", "pieces/LY-014.yml:"))]
        return wrong[0] if wrong else "contradiction"
    if told:
        return told
    with tempfile.TemporaryDirectory() as folder:
        standard = house.load(changed_files(Path(folder), change), root=Path(folder))
    renderer = render.Renderer(standard)
    for name in TABLES:
        try:
            renderer.table(name)
        except Exception as error:
            return f"table {name}: {type(error).__name__}: {str(error)[:300]}"
    for page in sorted((ROOT / "docs").rglob("*.md")):
        for asked in find(page.read_text(encoding="utf-8")):
            try:
                renderer.html_of(asked)
            except Exception as error:
                where = f"{page.relative_to(ROOT)}:{asked.line}"
                return f"{where}: {type(error).__name__}: {str(error)[:300]}"
    return ""


def main() -> int:
    """Walk all ends and the corners asked for."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--corners", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=2)
    given = parser.parse_args()
    failed = contradictions = total = 0
    changes = [*singles(), *corners(given.corners, given.seed)]
    with ProcessPoolExecutor(given.jobs) as pool:
        for change, why in zip(changes, pool.map(failure, changes, chunksize=4), strict=True):
            total += 1
            if why == "contradiction":
                contradictions += 1
            elif why:
                failed += 1
                said = ", ".join(f"{key}: {text}" for key, text in list(change.items())[:4])
                print(f"{why}\n    with {said}{' ...' if len(change) > 4 else ''}", flush=True)
    print(f"{total} standards tried, {contradictions} refused as contradictions, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
