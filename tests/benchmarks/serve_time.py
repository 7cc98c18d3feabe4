"""Time from a save to the page under ``serve``, as a share of a build from nothing, and that both are the same.

The real handbook is copied, built once as ``serve`` does, and edited; after each edit it is built again in
the same process, and from nothing in another. Prints, for each edit, the ratio of processor time, how many
things were computed, pages converted and pages put into the theme, and any file that differs by a byte.

    python tests/benchmarks/serve_time.py [--rounds 3]
"""

import argparse
import shutil
import statistics
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

import incremental  # noqa: E402
from support import changed_standard, copy_of_the_project  # noqa: E402

GOALS = {"a_page_text": 0.15, "a_house_value": 0.35}


def main() -> None:
    """Edit and build in turns, print the ratios, and fail where what is served differs."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("--rounds", type=int, default=3, help="saves of a page and of a value to measure")
    rounds = parser.parse_args().rounds
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch) / "project"
        folder.mkdir()
        copy_of_the_project(folder)
        shutil.copytree(ROOT / "handbook_calc", folder / "handbook_calc")
        serving = incremental.Serving(folder, Path(scratch) / "served")
        try:
            colds = [serving.build()["seconds"]]
            colds += [
                incremental.from_nothing(folder, Path(scratch) / "cold")["seconds"] for _ in range(rounds - 1)
            ]
            cold = statistics.median(colds)
            print(f"from nothing: {cold:.2f} s ({min(colds):.2f} to {max(colds):.2f})")
            for name, edit in (("a_page_text", another_line), ("a_house_value", another_bath)):
                took = []
                for number in range(rounds):
                    edit(folder, number)
                    took.append(serving.build()["seconds"] / cold)
                print(
                    f"{name}: {statistics.median(took):.3f} of that, goal at most {GOALS[name]} "
                    f"({min(took):.3f} to {max(took):.3f})"
                )
            different = [edit for edit in incremental.EDITS if compared(edit, folder, serving, cold)]
        finally:
            serving.close()
    sys.exit(1 if different else 0)


def compared(edit, folder: Path, serving, cold: float) -> list[str]:
    """Make an edit, print what it took, and return the files that are not as a new process makes them."""
    edit(folder)
    took = serving.build()
    other = serving.site.with_name("cold")
    shutil.rmtree(other, ignore_errors=True)
    incremental.from_nothing(folder, other)
    differing = incremental.differing(serving.site, other)
    said = f"DIFFERS: {differing}" if differing else "same bytes"
    print(
        f"{edit.__name__}: {took['seconds'] / cold:.3f}, {took['computed']} computed, {took['converted']} "
        f"converted, {took['rendered']} put into the theme; {said}{took['failed']}"
    )
    return differing


def another_line(folder: Path, number: int) -> None:
    """Add a line to a long page."""
    path = folder / "docs" / "procedures" / "electrolysis.md"
    path.write_text(f"{path.read_text('utf-8')}\nLine {number} more.\n", "utf-8")


def another_bath(folder: Path, number: int) -> None:
    """Choose another bath."""
    path = folder / "docs" / "house-standard.yml"
    path.write_text(
        changed_standard(path.read_text("utf-8"), "rinsing.bath", f"{510 + 10 * number} mL")[0], "utf-8"
    )


if __name__ == "__main__":
    main()
