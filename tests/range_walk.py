"""Set every house value to its ends, alone and together, and print what has no handbook.

Run it from the project's folder: ``python tests/range_walk.py [--corners 2000] [--seed 1]``.
A standard may be refused only as a contradiction, by file, line and key. Everything else must give every
table and every sentence, with the refusal in its place where there is no answer. Exit status 1 where
anything failed. `tests/test_ranges.py` runs the short form.

A corner is drawn so that the rules accept it: of a random share of the values at their ends, those that
contradict others go back to where they stood. It counts as meaningful where `MEANINGFUL` are left. No page
is built. Every table is computed and written, every value and calculator of every page is filled, and what
depends on nothing that a corner changes is taken from an earlier one, as under ``serve``. Spans are sampled
at fewer points than the handbook takes: it is their ends and what raises there that matters.
"""

import argparse
import random
import sys
import tempfile
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from support import ROOT, STANDARD, changed_standard

from handbook_calc.engine import house, render, spread, stages
from handbook_calc.engine.directives import Directive, find
from handbook_calc.engine.drawings import Drawings
from handbook_calc.engine.faults import HouseFaults
from handbook_calc.engine.fields import Choice, Count, Quantity, Several, YesNo
from handbook_calc.engine.kept import Keep, Kept, Watched
from handbook_calc.engine.tables import TABLES

stages.load()
MEANINGFUL = 10  # values at their ends in a corner that counts
STATES = 12  # of each table and sentence, as many earlier states are kept
TRIALS = 41  # points of a span


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
            house.load(changed(change, folder), root=Path(folder))
        except HouseFaults as faults:
            return faults
        except Exception as error:  # a traceback is what this script is looking for
            return f"loading raised {type(error).__name__}: {error}"
    return None


def changed(change: dict[str, str], folder: str) -> Path:
    """Write the changed standard into a folder; return its path."""
    text = STANDARD.read_text(encoding="utf-8")
    for key, value in change.items():
        text, _ = changed_standard(text, key, value)
    path = Path(folder, "house-standard.yml")
    path.write_text(text, encoding="utf-8")
    return path


class States(Keep):
    """What was computed for several earlier standards, the first of them for good."""

    def __init__(self) -> None:
        super().__init__()
        self._states: dict[tuple, list[Kept]] = {}

    def find(self, key: tuple, house: house.House, usage) -> Any:
        """Return what was made for `key` of any state that still holds, or None."""
        return next((kept.made for kept in self._states.get(key, ()) if kept.holds(house, usage)), None)

    def put(self, key: tuple, made: Any, house: Watched, usage: str = "") -> None:
        """Keep what was made for `key` beside what there was."""
        states = self._states.setdefault(key, [])
        if len(states) == STATES:
            del states[1]
        states.append(Kept(made, house, usage))


@cache
def kept() -> States:
    """Return what this process has computed so far, the handbook as it stands before all."""
    keep = States()
    why = filling_fails(house.load(STANDARD, root=STANDARD.parent), keep)
    assert not why, why
    return keep


@cache
def asked_by_pages() -> tuple[tuple[str, Directive], ...]:
    """Return every directive of every page, once, with the place where it first stands."""
    found: dict[str, tuple[str, Directive]] = {}
    for page in sorted((ROOT / "docs").rglob("*.md")):
        for asked in find(page.read_text(encoding="utf-8")):
            what = repr((asked.verb, asked.name, asked.literals, asked.keys))
            found.setdefault(what, (f"{page.relative_to(ROOT)}:{asked.line}", asked))
    return tuple(found.values())


def filling_fails(standard: house.House, keep: Keep) -> str:
    """Return why a table or a sentence of the handbook raises something, or nothing."""
    renderer = render.Renderer(standard, keep, drawings=Drawings(ROOT / "docs" / "drawings").found)
    for name in TABLES:
        try:
            renderer.table(name)
            renderer.csv(name)
            renderer.words(name)
        except Exception as error:
            return f"table {name}: {type(error).__name__}: {str(error)[:300]}"
    for where, asked in asked_by_pages():
        try:
            renderer.html_of(asked)
        except Exception as error:
            return f"{where}: {type(error).__name__}: {str(error)[:300]}"
    return ""


def failure(change: dict[str, str]) -> str:
    """Return why a changed standard has no handbook, ``contradiction`` where it may not, or nothing."""
    told = loading(change)
    if isinstance(told, HouseFaults):
        wrong = [str(f) for f in told.faults if not str(f).startswith("house-standard.yml:")]
        return wrong[0] if wrong else "contradiction"
    if told:
        return told
    with tempfile.TemporaryDirectory() as folder:
        standard = house.load(changed(change, folder), root=Path(folder))
    return filling_fails(standard, kept())


def sample_few() -> None:
    """Have this process sample spans at few points."""
    spread.TRIALS = TRIALS


def tried(change: dict[str, str]) -> tuple[dict[str, str], str]:
    """Return as much of a change as does not contradict itself, and why it has no handbook."""
    change = agreeing(change)
    return change, failure(change)


def main() -> int:
    """Walk all ends and the corners asked for."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--corners", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--share", type=float, default=0.15, help="of the values that stand at an end")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument(
        "--alone", action=argparse.BooleanOptionalAction, default=True, help="each end by itself"
    )
    given = parser.parse_args()
    alone = list(singles()) if given.alone else []
    print(f"{len(alone)} values at an end, the others as they are", flush=True)
    with ProcessPoolExecutor(given.jobs, initializer=sample_few) as pool:
        failed = walked(pool.map(tried, alone, chunksize=4))
        failed += walked(pool.map(tried, corners(given.corners, given.seed, given.share), chunksize=4))
    return 1 if failed else 0


def walked(results: Iterable[tuple[dict[str, str], str]]) -> int:
    """Print what failed as it comes, a count after each hundred, and at the end; return how many failed."""
    failed = contradictions = total = meaningful = values = 0
    for change, why in results:
        total += 1
        contradictions += why == "contradiction"
        meaningful += len(change) >= MEANINGFUL and why != "contradiction"
        values += len(change)
        if why not in ("", "contradiction"):
            failed += 1
            said = ", ".join(f"{key}: {text}" for key, text in change.items())
            print(f"{why}\n    with {said}", flush=True)
        if total % 100 == 0:
            print(f"    {total} so far, {failed} failed", flush=True)
    print(
        f"{total} standards tried, {contradictions} refused as contradictions, {meaningful} with at least "
        f"{MEANINGFUL} values at an end ({values / max(total, 1):.0f} in the mean), {failed} failed",
        flush=True,
    )
    return failed


if __name__ == "__main__":
    sys.exit(main())
