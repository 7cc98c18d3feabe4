"""Times of the live calculators in Chromium from a folder; prints figures and ratios, asserts nothing.

    python tests/benchmarks/calculators.py

Builds the handbook, opens a page of calculators, and prints the size of what is loaded for the first of them,
the time from the page being ready to the first result with what is loaded for it, and once more when that is
there; from a key stroke to its new result; and the time to the first usable calculator from the start of
loading. Each is the median of several turns. Goals: 60 kB of formulas and declarations, 50 ms, 16 ms.
"""

import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
TURNS = 7

OPENED = """
const done = arguments[arguments.length - 1];
const box = document.getElementById("calc-soak-time");
const turn = async () => {
  const start = performance.now();
  const made = await HB.withCalculator(box);
  HB.compute(made);
  return performance.now() - start;
};
(async () => {
const loading = await turn();
const first = await turn();
const field = box.querySelector("[data-argument=depth]");
const times = [];
for (let i = 0; i < 40; i += 1) {
  field.value = String(1 + i / 7);
  const before = performance.now();
  field.dispatchEvent(new Event("input", {bubbles: true}));
  times.push(performance.now() - before);
}
times.sort((a, b) => a - b);
const load = performance.getEntriesByType("navigation")[0];
done([loading, first, times[20], times[39], load.domContentLoadedEventEnd, load.domInteractive]);
})();
"""


def main() -> None:
    """Build, open, measure, print."""
    from selenium import webdriver
    from selenium.webdriver.chrome.options import Options
    from selenium.webdriver.chrome.service import Service

    with tempfile.TemporaryDirectory() as folder:
        site = Path(folder) / "site"
        subprocess.run([sys.executable, "-m", "mkdocs", "-q", "build", "-d", str(site)], cwd=ROOT, check=True)
        part, *engine = (
            (site / "assets" / name).stat().st_size / 1000
            for name in ("calculations/soak-time.js", "reader.js", "calculators.js", "bench/curve.js")
        )
        print(f"its formula and declaration {part:.1f} kB, {part / 60:.2f} of the goal")
        print(f"what works it, and every other: {sum(engine):.0f} kB")
        rows = []
        for turn in range(TURNS):
            options = Options()
            options.binary_location = shutil.which("chromium") or "chromium"
            for flag in (
                "--headless=new",
                "--no-sandbox",
                "--disable-gpu",
                "--disable-background-networking",
                "--no-first-run",
                f"--user-data-dir={folder}/profile-{turn}",
            ):
                options.add_argument(flag)
            browser = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))
            try:
                browser.get((site / "calculators" / "alcohol.html").as_uri())
                rows.append(browser.execute_async_script(OPENED))
            finally:
                browser.quit()
        loading, first, stroke, worst, ready, interactive = (
            statistics.median(column) for column in zip(*rows, strict=True)
        )
        print(
            f"ready page to first result {loading:.1f} ms, {loading / 50:.2f} of its goal; loaded {first:.1f} ms"
        )
        print(
            f"key stroke to new result {stroke:.2f} ms (slowest of 40: {worst:.2f}), {worst / 16:.2f} of its goal"
        )
        print(
            f"load to first usable calculator {ready + loading:.0f} ms, "
            f"{(ready + loading) / interactive:.2f} of the parsing alone"
        )


if __name__ == "__main__":
    main()
