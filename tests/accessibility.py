"""Every page of the built site under axe-core: light and dark, on a desk and on a phone, as it opens and in use.

    python tests/accessibility.py SITE            every page once, the four ways of looking in turn (CI)
    python tests/accessibility.py SITE --whole    every page in each way, and in use (some minutes)

In use means: every folded part open, a calculator with a wrong entry, and US units. Needs chromium, chromedriver
and ``npm --prefix .ci install``. Prints each finding by rule, page and place, and fails where there is one.
"""

import argparse
import shutil
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from itertools import cycle
from pathlib import Path
from queue import Queue
from typing import Any

from support import CHROMIUM_FLAGS, ROOT

AXE = ROOT / ".ci" / "node_modules" / "axe-core" / "axe.min.js"
WAYS = [(width, dark) for dark in (False, True) for width in (1280, 360)]
WINDOWS = 2

# The page says nothing of how it was found: the first place of each rule is enough to mend it.
RUN = """
const done = arguments[arguments.length - 1];
axe.run(document, {resultTypes: ['violations'], elementRef: false}).then(
  found => done(found.violations.map(v => [v.id, v.nodes.length, v.nodes[0].target.join(' '), v.help])),
  fault => done([['axe', 1, String(fault), 'axe-core stopped']]));
"""

# The rows of a table are made alike, by one function; of a long one the first few are looked at, unless asked.
FIRST_ROWS = """
for (const body of document.querySelectorAll('tbody')) [...body.rows].slice(30).forEach(row => row.remove());
"""

IN_USE = """
return (async () => {
  for (const part of document.querySelectorAll('article details')) part.open = true;
  const units = document.querySelector('.hb-switch');
  if (units) {
    const switched = new Promise(done => document.addEventListener('hb-units', done, {once: true}));
    units.click();
    await switched;
  }
  const boxes = [...document.querySelectorAll('details.hb-calc')];
  await Promise.all(boxes.map(box => HB.withCalculator(box)));
  const field = document.querySelector('.hb-calc .hb-entry input:enabled');
  if (field) {
    field.value = 'no number';
    for (const name of ['input', 'change', 'blur']) field.dispatchEvent(new Event(name, {bubbles: true}));
  }
  return boxes.length > 0 && !document.querySelector('.hb-calc :is(input, select):enabled');
})();
"""


# What is laid out only when a reader comes near it has no place yet by which a contrast could be judged.
LAID_OUT = """
const sheet = new CSSStyleSheet();
sheet.replaceSync('* { content-visibility: visible !important; }');
document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
"""


class Windows:
    """A few browsers side by side; one that breaks off is opened anew, and asked once more."""

    def __init__(self, count: int) -> None:
        self._free: Queue = Queue()
        for _ in range(count):
            self._free.put(self._opened())

    def ask(self, question: Callable[[Any], list]) -> list:
        """Return what a question finds in a browser that nobody else uses."""
        from selenium.common.exceptions import WebDriverException
        from urllib3.exceptions import HTTPError

        window = self._free.get()
        try:
            return question(window)
        except (WebDriverException, HTTPError):
            self._shut(window)
            window = self._opened()
            return question(window)
        finally:
            self._free.put(window)

    def close(self) -> None:
        """Close all of them."""
        while not self._free.empty():
            self._shut(self._free.get())

    @staticmethod
    def _opened():
        from selenium import webdriver
        from selenium.webdriver.chrome.options import Options
        from selenium.webdriver.chrome.service import Service

        options = Options()
        options.binary_location = shutil.which("chromium") or "chromium"
        for flag in CHROMIUM_FLAGS:
            options.add_argument(flag)
        window = webdriver.Chrome(options=options, service=Service(shutil.which("chromedriver")))
        window.set_script_timeout(120)
        return window

    @staticmethod
    def _shut(window) -> None:
        with suppress(Exception):  # one that broke off cannot say that it is closed
            window.quit()


def findings(
    window, page: Path, axe: str, width: int, dark: bool, in_use: bool, all_rows: bool
) -> list[tuple]:
    """Return what axe-core finds on a page: rule, number of places, the first of them, and what is asked for."""
    size = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600}
    window.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)
    features = [
        {"name": "prefers-color-scheme", "value": "dark" if dark else "light"},
        {"name": "prefers-reduced-motion", "value": "reduce"},  # colours on their way are no colours
    ]
    window.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})
    window.get(page.as_uri())
    window.execute_script(LAID_OUT)
    if not all_rows:
        window.execute_script(FIRST_ROWS)
    if in_use and window.execute_script(IN_USE):
        raise RuntimeError(f"{window.current_url}: no calculator could be used")
    window.execute_script(axe)
    found = window.execute_async_script(RUN)
    if in_use:
        window.execute_script("const units = document.querySelector('.hb-switch'); if (units) units.click();")
    return found


def main(arguments: list[str]) -> int:
    """Look at every page; return 1 where anything is found."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("site", type=Path, help="the built site")
    parser.add_argument("--whole", action="store_true", help="every page in every way, and in use")
    parser.add_argument("--only", default="", help="pages whose way holds these letters")
    asked = parser.parse_args(arguments)
    site = asked.site.resolve()
    pages = [page for page in sorted(site.rglob("*.html")) if asked.only in page.relative_to(site).as_posix()]
    if not pages:
        parser.error(f"no page in {asked.site}; build the site first")
    if not AXE.is_file():
        parser.error(f"no {AXE.relative_to(ROOT)}; npm --prefix .ci install --no-package-lock")
    axe = AXE.read_text(encoding="utf-8")
    if asked.whole:
        looks = [(page, *way, used) for page in pages for way in WAYS for used in (False, True)]
    else:
        looks = [(page, *way, True) for page, way in zip(pages, cycle(WAYS), strict=False)]

    def look(page: Path, width: int, dark: bool, in_use: bool) -> list[str]:
        found = windows.ask(lambda window: findings(window, page, axe, width, dark, in_use, asked.whole))
        way = f"{width} px, {'dark' if dark else 'light'}{', in use' if in_use else ''}"
        return [
            f"{page.relative_to(site)} ({way}): {rule}: {help_}; {count} places, the first {place}"
            for rule, count, place, help_ in found
        ]

    windows, told = Windows(WINDOWS), 0
    try:
        with ThreadPoolExecutor(WINDOWS) as pool:
            for lines in pool.map(lambda way: look(*way), looks):
                told += len(lines)
                print(*lines, sep="\n", end="\n" if lines else "", flush=True)
    finally:
        windows.close()
    print(f"{len(looks)} looks at {len(pages)} pages: {told} findings")
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
