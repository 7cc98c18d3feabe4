"""Times of the live calculators in Chromium from a folder; prints figures and ratios, asserts nothing.

    python tests/benchmarks/calculators.py

Builds the handbook, opens a page of calculators, and prints the size of the generated script, the time
from the page being ready to the first result, from a key stroke to its new result, and the time to the
first usable calculator from the start of loading, each as the median of several turns. Goals: 60 kB,
50 ms, 16 ms.
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
const start = performance.now();
HB.compute(HB.calculatorOf(box));
const first = performance.now() - start;
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
done([first, times[20], times[39], load.domContentLoadedEventEnd, load.domInteractive]);
"""


def main() -> None:
    """Build, open, measure, print."""
    from selenium import webdriver
    from selenium.webdriver.chrome.options import Options
    from selenium.webdriver.chrome.service import Service

    with tempfile.TemporaryDirectory() as folder:
        site = Path(folder) / "site"
        subprocess.run([sys.executable, "-m", "mkdocs", "-q", "build", "-d", str(site)], cwd=ROOT, check=True)
        size = (site / "assets" / "calculations.js").stat().st_size
        data = (site / "assets" / "calculations-data.js").stat().st_size
        print(
            f"generated script {size / 1000:.1f} kB, {size / 60_000:.2f} of its goal; declarations {data / 1000:.0f} kB"
        )
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
        first, stroke, worst, ready, interactive = (
            statistics.median(column) for column in zip(*rows, strict=True)
        )
        print(f"ready page to first result {first:.1f} ms, {first / 50:.2f} of its goal")
        print(
            f"key stroke to new result {stroke:.2f} ms (slowest of 40: {worst:.2f}), {worst / 16:.2f} of its goal"
        )
        print(
            f"load to first usable calculator {ready + first:.0f} ms, {(ready + first) / interactive:.2f} of the parsing alone"
        )


if __name__ == "__main__":
    main()
